#pragma once

#include "circuit/compiled.hpp"

#include <vector>

namespace stopspan {

/// Resistances that are part of a line: cable cores with a length, and resistors that no contacts, all closed, bypass.
/// One across a contact is a leak instead. Indices into the impedances of the compiled circuit or part.
std::vector<std::uint32_t> long_wires(const Circuit &circuit, const Compiled &compiled);

} // namespace stopspan
