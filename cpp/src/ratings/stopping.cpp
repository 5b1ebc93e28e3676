#include "ratings/stopping.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan::ratings {
namespace {

constexpr double least_mm = 100, nearby_mm = 500;
constexpr double walking_mm_per_s = walking_m_per_s * 1000, reaching_mm_per_s = reaching_m_per_s * 1000;

} // namespace

double light_curtain_distance_mm(double time_s, double resolution_mm) {
    if (resolution_mm > 40)
        return walking_mm_per_s * time_s + 850;
    const double reach_mm = std::max(0.0, 8 * (resolution_mm - 14));
    const double hand_mm = reaching_mm_per_s * time_s + reach_mm;
    if (hand_mm <= nearby_mm)
        return std::max(least_mm, hand_mm);
    return std::max(nearby_mm, walking_mm_per_s * time_s + reach_mm);
}

double two_hand_distance_mm(double time_s, bool covered) {
    return std::max(least_mm, walking_mm_per_s * time_s + (covered ? 0 : 250));
}

double floor_distance_mm(double time_s, double height_mm) {
    return walking_mm_per_s * time_s + std::max(850.0, 1200 - 0.4 * height_mm);
}

double guard_distance_mm(double time_s) {
    return std::max(least_mm, walking_mm_per_s * time_s);
}

double category_1_delay_s(double run_down_s) {
    return std::ceil(run_down_s * 1.2 * 10 - 1e-9) / 10;
}

} // namespace stopspan::ratings
