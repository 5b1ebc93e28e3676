#include "sheets/special_sheets.hpp"

#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"

namespace stopspan {
namespace {

constexpr double row_mm = 5, column_mm = 190, name_mm = 65;
constexpr std::size_t lines = 43, columns = 2;

struct Row {
    std::string name, text;
};

std::vector<Row> rows_of(const std::vector<References::Line> &list) {
    std::vector<Row> rows;
    for (const References::Line &line : list) {
        const auto names = wrapped(line.name, small_text_mm, name_mm - 2.5);
        const auto texts = wrapped(line.text, small_text_mm, column_mm - name_mm - 5);
        for (std::size_t i = 0; i < std::max(names.size(), texts.size()); ++i)
            rows.push_back({i < names.size() ? names[i] : "", i < texts.size() ? texts[i] : ""});
    }
    return rows;
}

} // namespace

std::vector<SpecialSheet> reference_sheets(const std::vector<References::Line> &list) {
    const std::vector<Row> rows = rows_of(list);
    std::vector<SpecialSheet> sheets;
    for (std::size_t first = 0; first < rows.size(); first += lines * columns) {
        SpecialSheet page("Cross-references", "List of cross-references");
        SheetPen pen(page.sheet, Layer::references);
        pen.text(
            {content_left_mm, content_bottom_mm - 7.5}, small_text_mm,
            "A place is a sheet and its current path or field. +2 beside a reference: two places more, listed here.");
        const std::size_t count = std::min(lines * columns, rows.size() - first);
        for (std::size_t i = 0; i < count; ++i) {
            const double x = content_left_mm + column_mm * static_cast<double>(i / lines);
            const double y = content_top_mm - row_mm * static_cast<double>(i % lines + 2);
            if (i % lines == 0)
                pen.text({x, y + row_mm + 1}, small_text_mm, "Device or wire")
                    .text({x + name_mm, y + row_mm + 1}, small_text_mm, "Places")
                    .line({x, y + row_mm - 0.5}, {x + column_mm - 5, y + row_mm - 0.5});
            pen.text({x, y}, small_text_mm, rows[first + i].name)
                .text({x + name_mm, y}, small_text_mm, rows[first + i].text);
        }
        sheets.push_back(std::move(page));
    }
    return sheets;
}

} // namespace stopspan
