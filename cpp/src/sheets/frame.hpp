#pragma once

#include "stopspan/description.hpp"
#include "stopspan/drawing.hpp"

#include "sheets/symbols.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// A3 landscape and its frame (ISO 5457), millimetres.
inline constexpr double sheet_width_mm = 420, sheet_height_mm = 297;
inline constexpr double frame_left_mm = 20, frame_right_mm = 410, frame_bottom_mm = 10, frame_top_mm = 287;

void add_frame_symbols(SymbolLibrary &library);

/// What the title block of one sheet says beside the data of the installation.
struct SheetTitle {
    std::string installation;  ///< title when the title block has none
    std::string document_type; ///< "Circuit diagram"
    std::string scale;         ///< "1:100"; empty: none
    std::size_t sheet = 1, sheets = 1;
};
/// A title in as many lines as it takes. Where these would be more than `most`, what stands before its last colon is
/// shortened: what comes after tells a machine's sheets apart.
std::vector<std::string> title_lines(std::string_view title, double height_mm, double width_mm, std::size_t most);

/// Puts frame, title block (ISO 7200) and the usual cautions on a sheet.
void add_frame(Sheet &sheet, const TitleBlock &block, const SheetTitle &title);

} // namespace stopspan
