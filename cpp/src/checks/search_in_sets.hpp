#pragma once

#include "checks/fault_trial.hpp"
#include "checks/machine_search.hpp"

#include <optional>

namespace stopspan {

/// What a search with a fault shows of its machine.
struct SeenInSets {
    Facts facts; ///< stops that are lost, and starts
    Noticed noticed;
};

/// Judges every transition of a search as run() does, all at once: sets of states in place of states, so that many
/// machines that act on one another, with their starts held in every combination, cost no more than their contacts.
/// Of a claim the fewest acts are told that break it, surely where some do.
/// @pre its faults are all that can be lost; nothing was run
/// @returns null where contacts alone do not decide, a source is shorted, a timer runs, or the sets become too large
std::optional<SeenInSets> search_in_sets(MachineSearch &search);

} // namespace stopspan
