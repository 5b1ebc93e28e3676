#include "sheets/special_sheets.hpp"

#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"

#include <algorithm>
#include <utility>

namespace stopspan {
namespace {

constexpr double row_mm = 5, column_mm = 127.5, number_mm = 17.5;
constexpr std::size_t lines = 43, columns = 3;

struct Row {
    std::string number, words;
};

// A long title goes on in the rows below its first.
std::vector<Row> rows_of(const std::vector<IndexEntry> &entries) {
    std::vector<Row> rows;
    for (const auto &[number, title] : entries) {
        std::string before = number;
        for (std::string &line : wrapped(title, small_text_mm, column_mm - number_mm - 2))
            rows.push_back({std::exchange(before, ""), std::move(line)});
    }
    return rows;
}

} // namespace

std::size_t index_sheet_count(const std::vector<IndexEntry> &entries) {
    return (rows_of(entries).size() + lines * columns - 1) / (lines * columns);
}

std::vector<SpecialSheet> index_sheets(const std::vector<IndexEntry> &entries) {
    const std::vector<Row> rows = rows_of(entries);
    std::vector<SpecialSheet> sheets;
    for (std::size_t first = 0; first < rows.size(); first += lines * columns) {
        SpecialSheet page("Sheets", "List of sheets");
        SheetPen pen(page.sheet, Layer::designations);
        const std::size_t count = std::min(lines * columns, rows.size() - first);
        for (std::size_t i = 0; i < count; ++i) {
            const double x = content_left_mm + column_mm * static_cast<double>(i / lines);
            const double y = content_top_mm - row_mm * static_cast<double>(i % lines + 2);
            if (i % lines == 0)
                pen.text({x + number_mm - 5, y + row_mm + 1}, small_text_mm, "Sheet", Align::right)
                    .text({x + number_mm, y + row_mm + 1}, small_text_mm, "Title")
                    .line({x, y + row_mm - 0.5}, {x + column_mm - 5, y + row_mm - 0.5});
            pen.text({x + number_mm - 5, y}, small_text_mm, rows[first + i].number, Align::right)
                .text({x + number_mm, y}, small_text_mm, rows[first + i].words);
        }
        sheets.push_back(std::move(page));
    }
    return sheets;
}

} // namespace stopspan
