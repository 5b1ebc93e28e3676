#pragma once

#include "sheets/current_paths.hpp"

namespace stopspan {

/// Sheets of current paths for a set of two-ended parts.
/// As many sheets as the paths need; nets go on from sheet to sheet by name.
/// @param left_mm  where the first path may begin: what is left of it is taken
std::vector<CircuitSheet> control_sheets(std::span<const std::size_t> members, std::span<const Part> parts,
                                         const Circuit &circuit, const NetFacts &facts,
                                         double left_mm = content_left_mm);

/// Sheets of multi-pole parts in rows: what feeds above, motors below.
std::vector<CircuitSheet> power_sheets(std::span<const std::size_t> members, std::span<const Part> parts,
                                       const Circuit &circuit, const NetFacts &facts);

} // namespace stopspan
