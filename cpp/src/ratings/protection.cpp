#include "ratings/protection.hpp"

#include "installation/motor_tables.hpp"
#include "ratings/protection_tables.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan::ratings {
namespace {

const FuseRow *fuse_row(double rating_a) {
    const auto row = std::ranges::find_if(fuses, [&](const FuseRow &each) { return each.rating_a == rating_a; });
    return row == fuses.end() ? nullptr : &*row;
}

const BreakerRow *breaker_row(std::string_view type) {
    const auto row = std::ranges::find(breakers, type, &BreakerRow::type);
    return row == breakers.end() ? nullptr : &*row;
}

// On a straight line of the logarithms through two points.
double between(double x, double x1, double y1, double x2, double y2) {
    return y1 * std::pow(y2 / y1, std::log(x / x1) / std::log(x2 / x1));
}

template <std::size_t count>
std::vector<double> as_list(const std::array<double, count> &values) {
    return {values.begin(), values.end()};
}

} // namespace

std::vector<double> fuse_sizes_a() {
    std::vector<double> sizes;
    for (const FuseRow &row : fuses)
        sizes.push_back(row.rating_a);
    return sizes;
}

std::vector<double> control_fuse_sizes_a() {
    return {0.5, 1, 2, 4, 6, 10, 16, 20};
}

std::optional<double> fuse_carries_a(double rating_a, double seconds) {
    const FuseRow *row = fuse_row(rating_a);
    if (!row)
        return std::nullopt;
    if (seconds > 10)
        return std::max(row->rating_a, row->carried_10s_a * std::pow(10 / seconds, 0.1));
    return between(std::max(seconds, 0.1), 10, row->carried_10s_a, 0.1, row->carried_100ms_a);
}

std::optional<double> fuse_clears_s(double rating_a, double current_a) {
    const FuseRow *row = fuse_row(rating_a);
    if (!row || current_a < row->melts_5s_a)
        return std::nullopt;
    if (current_a >= row->melts_100ms_a)
        return 0.1;
    return between(current_a, row->melts_5s_a, 5, row->melts_100ms_a, 0.1);
}

std::optional<double> fuse_clearing_current_a(double rating_a, double seconds) {
    const FuseRow *row = fuse_row(rating_a);
    if (!row || seconds < 0.1)
        return std::nullopt;
    return between(std::min(seconds, 5.0), 5, row->melts_5s_a, 0.1, row->melts_100ms_a);
}

std::optional<double> handbook_fuse_a(double motor_current_a, bool star_delta, double start_ratio, double start_s) {
    if (start_ratio > (star_delta ? 2 : 6) * 1.001 || start_s > (star_delta ? 15 : 5))
        return std::nullopt;
    for (const ThreePhaseMotorRow &row : three_phase_motors) {
        const double fuse_a = star_delta ? row.fuse_400v_star_delta_a : row.fuse_400v_direct_a;
        if (row.current_400v_a * 1.0001 >= motor_current_a && fuse_a > 0)
            return fuse_a;
    }
    return std::nullopt;
}

std::vector<double> breaker_sizes_a() {
    return as_list(ratings::breaker_sizes);
}

std::optional<double> breaker_releases_at(std::string_view type) {
    const BreakerRow *row = breaker_row(type);
    return row ? std::optional(row->releases) : std::nullopt;
}

std::optional<double> breaker_holds_to(std::string_view type) {
    const BreakerRow *row = breaker_row(type);
    return row ? std::optional(row->holds) : std::nullopt;
}

bool breaker_carries(double rating_a, std::string_view type, double start_a, double seconds) {
    constexpr double peak = 1.41421356, thermal_test = 2.55, earliest_s = 1;
    const BreakerRow *row = breaker_row(type);
    if (!row || start_a * peak > row->holds * rating_a)
        return false;
    const double multiple = start_a / rating_a;
    return multiple <= 1.13 || seconds <= earliest_s * std::pow(thermal_test / multiple, 2);
}

double am_carries_a(double rating_a, double seconds) {
    if (seconds >= 60)
        return 4 * rating_a;
    if (seconds >= 0.5)
        return rating_a * between(seconds, 60, 4, 0.5, 8);
    return rating_a * between(std::max(seconds, 0.2), 0.5, 8, 0.2, 10);
}

std::optional<double> clears_s(std::string_view type, double rating_a, double current_a) {
    if (const BreakerRow *breaker = breaker_row(type))
        return current_a >= breaker->releases * rating_a ? std::optional(0.1) : std::nullopt;
    if (type != "aM")
        return fuse_clears_s(rating_a, current_a);
    const double multiple = current_a / rating_a;
    if (multiple < 12.5)
        return std::nullopt;
    return multiple >= 19 ? 0.1 : between(multiple, 12.5, 0.5, 19, 0.1);
}

std::optional<double> energy_a2s(std::string_view type, double rating_a, double current_a) {
    constexpr double half_wave_s = 0.01;
    const auto seconds = clears_s(type, rating_a, current_a);
    if (!seconds)
        return std::nullopt;
    if (breaker_row(type))
        return current_a * current_a * half_wave_s;
    const FuseRow *row = fuse_row(rating_a);
    const double gate_a = type == "aM" ? 19 * rating_a : row->melts_100ms_a;
    const double most_a = std::min(current_a, gate_a);
    return most_a * most_a * *seconds;
}

} // namespace stopspan::ratings
