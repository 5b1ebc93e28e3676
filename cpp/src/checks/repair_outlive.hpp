#pragma once

#include "checks/repair_parts.hpp"

namespace stopspan {

/// Tells of a fault of one part, or of a change that outlives it.
bool is_of_faults(const Finding &finding);

/// A fault of one part: a second part, or one that waits for the first, leaves it without harm. Where no target is
/// declared it is no failure, but there is a small answer all the same: as many as are quickly tried. Where none is
/// found the finding says in words what would help.
void outlive_faults(RepairParts &parts, Verdict &verdict);

} // namespace stopspan
