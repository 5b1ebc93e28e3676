#pragma once

#include "checks/context.hpp"
#include "switching/faults.hpp"

namespace stopspan {

/// Which faults the exclusions of a check leave out. Contactors, relays, timers, stop relays, fuses, overloads,
/// transformers and DC supplies are taken to stand in an enclosure; of everything else a conductor may lie inside of
/// one and outside.
class LeftOut {
public:
    explicit LeftOut(const Context &context) : LeftOut(context, context.exclusions) {}
    /// As if these exclusions were named.
    LeftOut(const Context &context, std::vector<std::string_view> exclusions);
    /// Ids of the exclusions that leave it out together; empty: it stays.
    std::vector<std::string_view> by(const Fault &fault) const;

private:
    bool excludes(std::string_view id) const;
    bool stays_inside(std::uint32_t net) const { return outside_[net].empty(); }
    bool in_one_cable(std::uint32_t a, std::uint32_t b) const;
    bool has_break_contact(std::uint32_t device) const;

    const Context &context_;
    std::vector<std::string_view> exclusions_;
    std::vector<std::vector<std::uint32_t>> outside_; ///< per net: devices that may stand outside of an enclosure
};

/// Ids of all there are.
std::vector<std::string_view> every_exclusion();
/// "meet the condition of the fault exclusion emergency-stop-mechanics and name it"; empty for none.
std::string told_condition(const std::vector<std::string_view> &exclusions);

/// What a list of faults does without, for not_checked: one line for each exclusion of the rule.
std::vector<std::string> told_left_out(const Context &context, std::string_view rule,
                                       const std::map<std::string_view, std::size_t> &left_out);

} // namespace stopspan
