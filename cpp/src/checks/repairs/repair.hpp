#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Looks for the smallest change that removes each failing finding: one moved wire, one moved or added contact. A
/// change is printed only after everything it can influence was checked again with it: the finding is gone, no other
/// has come, and what ran, started and was cut before still does.
/// @param machines  all of the context's, in its order
void find_repairs(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict);

} // namespace stopspan
