#pragma once

#include "checks/fault_effects.hpp"

namespace stopspan {

/// Trips are among what a fault takes away.
bool loses_trips(const FaultEffect &effect);

/// What a fault takes away, less the trips that a second overload makes: one in the same line, set no higher, whose
/// trip surely takes power off the same machine, with the fault, too.
FaultEffect without_second_trips(FaultJudge &judge, FaultEffect effect);

} // namespace stopspan
