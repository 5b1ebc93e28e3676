#include "ratings/fault_loop.hpp"

#include "ratings/conductor.hpp"
#include "ratings/protection_tables.hpp"

namespace stopspan::ratings {
namespace {

constexpr double lowest_voltage_factor = 0.95;

} // namespace

std::optional<double> longest_disconnection_s(double to_earth_v, Earthing earthing) {
    for (const DisconnectionRow &row : disconnections)
        if (to_earth_v > row.above_v && to_earth_v <= row.up_to_v)
            return earthing == Earthing::tn ? row.tn_s : row.tt_s;
    return std::nullopt;
}

double longest_disconnection_distribution_s(Earthing earthing) {
    return earthing == Earthing::tn ? 5 : 1;
}

double loop_impedance_ohm(double source_ohm, double length_m, double csa_mm2, double celsius) {
    return source_ohm + 2 * length_m / 1000 * resistance_ohm_per_km(csa_mm2, false, celsius);
}

double fault_current_a(double to_earth_v, double loop_ohm) {
    return lowest_voltage_factor * to_earth_v / loop_ohm;
}

double largest_loop_ohm(double to_earth_v, double rating_a, double releases_at) {
    return lowest_voltage_factor * to_earth_v / (releases_at * rating_a);
}

} // namespace stopspan::ratings
