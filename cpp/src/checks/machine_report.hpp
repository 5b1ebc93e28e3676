#pragma once

#include "checks/feeding.hpp"
#include "checks/machine_check.hpp"

#include <algorithm>

namespace stopspan {

/// What was found of one machine, before it is told.
struct MachineOutcome {
    MachineOutcome(Tools &tools, const MachineSeen &about, const std::vector<std::uint32_t> &cut)
        : context(tools.context), machine(about), proven_cut(cut),
          far(context, tools.structure, machine.seeds, &machine) {}

    const Context &context;
    const MachineSeen &machine;
    const std::vector<std::uint32_t> &proven_cut; ///< stops, ascending
    FarReach far;
    std::vector<std::uint32_t> stops;       ///< asked of it, or able to act on it: indices into Context::stops
    bool no_start = false, no_race = false; ///< proven
    std::set<std::string> proven_overloads;
    std::optional<OrdersOfMoving> orders;
    std::optional<SearchSeen> seen;  ///< nothing: decided without a search
    std::string size_text;           ///< of the search, where that is known
    bool complete = false;           ///< it came to its end
    std::set<std::string> not_asked; ///< stops of which only what is fed back could show that they do not beat

    bool fed_back_left = false; ///< as Decided has it

    using Claim = std::pair<std::string, std::string>; ///< rule and subject
    Facts facts;
    std::set<Claim> unconfirmed; ///< of facts that the whole does not show
    std::map<Claim, std::vector<std::string>> paths, missing;

    const Fact *fact(const std::string &rule, const std::string &subject) const;
    bool is_proven_cut(std::uint32_t stop) const {
        return std::binary_search(proven_cut.begin(), proven_cut.end(), stop);
    }
    /// It can act on the machine: in the search, once that was made, for a whole leaves out what only seems to.
    bool reached(std::uint32_t variable) const { return seen ? seen->reaches(variable) : machine.reached_by(variable); }
    /// It fails to cut it and was never seen to: whether it beats the start is not told.
    bool never_cuts_surely(const std::string &stop) const;

    bool cuts_wanted() const {
        return context.wants("stop-cuts") || (context.wants("stop-reach") && context.options.plan);
    }
    bool matrix_wanted() const { return cuts_wanted() || context.wants("stop-spares"); }
};

/// Adds its findings, counts and cells.
void tell(MachineOutcome &outcome, Decided &decided);

} // namespace stopspan
