#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Looks for the smallest change that removes each failing finding: one moved wire, one moved or added contact. A
/// change is printed only after the changed circuit was checked again: the finding is gone, no other has come, and
/// every machine still runs.
void find_repairs(const Context &context, Verdict &verdict);

} // namespace stopspan
