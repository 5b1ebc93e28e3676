#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/performance.hpp"

#include <optional>
#include <span>
#include <string_view>
#include <utility>

namespace stopspan::ratings {

// ISO 13849-1 annexes C, D and E, in years and operations a year.

/// days a year x hours a day x 3600 / seconds from one start to the next.
double operations_per_year(double days_per_year, double hours_per_day, double cycle_time_s);
/// B10d / (0.1 n). @param per_year  > 0
double mttfd_from_b10d_years(double b10d_cycles, double per_year);
/// B10d / n: after so long 10 % have failed to danger; a part is replaced before.
double replaced_after_years(double b10d_cycles, double per_year);
/// Parts of which each is needed: 1 / sum of 1 / MTTFd.
double channel_mttfd_years(std::span<const double> parts_years);
/// Two channels, each capped before, as two alike.
double symmetrised_years(double a_years, double b_years);
/// Coverage of all parts, (MTTFd, coverage) each, weighted by how often they fail.
double average_coverage(std::span<const std::pair<double, double>> parts);

/// A typical value for a part of which nobody said one.
struct TypicalB10d {
    double cycles;
    std::string_view of;     ///< "emergency-stop device"
    std::string_view source; ///< with its edition
};
/// @returns none for a kind that ISO 13849-1 table C.1 has no value for, or only under a condition nobody said is met
std::optional<TypicalB10d> typical_b10d(DeviceKind kind, bool well_tried);

/// Devices in one row hide each other's faults: the highest coverage that their parts can still count with.
/// @param frequent  of the devices, those used more than once an hour
/// @param others    the rest
double coverage_in_a_row(std::size_t frequent, std::size_t others);

/// The coarse table of the simplified procedure. @returns none where it has no such cell
std::optional<PerformanceLevel> coarse_level(SafetyCategory category, double mttfd_years, double coverage);

} // namespace stopspan::ratings
