#include "ratings/reliability.hpp"

#include <algorithm>
#include <array>

namespace stopspan::ratings {

double operations_per_year(double days_per_year, double hours_per_day, double cycle_time_s) {
    return days_per_year * hours_per_day * 3600 / cycle_time_s;
}

double mttfd_from_b10d_years(double b10d_cycles, double per_year) {
    return b10d_cycles / (0.1 * per_year);
}

double replaced_after_years(double b10d_cycles, double per_year) {
    return mttfd_from_b10d_years(b10d_cycles, per_year) / 10;
}

double channel_mttfd_years(std::span<const double> parts_years) {
    double failures = 0;
    for (const double years : parts_years)
        failures += 1 / years;
    return 1 / failures;
}

double symmetrised_years(double a_years, double b_years) {
    return 2.0 / 3 * (a_years + b_years - 1 / (1 / a_years + 1 / b_years));
}

double average_coverage(std::span<const std::pair<double, double>> parts) {
    double covered = 0, all = 0;
    for (const auto &[years, coverage] : parts) {
        covered += coverage / years;
        all += 1 / years;
    }
    return all > 0 ? covered / all : 0;
}

// Relays are taken at nominal load, contactors by the later editions: the lower value of two.
std::optional<TypicalB10d> typical_b10d(DeviceKind kind, bool well_tried) {
    switch (kind) {
    case DeviceKind::emergency_stop:
    case DeviceKind::pull_wire:
        return TypicalB10d{100'000, "emergency-stop device", "ISO 13849-1 table C.1"};
    case DeviceKind::push_button:
        return TypicalB10d{100'000, "push-button", "ISO 13849-1 table C.1 (from memory)"};
    case DeviceKind::guard_switch: // of those with positive opening
        return well_tried ? std::optional(TypicalB10d{20'000'000, "position switch with positive opening",
                                                      "ISO 13849-1 table C.1"})
                          : std::nullopt;
    case DeviceKind::contactor:
    case DeviceKind::latched_contactor:
        return TypicalB10d{1'300'000, "contactor at nominal load", "ISO 13849-1:2015 table C.1 (from memory)"};
    case DeviceKind::relay:
    case DeviceKind::timer:
        return TypicalB10d{400'000, "relay at nominal load", "ISO 13849-1 table C.1"};
    default:
        return std::nullopt;
    }
}

double coverage_in_a_row(std::size_t frequent, std::size_t others) {
    constexpr double medium = 0.9, low = 0.6, none = 0, not_hidden = 1;
    if (frequent + others < 2)
        return not_hidden;
    if (frequent > 1)
        return none;
    if (frequent == 1)
        return others < 2 ? medium : others < 5 ? low : none;
    return others < 5 ? medium : others <= 30 ? low : none;
}

std::optional<PerformanceLevel> coarse_level(SafetyCategory category, double mttfd_years, double coverage) {
    using enum PerformanceLevel;
    const std::size_t reach = mttfd_years < 10 ? 0 : mttfd_years < 30 ? 1 : 2;
    const bool medium = coverage >= 0.9;
    switch (category) {
    case SafetyCategory::b:
        return reach == 2 ? std::nullopt : std::optional(reach == 1 ? b : a);
    case SafetyCategory::one:
        return reach == 2 ? std::optional(c) : std::nullopt;
    case SafetyCategory::two:
    case SafetyCategory::three: {
        if (coverage < 0.6)
            return std::nullopt;
        static constexpr std::array<std::array<PerformanceLevel, 3>, 3> levels{{{a, b, c}, {b, c, d}, {c, d, d}}};
        return levels[(category == SafetyCategory::three) + medium][reach];
    }
    case SafetyCategory::four:
        return reach == 2 && coverage >= 0.99 ? std::optional(e) : std::nullopt;
    }
    return std::nullopt;
}

} // namespace stopspan::ratings
