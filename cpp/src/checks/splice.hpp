#pragma once

#include "checks/decide_again.hpp"
#include "stopspan/compare.hpp"

namespace stopspan {

/// Puts what was decided again in the place of what was decided before.
/// @param again  of these shares; taken from
/// @returns what differs
Comparison splice(Standing &standing, const CheckOptions &options, Again &again);

} // namespace stopspan
