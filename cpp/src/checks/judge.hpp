#pragma once

#include "checks/shares.hpp"

namespace stopspan {

/// Of what is not checked, the line about Decided::fed_back_left; it is the first.
std::string fed_back_left_text(const std::vector<std::string> &machines);

/// Of what is not checked, the last line where something shorts a source, or perhaps.
inline constexpr std::string_view taken_by_shorts =
    "what a short told by interlock-holds takes from other machines on its supply: not everywhere followed; mend it "
    "and check again";
bool any_short(const Verdict &verdict);

/// Findings stand in the order of rules().
std::uint32_t place_of_rule(std::string_view rule);

/// Every rule wanted, of all machines, loads and isolators: what check() tells, with witnesses as they were found and
/// no repairs.
/// @param machines  all of the context's, in its order
/// @param shares    filled (but what is told plainly), unless null
Verdict judge(const Context &context, const std::vector<MachineSeen> &machines, Shares *shares = nullptr);

/// check() of a circuit that is prepared already.
/// @param shares  filled, unless null
Verdict check(const Context &context, Shares *shares);

} // namespace stopspan
