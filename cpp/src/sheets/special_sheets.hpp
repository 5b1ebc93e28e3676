#pragma once

#include "sheets/references.hpp"
#include "sheets/symbols.hpp"

#include "stopspan/description.hpp"
#include "stopspan/drawing.hpp"
#include "stopspan/lists.hpp"
#include "stopspan/verdict.hpp"

#include <string>
#include <utility>
#include <vector>

namespace stopspan {

struct SpecialSheet {
    SpecialSheet(std::string title, std::string type) : document_type(std::move(type)) {
        sheet.title = std::move(title);
    }
    Sheet sheet;
    std::string document_type, scale;
};

/// Plan of each area to scale: outline, inner areas, machines, stop devices, isolators, boards, exits, kept loads, and
/// a table of what each stop device cuts (as found; as asked when nothing was checked).
std::vector<SpecialSheet> plan_sheets(const Description &description, const Verdict &verdict);
void add_plan_symbols(SymbolLibrary &library);

/// Stop matrix, asked over found; pages that hold nothing asked and nothing cut are left out.
std::vector<SpecialSheet> matrix_sheets(const Verdict &verdict);

/// Lists as tables, as many sheets as they take; short ones share a sheet.
std::vector<SpecialSheet> list_sheets(const std::vector<List> &lists);

/// What references could not name beside a symbol: places of devices and wires, and wire numbers in full.
std::vector<SpecialSheet> reference_sheets(const std::vector<References::Line> &list);

/// Number and title of a sheet.
using IndexEntry = std::pair<std::string, std::string>;
/// List of all sheets, as many as it takes.
std::vector<SpecialSheet> index_sheets(const std::vector<IndexEntry> &entries);
std::size_t index_sheet_count(const std::vector<IndexEntry> &entries);

} // namespace stopspan
