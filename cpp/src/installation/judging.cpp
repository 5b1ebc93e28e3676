#include "stopspan/description.hpp"
#include "stopspan/error.hpp"
#include "stopspan/rules.hpp"

namespace stopspan {

void Description::set_limit(std::string_view limit, double value) {
    check_limit(limit, value);
    limits_[std::string(limit)] = value;
}

} // namespace stopspan
