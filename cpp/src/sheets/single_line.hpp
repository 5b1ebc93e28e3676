#pragma once

#include "lists/locations.hpp"
#include "sheets/net_facts.hpp"
#include "sheets/special_sheets.hpp"

namespace stopspan {

/// Overview of the power circuit, all poles as one line: supplies, boards, isolators, fuses, contactors, overloads,
/// down to motors, drives, kept loads and control supplies. As many sheets as it takes.
std::vector<SpecialSheet> single_line_sheets(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts,
                                             const Locations &locations);
void add_single_line_symbols(SymbolLibrary &library);

} // namespace stopspan
