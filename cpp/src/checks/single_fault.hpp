#pragma once

#include "checks/fault_targets.hpp"

namespace stopspan {

/// Counts or tells what one fault takes away.
/// @param repair  of what it takes away
void tell_single_fault(const FaultWords &words, const FaultTargets &targets, const FaultCase &one,
                       const FaultEffect &effect, std::size_t state_budget, const std::string &repair,
                       Decided &decided);

} // namespace stopspan
