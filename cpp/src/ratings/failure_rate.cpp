#include "stopspan/performance.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "ratings/failure_rate_tables.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan {
namespace {

constexpr std::array<std::string_view, 5> category_words{"B", "1", "2", "3", "4"};
constexpr std::array<std::string_view, 5> level_words{"a", "b", "c", "d", "e"};

constexpr double hours_per_year = 8760;
constexpr double mission_h = 20 * hours_per_year; // ISO 13849-1 annex K
constexpr double common_cause = 0.02;             // beta, as annex K supposes where the score is 65 or more
constexpr double tests_per_demand = 100;          // category 2

// Two states: all in order, and one failure that nobody sees. `hidden_h` leads from the first to the second,
// `at_once_h` from the first to danger, `then_h` from the second to danger, after which all is in order again. Closed
// form of the average of the rate into danger from new over the mission time.
double two_state_rate(double hidden_h, double at_once_h, double then_h) {
    const double sum = hidden_h + then_h, x = sum * mission_h;
    const double ever = 1 + std::expm1(-x) / x; // of the share in the second state in the long run
    const double second = hidden_h / sum * ever;
    return at_once_h * (1 - second) + then_h * second;
}

double model_rate(SafetyCategory category, double mttfd_years, double coverage) {
    const double one = 1 / (hours_per_year * mttfd_years), alone = (1 - common_cause) * one, both = common_cause * one;
    switch (category) {
    case SafetyCategory::two:
        return two_state_rate(alone, both + alone * (1 - coverage * tests_per_demand / (tests_per_demand + 1)), one);
    case SafetyCategory::three:
    case SafetyCategory::four:
        return two_state_rate(2 * alone * (1 - coverage), both, one);
    default:
        return one;
    }
}

// The row at or below.
template <class Rows>
const auto &row_of(const Rows &rows, double mttfd_years) {
    const auto past = std::upper_bound(rows.begin(), rows.end(), mttfd_years,
                                       [](double years, const auto &row) { return years < row.mttfd_years; });
    return *std::prev(past);
}

std::optional<double> table_rate(SafetyCategory category, double mttfd_years, double coverage) {
    using namespace ratings;
    if (category == SafetyCategory::four)
        return coverage >= 0.99 ? std::optional(row_of(failure_rates_of_four, mttfd_years).rate) : std::nullopt;
    const FailureRateRow &row = row_of(failure_rates, mttfd_years);
    if (category == SafetyCategory::b || category == SafetyCategory::one)
        return row.one_channel;
    if (coverage < 0.6)
        return std::nullopt;
    return (category == SafetyCategory::two ? row.two : row.three)[coverage >= 0.9];
}

} // namespace

std::string_view to_text(SafetyCategory category) {
    return category_words[static_cast<std::size_t>(category)];
}
SafetyCategory safety_category(std::string_view text) {
    return from_word<SafetyCategory>(category_words, text, "category");
}
std::string_view to_text(PerformanceLevel level) {
    return level_words[static_cast<std::size_t>(level)];
}
PerformanceLevel performance_level(std::string_view text) {
    return from_word<PerformanceLevel>(level_words, text, "performance level");
}

FailureRate dangerous_failures(SafetyCategory category, double mttfd_years, double coverage) {
    const double least = category == SafetyCategory::four ? 30 : 3;
    if (!(mttfd_years >= least && std::isfinite(mttfd_years)))
        throw Error(ErrorCode::bad_value, "mttfd_years is " + format_number(mttfd_years) + "; category " +
                                              std::string(to_text(category)) + " allows no channel of less than " +
                                              format_number(least) + " years");
    if (!(coverage >= 0 && coverage <= 1))
        throw Error(ErrorCode::bad_value,
                    "diagnostic coverage is " + format_number(coverage) + "; give a number from 0 to 1");
    const double years = std::min(mttfd_years, category == SafetyCategory::four ? 2500.0 : 100.0);
    return {model_rate(category, years, coverage), table_rate(category, years, coverage)};
}

std::optional<PerformanceLevel> level_of(double dangerous_failures_per_h) {
    // ISO 13849-1 table 2: below each of these the next level.
    static constexpr std::array<double, 5> below{1e-4, 1e-5, 3e-6, 1e-6, 1e-7};
    const auto levels =
        std::count_if(below.begin(), below.end(), [&](double bound) { return dangerous_failures_per_h < bound; });
    return levels == 0 ? std::nullopt : std::optional(static_cast<PerformanceLevel>(levels - 1));
}

PerformanceLevel highest_level(SafetyCategory category) {
    switch (category) {
    case SafetyCategory::b:
        return PerformanceLevel::b;
    case SafetyCategory::one:
        return PerformanceLevel::c;
    case SafetyCategory::two:
        return PerformanceLevel::d;
    default:
        return PerformanceLevel::e;
    }
}

} // namespace stopspan
