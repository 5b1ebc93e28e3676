#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/description.hpp"
#include "stopspan/drawing.hpp"
#include "stopspan/verdict.hpp"

namespace stopspan {

/// Sheets of an installation: plan of each area, power and control circuit of each machine, circuit of each
/// zone, the matrix. A circuit alone (empty description) gets its power, control and matrix sheets.
Drawing draw(const Description &description, const Circuit &circuit, const Verdict &verdict);

} // namespace stopspan
