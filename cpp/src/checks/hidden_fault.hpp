#pragma once

#include "checks/fault_effects.hpp"

#include <functional>
#include <map>

namespace stopspan {

/// Second faults after a first one that takes nothing away and shows nowhere.
struct HiddenPairs {
    /// Of the pairs (indices into singles(), the hidden one first) that take something away, or may: what they do.
    std::map<std::pair<std::uint32_t, std::uint32_t>, FaultEffect> lost;
    std::vector<std::size_t> left;        ///< per machine: pairs not tried, as they would take too long
    std::vector<std::size_t> starts_left; ///< per machine: pairs of which, for that, only lost stops were tried
    std::vector<std::size_t> harmless;    ///< per machine: pairs
    bool at_bounds = false;               ///< of some machine the pairs took all the work they may take
};

/// @param what    may be taken away
/// @param wanted  the machines to look at
HiddenPairs hidden_pairs(FaultJudge &judge, FaultJudge::Of what,
                         const std::function<bool(std::uint32_t machine)> &wanted);

} // namespace stopspan
