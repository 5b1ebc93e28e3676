#pragma once

#include "stopspan/description.hpp"

namespace stopspan {

/// Metres of cable between two places of one floor: along the axes of the plan, and 2 m at either end from the ceiling
/// down to what stands at a man's height (assumed).
double cable_way_m(Position from, Position to);

} // namespace stopspan
