#include "sheets/frame.hpp"

#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"

#include <array>

namespace stopspan {
namespace {

// Fields of 50 mm counted from the middle of the sheet; what is left over widens the outermost ones.
constexpr double field_mm = 50;
constexpr int columns = 8, rows = 6;
constexpr std::string_view row_letters = "ABCDEF"; // from the top; I and O are never used
constexpr double border_mm = 5;

constexpr double block_width_mm = 180;
// Lower edges of the rows of the title block, from the bottom, and the upper edge of the last. The row of the
// supplementary title has room for two lines: it says which machine a sheet is of, and never only half of it.
constexpr std::array row_edges_mm{0.0, 9.0, 18.0, 30.5, 39.5};
constexpr std::size_t most_title_lines = 2;
constexpr double foot_mm = 1.5; // of the words of a cell above its lower edge
constexpr double block_left_mm = frame_right_mm - block_width_mm;

struct Cell {
    std::string_view tag, caption;
    int row; ///< from the bottom
    double left, right;
    std::string_view when_empty = "not given"; ///< a blank field could be a mistake
};
// Data fields of ISO 7200.
constexpr std::array cells{
    Cell{"LEGAL_OWNER", "Legal owner", 3, 0, 70},
    Cell{"TITLE", "Title", 3, 70, 180},
    Cell{"CREATED_BY", "Created by", 2, 0, 30},
    Cell{"APPROVED_BY", "Approved by", 2, 30, 60, "not approved"},
    Cell{"SHEET_TITLE", "Supplementary title", 2, 60, 180},
    Cell{"DOCUMENT_TYPE", "Document type", 1, 0, 62.5},
    Cell{"NUMBER", "Identification number", 1, 62.5, 130},
    Cell{"REVISION", "Revision", 1, 130, 155},
    Cell{"LANGUAGE", "Language", 1, 155, 180},
    Cell{"SCALE", "Scale", 0, 0, 42.5, "not to scale"},
    Cell{"STATUS", "Document status", 0, 42.5, 105},
    Cell{"DATE", "Date of issue", 0, 105, 145, "not issued"},
    Cell{"SHEET", "Sheet", 0, 145, 180},
};

double lower_edge(const Cell &cell) {
    return row_edges_mm[static_cast<std::size_t>(cell.row)];
}
double upper_edge(const Cell &cell) {
    return row_edges_mm[static_cast<std::size_t>(cell.row) + 1];
}

double column_edge(int i) { // left edge of column i
    return i == 0 ? frame_left_mm : i == columns ? frame_right_mm : sheet_width_mm / 2 + field_mm * (i - columns / 2);
}
double row_edge(int i) { // upper edge of row i
    return i == 0 ? frame_top_mm : i == rows ? frame_bottom_mm : sheet_height_mm / 2 - field_mm * (i - rows / 2);
}

void add_a3_frame(SymbolLibrary &library) {
    SymbolShape shape;
    shape.symbol.name = "SHEET_A3";
    shape.symbol.attributes = {"SHEET"};
    auto &out = shape.symbol.shape;
    const auto line = [&](Point a, Point b) { out.emplace_back(Line{a, b, Layer::frame, false, {}}); };
    const auto box = [&](double left, double bottom, double right, double top) {
        out.emplace_back(Polyline{{{left, bottom}, {right, bottom}, {right, top}, {left, top}}, true, Layer::frame});
    };
    const double left = frame_left_mm - border_mm, right = frame_right_mm + border_mm;
    const double bottom = frame_bottom_mm - border_mm, top = frame_top_mm + border_mm;
    box(frame_left_mm, frame_bottom_mm, frame_right_mm, frame_top_mm);
    box(left, bottom, right, top);
    const auto letter = [&](Point middle, std::string text) {
        out.emplace_back(Text{{middle.x_mm, middle.y_mm - normal_text_mm / 2},
                              normal_text_mm,
                              std::move(text),
                              Align::centre,
                              Layer::frame});
    };
    for (int i = 0; i < columns; ++i) {
        const double middle = (column_edge(i) + column_edge(i + 1)) / 2;
        for (const double y : {bottom + border_mm / 2, top - border_mm / 2})
            letter({middle, y}, std::to_string(i + 1));
        if (i > 0 && i != columns / 2) {
            line({column_edge(i), bottom}, {column_edge(i), frame_bottom_mm});
            line({column_edge(i), frame_top_mm}, {column_edge(i), top});
        }
    }
    for (int i = 0; i < rows; ++i) {
        const double middle = (row_edge(i) + row_edge(i + 1)) / 2;
        for (const double x : {left + border_mm / 2, right - border_mm / 2})
            letter({x, middle}, std::string(1, row_letters[static_cast<std::size_t>(i)]));
        if (i > 0 && i != rows / 2) {
            line({left, row_edge(i)}, {frame_left_mm, row_edge(i)});
            line({frame_right_mm, row_edge(i)}, {right, row_edge(i)});
        }
    }
    // Centring marks run from the edge of the paper into the drawing space.
    const double x = sheet_width_mm / 2, y = sheet_height_mm / 2;
    line({x, 0}, {x, frame_bottom_mm + 5});
    line({x, sheet_height_mm}, {x, frame_top_mm - 5});
    line({0, y}, {frame_left_mm + 5, y});
    line({sheet_width_mm, y}, {frame_right_mm - 5, y});
    library.emplace(shape.symbol.name, shape);
}

void add_title_block(SymbolLibrary &library) {
    SymbolShape shape;
    shape.symbol.name = "TITLE_BLOCK";
    for (const Cell &cell : cells) {
        const double bottom = lower_edge(cell), top = upper_edge(cell);
        shape.symbol.shape.emplace_back(Polyline{
            {{cell.left, bottom}, {cell.right, bottom}, {cell.right, top}, {cell.left, top}}, true, Layer::title});
        shape.symbol.shape.emplace_back(
            Text{{cell.left + 1, top - 3}, small_text_mm, std::string(cell.caption), Align::left, Layer::title});
        shape.symbol.attributes.emplace_back(cell.tag);
    }
    library.emplace(shape.symbol.name, shape);
}

} // namespace

void add_frame_symbols(SymbolLibrary &library) {
    add_a3_frame(library);
    add_title_block(library);
}

std::string zone_of(Point at) {
    int column = 0, row = 0;
    while (column < columns - 1 && at.x_mm >= column_edge(column + 1))
        ++column;
    while (row < rows - 1 && at.y_mm < row_edge(row + 1))
        ++row;
    return std::string(1, row_letters[static_cast<std::size_t>(row)]) + std::to_string(column + 1);
}

std::vector<std::string> title_lines(std::string_view title, double height_mm, double width_mm, std::size_t most) {
    std::vector<std::string> lines = wrapped(title, height_mm, width_mm);
    const std::size_t colon = title.rfind(": ");
    if (lines.size() <= most || colon == std::string_view::npos || colon < sizeof("Plan"))
        return lines;
    // The end alone tells a machine's sheets apart: it stands in the last line, the name before it is shortened.
    const std::string_view kept = title.substr(colon);
    std::string last;
    for (std::size_t i = most - 1; i < lines.size(); ++i)
        last += (last.empty() ? "" : " ") + lines[i];
    last.resize(last.size() - kept.size());
    lines.resize(most);
    lines.back() = fitted(last, height_mm, width_mm - text_width_mm(kept, height_mm)) + std::string(kept);
    return lines;
}

void add_frame(Sheet &sheet, const TitleBlock &block, const SheetTitle &title) {
    const std::string number = std::to_string(title.sheet) + " / " + std::to_string(title.sheets);
    const std::map<std::string, std::string> values{
        {"LEGAL_OWNER", block.owner},
        {"TITLE", block.title.empty() ? title.installation : block.title},
        {"CREATED_BY", block.author},
        {"APPROVED_BY", block.approved},
        {"SHEET_TITLE", sheet.title},
        {"DOCUMENT_TYPE", title.document_type},
        {"NUMBER", block.number},
        {"REVISION", block.revision},
        {"LANGUAGE", block.language},
        {"SCALE", title.scale},
        {"STATUS", "to be verified on site"},
        {"DATE", block.date},
        {"SHEET", number},
    };
    sheet.inserts.push_back({"SHEET_A3", {0, 0}, {{"SHEET", sheet.number}}, Layer::frame});
    sheet.inserts.push_back({"TITLE_BLOCK", {block_left_mm, frame_bottom_mm}, values, Layer::title});
    SheetPen pen(sheet, Layer::title);
    for (const Cell &cell : cells) {
        const std::string &given = values.at(std::string(cell.tag));
        const std::string_view words = given.empty() ? cell.when_empty : std::string_view(given);
        const double width = cell.right - cell.left - 2;
        const double height = fitting_height_mm(words, width);
        const double foot = frame_bottom_mm + lower_edge(cell) + foot_mm;
        const Point left{block_left_mm + cell.left + 1, foot};
        if (cell.tag != "SHEET_TITLE") {
            pen.text(left, height, fitted(words, height, width));
            continue;
        }
        const auto lines = title_lines(words, height, width, most_title_lines);
        for (std::size_t i = 0; i < lines.size(); ++i)
            pen.text({left.x_mm, foot + small_line_mm * static_cast<double>(lines.size() - 1 - i)}, height, lines[i]);
    }
    pen.text({frame_left_mm + 7.5, frame_bottom_mm + 6.5}, small_text_mm,
             "Isolate, lock off and prove dead before work. Drawn without current.")
        .text({frame_left_mm + 7.5, frame_bottom_mm + 2.5}, small_text_mm,
              "Local codes prevail. Verification and commissioning by a competent, licensed person.");
}

} // namespace stopspan
