#pragma once

#include <optional>
#include <string_view>

namespace stopspan {

/// Category of a safety function by ISO 13849-1: how it behaves with faults. Not to be mixed up with the category of a
/// stop (0, 1, 2) by IEC 60204-1.
enum class SafetyCategory { b, one, two, three, four };
std::string_view to_text(SafetyCategory category);     ///< "B", "1", "2", "3", "4"
SafetyCategory safety_category(std::string_view text); ///< @throws Error (bad_value)

/// ISO 13849-1, the higher the better.
enum class PerformanceLevel { a, b, c, d, e };
std::string_view to_text(PerformanceLevel level);
PerformanceLevel performance_level(std::string_view text); ///< @throws Error (bad_value)

/// Dangerous failures of a safety function, per hour of use.
struct FailureRate {
    double model_per_h;                ///< of the Markov model below
    std::optional<double> table_per_h; ///< ISO 13849-1 table K.1; none: it has no such row
    /// The worse of the two: what counts.
    double per_h() const { return table_per_h && *table_per_h > model_per_h ? *table_per_h : model_per_h; }
};

/// The average over a mission time of 20 years. Markov model: in categories B and 1 the one channel fails; in 2 the
/// test equipment (as reliable as the channel, testing 100 times as often as it is demanded) fails first, and then the
/// channel unseen; in 3 and 4 one channel fails unseen, and then the other. 2 % of failures take both at once (of
/// channels, or of channel and test equipment). What is seen is mended. It departs from the table by what tests say: up
/// to 5 % where the table is exact, and in category 3 with a diagnostic coverage under 90 % it is up to 27 % worse.
/// Table: the row at or below this MTTFd, the column at or below this coverage.
/// @param mttfd_years  of each channel, capped at 100 (2500 in category 4)
/// @param coverage     0 to 1, of categories 2, 3 and 4
/// @throws Error (bad_value) for an MTTFd under 3 years (30 in category 4), or a number that is out of range or not
/// finite
FailureRate dangerous_failures(SafetyCategory category, double mttfd_years, double coverage);

/// Of the rate alone. @returns none from 1e-4 per hour on
std::optional<PerformanceLevel> level_of(double dangerous_failures_per_h);
/// The highest that a category allows. @returns e for 3 and 4
PerformanceLevel highest_level(SafetyCategory category);

} // namespace stopspan
