#include "sheets/control_sheets.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr int most_rows = 13;
constexpr double most_spread_mm = 12.5; // beyond it neighbours look unrelated
constexpr double even_step_mm = 10;

// One column of a sheet.
struct Column {
    const CurrentPath *path;
    double left = 0, right = 0;
};

class ControlSheets {
public:
    ControlSheets(std::span<const std::size_t> members, std::span<const Part> parts, const Circuit &circuit,
                  const NetFacts &facts, double left_mm)
        : members_(members), parts_(parts), circuit_(circuit), facts_(facts), left_mm_(left_mm) {}

    // Fewer rows until every sheet fits.
    std::vector<CircuitSheet> draw() {
        for (int rows = most_rows;; --rows) {
            std::vector<CircuitSheet> sheets = lay_out(rows);
            if (rows == 1 || std::all_of(sheets.begin(), sheets.end(), [](const auto &sheet) { return sheet.fits; }))
                return sheets;
        }
    }

private:
    std::vector<CircuitSheet> lay_out(int rows) {
        const std::vector<CurrentPath> paths = current_paths(members_, parts_, circuit_, facts_, rows);
        int used = 0;
        for (const CurrentPath &path : paths)
            used = std::max(used, path.steps.back().to);
        std::vector<Column> columns;
        for (const CurrentPath &path : paths)
            columns.push_back(column(path));
        std::vector<CircuitSheet> sheets;
        const double right_mm = even_right_mm(columns);
        for (std::size_t i = 0; i < columns.size();) {
            const std::size_t end = fill(columns, i, right_mm);
            sheets.push_back(draw_rows(plan(std::span(columns).subspan(i, end - i), used), parts_, circuit_, facts_));
            i = end;
        }
        return sheets;
    }

    Column column(const CurrentPath &path) const {
        Column column{&path};
        const auto name_width = [&](NetId net) { return text_width_mm(facts_.shown[net.value], small_text_mm) + 1.5; };
        for (const PathStep &step : path.steps) {
            const Part &part = parts_[step.part];
            column.left = std::max(column.left, part.left_mm);
            column.right = std::max(column.right, part.right_mm);
            column.right = std::max({column.right, name_width(step.upper), name_width(step.lower)});
            const CoilTable table = coil_table(parts_, step.part, circuit_);
            if (!table.heading.empty())
                column.right = std::max(column.right, coil_table_width_mm(parts_, table) - part.left_mm);
        }
        column.left += 1;
        column.right += 1;
        return column;
    }

    // How far to the right sheets are filled: no more of them than needed, and none left with the last path alone.
    double even_right_mm(const std::vector<Column> &columns) const {
        const auto sheets = [&](double right_mm) {
            std::size_t count = 0;
            for (std::size_t i = 0; i < columns.size(); ++count)
                i = fill(columns, i, right_mm);
            return count;
        };
        const std::size_t fewest = sheets(content_right_mm);
        double right_mm = content_right_mm;
        while (fewest > 1 && right_mm - even_step_mm > left_mm_ && sheets(right_mm - even_step_mm) == fewest)
            right_mm -= even_step_mm;
        return right_mm;
    }

    // Columns from i that fit on a sheet; a family is kept together when it fits on one.
    std::size_t fill(const std::vector<Column> &columns, std::size_t first, double right_mm) const {
        double x = left_mm_;
        std::size_t end = first;
        while (end < columns.size()) {
            const double next = up_to_grid(x + columns[end].left) + columns[end].right;
            if (next > right_mm && end > first)
                break;
            x = next;
            ++end;
        }
        if (end == columns.size())
            return end;
        std::size_t cut = end;
        while (cut > first && columns[cut].path->family == columns[cut - 1].path->family)
            --cut;
        return cut > first ? cut : end;
    }

    RowPlan plan(std::span<const Column> columns, int rows) {
        RowPlan plan;
        plan.rows = rows;
        double x = left_mm_, width = 0;
        for (const Column &column : columns)
            width += up_to_grid(column.left) + column.right + grid_mm;
        const double spare = (content_right_mm - left_mm_ - width) / static_cast<double>(columns.size());
        const double spread = std::clamp(spare, 0.0, most_spread_mm);
        for (const Column &column : columns) {
            const double at = up_to_grid(x + column.left);
            add_path(plan, *column.path, at);
            plan.paths.push_back(at);
            x = at + column.right + spread;
        }
        return plan;
    }

    void add_path(RowPlan &plan, const CurrentPath &path, double x) {
        for (const PathStep &step : path.steps) {
            std::uint32_t joint = 0; // of the channel just reached, 0 at the step's own levels
            for (int row = step.from; row < step.to; ++row) {
                const std::uint32_t next = row + 1 < step.to ? ++last_passage_ : 0;
                if (row == step.row)
                    plan.placed.push_back({step.part, row, x, step.turned, joint, next});
                else
                    plan.passages.push_back({row < step.row ? step.upper : step.lower, row, x, joint, next});
                joint = next;
            }
        }
    }

    std::span<const std::size_t> members_;
    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    double left_mm_;
    std::uint32_t last_passage_ = 0;
};

} // namespace

std::vector<CircuitSheet> control_sheets(std::span<const std::size_t> members, std::span<const Part> parts,
                                         const Circuit &circuit, const NetFacts &facts, double left_mm) {
    return ControlSheets(members, parts, circuit, facts, left_mm).draw();
}

} // namespace stopspan
