#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Says which rules the check went by, and gives each finding the source its rule has there.
void tell_rules(const Context &context, Verdict &verdict);

} // namespace stopspan
