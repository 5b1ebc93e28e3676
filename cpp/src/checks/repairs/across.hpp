#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Resistors and capacitors, alone or one behind the other, that stand between two poles with no coil, load or motor
/// in series and nothing that opens by itself: current flows through them for ever.
std::set<std::string> across_supplies(const Context &context);

} // namespace stopspan
