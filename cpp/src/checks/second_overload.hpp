#pragma once

#include "checks/fault_effects.hpp"

namespace stopspan {

/// What an overload that never trips takes away, less the trips that a second one makes: one in the same line, set no
/// higher, whose trip surely takes power off the same machine: the other adds to that by its trips alone.
/// @pre the fault is an overload that never trips
FaultEffect without_second_trips(FaultJudge &judge, const Fault &fault, FaultEffect effect);

} // namespace stopspan
