#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/drawing.hpp"

namespace stopspan {

/// The circuit in the words of its wiring table.
std::vector<WiredDevice> netlist_of(const Circuit &circuit);

} // namespace stopspan
