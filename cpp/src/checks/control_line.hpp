#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// What CheckOptions::control_lines leave a coil too little to pull in, or enough to stay in after a stop. Lengths of a
/// plan and typical coils settle nothing for sure: what they put in doubt may fail.
void weigh_control_lines(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict);

} // namespace stopspan
