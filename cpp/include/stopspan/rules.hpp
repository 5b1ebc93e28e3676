#pragma once

#include <span>
#include <string>
#include <string_view>
#include <utility>

namespace stopspan {

// What the checker goes by, as tables: rules, the numbers in them, sets of rules by edition and country, and the faults
// that may be left out.

/// A rule of the checker: what it says in one line, and where it comes from.
struct RuleInfo {
    std::string_view id;
    std::string_view says;
    std::string_view source;
};
std::span<const RuleInfo> rules();
/// @throws Error (unknown_name) that lists the known rules
const RuleInfo &rule_info(std::string_view id);

/// A number in a rule that an installation may change.
struct LimitInfo {
    std::string_view name; ///< carries its unit: "coil_volts_highest_percent"
    std::string_view rule; ///< whose number it is
    std::string_view says;
    double value;            ///< unless the set of rules says otherwise
    double minimum, maximum; ///< what it may be changed to
    std::string_view source;
};
std::span<const LimitInfo> limits();
/// @throws Error (unknown_name) that lists the known limits
const LimitInfo &limit_info(std::string_view name);
/// @throws Error: unknown_name; bad_value (not finite, out of range)
void check_limit(std::string_view name, double value);

/// A set of rules as one country or body has them.
struct RuleSet {
    std::string_view id;
    std::string_view says;
    std::string_view country; ///< "international"
    std::string_view edition; ///< of the standards and laws it goes by
    std::string_view source;
    std::span<const std::string_view> rules;                                ///< ids; empty: all
    std::span<const std::pair<std::string_view, std::string_view>> sources; ///< rule -> source, where it differs
    std::span<const std::pair<std::string_view, double>> limits;            ///< limit -> value, where it differs

    /// Of a rule, in this set. @throws Error as rule_info
    std::string_view source_of(std::string_view rule) const;
    /// @throws Error as limit_info
    double limit(std::string_view name) const;
};
/// The first is the usual one.
std::span<const RuleSet> rule_sets();
/// @throws Error (unknown_name) that lists the known sets
const RuleSet &rule_set(std::string_view id);

/// Faults that need not be looked at where the parts are as the condition says: who names it, says that they are.
struct FaultExclusion {
    std::string_view id;
    std::string_view rule;      ///< whose faults it leaves out
    std::string_view faults;    ///< "shorts between conductors ..."
    std::string_view condition; ///< on which the standard allows it
    std::string_view source;
};
std::span<const FaultExclusion> fault_exclusions();
/// @throws Error (unknown_name) that lists the known exclusions
const FaultExclusion &fault_exclusion(std::string_view id);

} // namespace stopspan
