#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/drawing.hpp"

#include <string>
#include <vector>

namespace stopspan::test {

/// What a drafting office would send back, one line each: text over text, symbol, line or foreign wire; wires that
/// end nowhere, touch another net or run through a symbol; anything off the sheet.
std::vector<std::string> layout_faults(const Drawing &drawing);

/// Reads the netlist from symbols, connection points, wires and net names alone and compares it with the circuit:
/// every terminal exactly once, joined to the same others, on a net of the same name.
std::vector<std::string> netlist_faults(const Drawing &drawing, const Circuit &circuit);

} // namespace stopspan::test
