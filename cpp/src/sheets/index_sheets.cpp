#include "sheets/special_sheets.hpp"

#include "sheets/frame.hpp"
#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr double row_mm = 5, column_mm = 127.5, number_mm = 17.5;
constexpr std::size_t lines = 43, columns = 3;

std::string shown(std::string_view title) {
    return fitted_title(title, small_text_mm, column_mm - number_mm - 2);
}

} // namespace

std::size_t index_sheet_count(std::size_t rows) {
    return (rows + lines * columns - 1) / (lines * columns);
}

std::vector<SpecialSheet> index_sheets(const std::vector<std::pair<std::string, std::string>> &rows) {
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
            const auto &[number, title] = rows[first + i];
            pen.text({x + number_mm - 5, y}, small_text_mm, number, Align::right)
                .text({x + number_mm, y}, small_text_mm, shown(title));
        }
        sheets.push_back(std::move(page));
    }
    return sheets;
}

} // namespace stopspan
