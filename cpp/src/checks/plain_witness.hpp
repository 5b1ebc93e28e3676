#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Tells the witnesses of what fails or may fail as plainly as it can be told: a button is tapped where it need not be
/// held, and acts that change nothing are left out. Each is run again; it must come from the same state to the same
/// end, along the same way, but for the position of the device it is about.
/// @param machines  all of the context's, in its order
void tell_plainly(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict);

} // namespace stopspan
