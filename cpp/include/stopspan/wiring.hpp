#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/description.hpp"

namespace stopspan {

/// Turns a description into a circuit: one arrangement per starter and zone link, added to what was
/// recorded by hand. Same input, same designations and nets.
/// Nets that a recorded circuit can join: supply G1 has "G1:L1" "G1:L2" "G1:L3" "G1:N"; board B has "B:L1" ...
/// (behind its isolator); an area with an isolator "Area:L1" ...
/// @param recorded  devices as found; may already hold the sources and stop devices of the description
/// @throws Error: a stop device with fewer contact blocks than the wiring needs, a machine without a board,
///         a three-phase machine on a one-phase supply, an in-line starter above its button's rating ...
Circuit wire(const Description &description, const Circuit &recorded = {});

} // namespace stopspan
