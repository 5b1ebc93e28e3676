#include "installation/cable_way.hpp"

#include <cmath>

namespace stopspan {

double cable_way_m(Position from, Position to) {
    constexpr double at_either_end_m = 2;
    return std::abs(from.x_m - to.x_m) + std::abs(from.y_m - to.y_m) + 2 * at_either_end_m;
}

} // namespace stopspan
