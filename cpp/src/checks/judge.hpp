#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Every rule wanted, of all machines, loads and isolators: what check() tells, with witnesses as they were found and
/// no repairs.
/// @param machines  all of the context's, in its order
Verdict judge(const Context &context, const std::vector<MachineSeen> &machines);

} // namespace stopspan
