#pragma once

#include "checks/context.hpp"

namespace stopspan {

// Proofs from the structure alone: true is a proof, false means nothing. `structure` is left without assumptions.

/// Supplies that act on the machine and that another feeds: they fall with it.
std::vector<std::uint32_t> fed_supplies(const Context &context, const MachineSeen &machine);

/// With this variable (a stop, an overload) acted and every other contact free, the machine has no power.
bool proves_cut(Structure &structure, const Context &context, const MachineSeen &machine, std::uint32_t variable);

/// proves_cut() for every stop and every machine it can act on, stop by stop. Stops that only open the same rows of
/// contacts do the same, so one is asked for all.
/// @returns per machine the stops (indices into Context::stops, ascending) that are proven to cut it
std::vector<std::vector<std::uint32_t>> prove_cuts(const Context &context, const std::vector<MachineSeen> &machines,
                                                   bool share = true);

/// Nothing but its own start devices can bring the machine from stopped to running: a set of contactors gates it;
/// out, they have no coil voltage while the own start devices rest; in, the machine runs.
/// @param lines  whole: no line of a source that has several is ever lost alone
enum class Lines { may_be_lost, whole };
bool proves_no_start(Structure &structure, const Context &context, const MachineSeen &machine,
                     Lines lines = Lines::may_be_lost);

/// Can a contact join two source poles, or current reach a coil through another load?
bool shares_current(const Context &context, const Reach &reach);

/// No order of moving can matter: contacts of armatures only make, every hand device works one way, no contact joins
/// source poles, no coil shares its current with another load. What motors feed back into a line that is lost, or
/// behind a blown fuse, is not asked.
bool proves_no_race(const Context &context, const Reach &reach);

} // namespace stopspan
