#pragma once

#include "checks/fault_effects.hpp"

namespace stopspan {

/// What an overload that never trips takes away, less the trips that a second one makes: one in the same line, set no
/// higher, whose trip is proven to take power off the same machine.
/// @pre the fault is an overload that never trips
FaultEffect without_second_trips(const Context &context, const std::vector<MachineSeen> &machines, const Fault &fault,
                                 FaultEffect effect);

} // namespace stopspan
