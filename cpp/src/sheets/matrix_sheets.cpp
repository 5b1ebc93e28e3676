#include "sheets/special_sheets.hpp"

#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace stopspan {
namespace {

constexpr double column_mm = 17.5, row_mm = 10, names_mm = 50, header_mm = 47.5, line_mm = 4;
constexpr std::size_t page_columns = 18, page_rows = 17;
constexpr double left_mm = content_left_mm, top_mm = content_top_mm - 5;

bool differs(const MatrixCell &cell) {
    return (cell.asked == Asked::cut && cell.found != Found::cuts) ||
           (cell.asked == Asked::keep && cell.found != Found::spares);
}

// Names in the order in which they first appear.
std::vector<std::string> names_of(const Verdict &verdict, std::string MatrixCell::*which) {
    std::vector<std::string> names;
    std::set<std::string_view> seen;
    for (const MatrixCell &cell : verdict.matrix)
        if (seen.insert(cell.*which).second)
            names.push_back(cell.*which);
    return names;
}

using Cells = std::map<std::pair<std::string_view, std::string_view>, const MatrixCell *>;

// A name in as many lines as it takes; `across` is where the foot of each stands in the width of its row or column.
template <class Write>
void name(std::string_view words, double along_mm, double width_mm, Write &&write) {
    const double height = fitting_height_mm(words, along_mm);
    std::vector<std::string> lines = wrapped(words, height, along_mm);
    const auto most = static_cast<std::size_t>((width_mm - 1) / line_mm);
    if (lines.size() > most) {
        lines.resize(most);
        lines.back() = fitted(lines.back() + "...", height, along_mm);
    }
    double across = (width_mm - line_mm * static_cast<double>(lines.size() - 1) + height) / 2;
    for (std::string &line : lines) {
        write(across, height, std::move(line));
        across += line_mm;
    }
}

SpecialSheet page(std::span<const std::string> stops, std::span<const std::string> machines, const Cells &cells) {
    SpecialSheet page("Stop matrix", "Stop matrix");
    SheetPen lines(page.sheet, Layer::designations), words(page.sheet, Layer::designations);
    const double right = left_mm + names_mm + column_mm * static_cast<double>(machines.size());
    const double bottom = top_mm - header_mm - row_mm * static_cast<double>(stops.size());
    lines.box({left_mm, bottom, right, top_mm});
    words.text({left_mm + 1.5, top_mm - header_mm + 1.5}, small_text_mm, "Stop device")
        .text({left_mm + names_mm - 1.5, top_mm - 4}, small_text_mm, "Machine or load", Align::right)
        .line({left_mm, top_mm}, {left_mm + names_mm, top_mm - header_mm})
        .text({left_mm, content_bottom_mm + 2}, small_text_mm,
              "In each cell above: what is asked; below: what the circuit does. ! marks a cell where the two differ.");
    for (std::size_t m = 0; m < machines.size(); ++m) {
        const double x = left_mm + names_mm + column_mm * static_cast<double>(m);
        lines.line({x, bottom}, {x, top_mm});
        name(machines[m], header_mm - 3, column_mm, [&](double across, double height, std::string line) {
            words.text({x + across, top_mm - header_mm + 1.5}, height, std::move(line), Align::left, true);
        });
    }
    for (std::size_t s = 0; s < stops.size(); ++s) {
        const double y = top_mm - header_mm - row_mm * static_cast<double>(s);
        lines.line({left_mm, y}, {right, y});
        name(stops[s], names_mm - 3, row_mm, [&](double across, double height, std::string line) {
            words.text({left_mm + 1.5, y - across}, height, std::move(line));
        });
        for (std::size_t m = 0; m < machines.size(); ++m) {
            const auto found = cells.find({stops[s], machines[m]});
            if (found == cells.end())
                continue;
            const MatrixCell &cell = *found->second;
            const double x = left_mm + names_mm + column_mm * (static_cast<double>(m) + 0.5);
            words.text({x, y - 4.25}, small_text_mm, std::string(to_text(cell.asked)), Align::centre)
                .text({x, y - 8.5}, small_text_mm, std::string(to_text(cell.found)) + (differs(cell) ? " !" : ""),
                      Align::centre);
        }
    }
    return page;
}

} // namespace

std::vector<SpecialSheet> matrix_sheets(const Verdict &verdict) {
    const auto stops = names_of(verdict, &MatrixCell::stop), machines = names_of(verdict, &MatrixCell::machine);
    Cells cells;
    std::set<std::pair<std::size_t, std::size_t>> worth; // pages on which something is asked or cut
    std::map<std::string_view, std::size_t> row, column;
    for (std::size_t i = 0; i < stops.size(); ++i)
        row.emplace(stops[i], i);
    for (std::size_t i = 0; i < machines.size(); ++i)
        column.emplace(machines[i], i);
    for (const MatrixCell &cell : verdict.matrix) {
        cells.insert_or_assign({cell.stop, cell.machine}, &cell);
        if (cell.asked != Asked::free || cell.found != Found::spares)
            worth.emplace(row.at(cell.stop) / page_rows, column.at(cell.machine) / page_columns);
    }
    std::vector<SpecialSheet> pages;
    for (const auto &[r, c] : worth) {
        const std::size_t first_row = r * page_rows, first_column = c * page_columns;
        pages.push_back(page(
            std::span(stops).subspan(first_row, std::min(page_rows, stops.size() - first_row)),
            std::span(machines).subspan(first_column, std::min(page_columns, machines.size() - first_column)), cells));
    }
    return pages;
}

} // namespace stopspan
