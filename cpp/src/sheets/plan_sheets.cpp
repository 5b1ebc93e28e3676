#include "sheets/special_sheets.hpp"

#include "base/number_text.hpp"
#include "sheets/frame.hpp"
#include "sheets/label_placer.hpp"
#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"
#include "sheets/symbol_pen.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan {
namespace {

constexpr double table_left_mm = 285, table_width_mm = content_right_mm - table_left_mm;
constexpr Box plan_region{content_left_mm, content_bottom_mm + 12.5, table_left_mm - 10, content_top_mm - 2.5};
constexpr double kind_column_mm = 20, stop_column_mm = 52.5, row_mm = 4.5; // from the left of the table
constexpr double furthest_aside_mm = 40, short_name_mm = 60;
constexpr std::array<int, 13> scales{10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000};

class AreaPlan {
public:
    AreaPlan(const Description &description, AreaId id)
        : description_(description), id_(id), area_(description[id]),
          page_("Plan: " + area_.name + (area_.floor.empty() ? "" : ", " + area_.floor), "Plan") {
        choose_scale();
    }

    SpecialSheet draw() {
        outline(area_, false);
        for (const Area &inner : description_.areas())
            if (inner.within == id_)
                outline(inner, true);
        symbols();
        labels();
        scale_bar();
        legend();
        return std::move(page_);
    }

private:
    struct Item {
        std::string symbol, name, isolator;
        Point at;
    };

    void choose_scale() {
        Box world{area_.outline.front().x_m, area_.outline.front().y_m, area_.outline.front().x_m,
                  area_.outline.front().y_m};
        for (const Position &corner : area_.outline)
            world.include(Point{corner.x_m, corner.y_m});
        const double width = plan_region.right - plan_region.left, height = plan_region.top - plan_region.bottom;
        const double margin = 5; // for symbols on the outline
        scale_ = scales.back();
        for (auto scale = scales.rbegin(); scale != scales.rend(); ++scale) {
            const double mm = 1000.0 / *scale;
            if ((world.right - world.left) * mm + 2 * margin <= width &&
                (world.top - world.bottom) * mm + 2 * margin <= height)
                scale_ = *scale;
        }
        mm_per_m_ = 1000.0 / scale_;
        origin_ = {(plan_region.left + plan_region.right - (world.left + world.right) * mm_per_m_) / 2,
                   (plan_region.bottom + plan_region.top - (world.bottom + world.top) * mm_per_m_) / 2};
        page_.scale = "1:" + std::to_string(scale_);
    }

    // To a hundredth of a millimetre: no last digits that differ between machines.
    Point on_sheet(Position at) const {
        const auto rounded = [](double value) { return std::round(value * 100) / 100; };
        return {rounded(origin_.x_mm + at.x_m * mm_per_m_), rounded(origin_.y_mm + at.y_m * mm_per_m_)};
    }

    void outline(const Area &area, bool inner) {
        Polyline line{{}, true, Layer::plan, inner};
        for (const Position &corner : area.outline)
            line.points.push_back(on_sheet(corner));
        for (std::size_t i = 0; i < line.points.size(); ++i)
            placer_.block(line.points[i], line.points[(i + 1) % line.points.size()]);
        page_.sheet.primitives.emplace_back(line);
        if (inner) {
            Box box{line.points.front().x_mm, line.points.front().y_mm, line.points.front().x_mm,
                    line.points.front().y_mm};
            for (const Point p : line.points)
                box.include(p);
            const Point middle{(box.left + box.right) / 2, (box.bottom + box.top) / 2};
            inner_names_.push_back({Box{middle.x_mm, middle.y_mm, middle.x_mm, middle.y_mm}, area.name});
        }
    }

    void add(std::string symbol, std::string name, Position at, std::string isolator = "") {
        items_.push_back({std::move(symbol), std::move(name), std::move(isolator), on_sheet(at)});
    }

    void symbols() {
        for (const Machine &machine : description_.machines())
            if (machine.area == id_)
                add(machine.isolator.empty() ? "PLAN_MACHINE" : "PLAN_MACHINE_WITH_ISOLATOR", machine.name, machine.at,
                    machine.isolator);
        for (const KeptLoad &load : description_.loads())
            if (load.area == id_)
                add("PLAN_KEPT_LOAD", load.name, load.at);
        for (const Board &board : description_.boards())
            if (board.area == id_)
                add("PLAN_BOARD", board.name, board.at, board.isolator);
        if (!area_.isolator.empty())
            add("PLAN_ISOLATOR", area_.isolator, area_.isolator_at);
        for (const Exit &exit : area_.exits)
            add("PLAN_EXIT", exit.name, exit.at);
        for (const StopDevice &stop : description_.stops())
            if (stop.area == id_)
                add("PLAN_STOP", stop.name, stop.at);
        for (Item &item : items_) {
            move_aside(item);
            Insert insert{
                item.symbol, item.at, {{"NAME", item.name}}, item.symbol == "PLAN_STOP" ? Layer::stops : Layer::plan};
            if (!item.isolator.empty())
                insert.attributes.emplace("ISOLATOR", item.isolator);
            page_.sheet.inserts.push_back(std::move(insert));
            placer_.block(around(item));
        }
    }

    // A symbol that would stand on another one moves to the nearest free place, tied by a line to where it belongs.
    void move_aside(Item &item) {
        const Point belongs = item.at;
        std::vector<Point> ring{belongs};
        for (double away = 0; away < furthest_aside_mm; away += grid_mm) {
            for (const Point at : ring) {
                item.at = at;
                const Point foot = nearest_of(around(item), belongs);
                const bool aside = !(at == belongs);
                if (placer_.open(around(item)) &&
                    (!aside || (around(item).within(plan_region) && placer_.clear(belongs, foot)))) {
                    if (aside) {
                        page_.sheet.primitives.emplace_back(Circle{belongs, 0.4, Layer::plan, true});
                        page_.sheet.primitives.emplace_back(Line{belongs, foot, Layer::plan, false, {}});
                        placer_.block(belongs, foot);
                        moved_ = true;
                    }
                    return;
                }
            }
            ring.clear();
            constexpr int directions = 16;
            for (int i = 0; i < directions; ++i) {
                const double turn = 2 * 3.14159265358979 * i / directions, out = away + 2 * grid_mm;
                const auto rounded = [](double value) { return std::round(value * 100) / 100; };
                ring.push_back(
                    {rounded(belongs.x_mm + out * std::cos(turn)), rounded(belongs.y_mm + out * std::sin(turn))});
            }
        }
        item.at = belongs; // no room anywhere near
    }

    static Point nearest_of(const Box &box, Point to) {
        return {std::clamp(to.x_mm, box.left, box.right), std::clamp(to.y_mm, box.bottom, box.top)};
    }

    static Box around(const Item &item) {
        const Box &extent = symbol_shape(item.symbol).extent;
        return {extent.left + item.at.x_mm, extent.bottom + item.at.y_mm, extent.right + item.at.x_mm,
                extent.top + item.at.y_mm};
    }

    void labels() {
        for (const Item &item : items_)
            label(around(item), item.name + (item.isolator.empty() ? "" : " (" + item.isolator + ")"), small_text_mm,
                  item.symbol == "PLAN_STOP" ? Layer::stops : Layer::designations);
        for (const auto &[middle, name] : inner_names_)
            label(middle, name, normal_text_mm, Layer::plan);
        if (moved_)
            SheetPen(page_.sheet, Layer::plan)
                .text({content_left_mm + 85, content_bottom_mm - 1.5}, small_text_mm,
                      "A line leads from a symbol that had to move aside to its place.");
        if (!unnamed_.empty())
            SheetPen(page_.sheet, Layer::plan)
                .text({content_left_mm, content_bottom_mm + 9.5}, small_text_mm,
                      fitted("No room for the names of: " + unnamed_, small_text_mm,
                             table_left_mm - content_left_mm - 5));
    }

    void label(const Box &where, const std::string &words, double height, Layer layer) {
        auto placed = placer_.place(where, words, height, layer);
        if (!placed)
            placed = placer_.place(where, fitted(words, height, short_name_mm), height, layer);
        if (!placed) {
            unnamed_ += (unnamed_.empty() ? "" : ", ") + words;
            return;
        }
        page_.sheet.primitives.emplace_back(placed->text);
        if (placed->leader)
            page_.sheet.primitives.emplace_back(*placed->leader);
    }

    void scale_bar() {
        constexpr std::array<double, 12> lengths_m{0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000};
        double length_m = lengths_m.front();
        for (const double candidate : lengths_m)
            if (candidate * mm_per_m_ <= 60)
                length_m = candidate;
        const double x = content_left_mm + 5, y = content_bottom_mm + 5, length = length_m * mm_per_m_;
        SheetPen(page_.sheet, Layer::plan)
            .box({x, y, x + length / 2, y + 1.5})
            .box({x + length / 2, y, x + length, y + 1.5})
            .text({x, y - 3.5}, small_text_mm, "0", Align::centre)
            .text({x + length, y - 3.5}, small_text_mm, format_fixed(length_m, 1) + " m", Align::centre);
    }

    void legend() {
        constexpr std::array<std::pair<std::string_view, std::string_view>, 7> entries{{
            {"PLAN_MACHINE", "machine"},
            {"PLAN_MACHINE_WITH_ISOLATOR", "machine (its isolator)"},
            {"PLAN_STOP", "stop device"},
            {"PLAN_ISOLATOR", "isolator"},
            {"PLAN_BOARD", "board"},
            {"PLAN_KEPT_LOAD", "kept load"},
            {"PLAN_EXIT", "exit"},
        }};
        double x = content_left_mm + 85;
        SheetPen pen(page_.sheet, Layer::plan);
        for (const auto &[symbol, words] : entries) {
            if (std::none_of(items_.begin(), items_.end(), [&](const Item &item) { return item.symbol == symbol; }))
                continue;
            page_.sheet.inserts.push_back(
                {std::string(symbol), {x, content_bottom_mm + 5}, {{"NAME", ""}}, Layer::plan});
            pen.text({x + 4, content_bottom_mm + 5 - small_text_mm / 2}, small_text_mm, std::string(words));
            x += up_to_grid(text_width_mm(words, small_text_mm) + 11);
        }
    }

    const Description &description_;
    AreaId id_;
    const Area &area_;
    SpecialSheet page_;
    int scale_ = 100;
    double mm_per_m_ = 10;
    Point origin_;
    LabelPlacer placer_{plan_region};
    std::vector<Item> items_;
    std::vector<std::pair<Box, std::string>> inner_names_;
    bool moved_ = false;  ///< some symbol stands beside its place
    std::string unnamed_; ///< what had no room for its name
};

// The machines each stop device cuts, in lines that fit the table.
class ReachTable {
public:
    ReachTable(const Description &description, const Verdict &verdict) : description_(description), verdict_(verdict) {
        if (!verdict.matrix.empty()) {
            for (const MatrixCell &cell : verdict.matrix)
                if (cell.found != Found::spares || cell.asked == Asked::cut)
                    reach_[cell.stop].push_back(cell.machine + (cell.found == Found::cuts    ? ""
                                                                : cell.found == Found::maybe ? " (maybe)"
                                                                                             : " (NOT CUT)"));
        } else {
            for (const AskedCell &cell : description.asked())
                if (cell.asked == Asked::cut)
                    reach_[cell.stop].push_back(cell.machine);
        }
    }

    // Adds the table of an area's stops to its plan, the rest to further sheets.
    void write(AreaId area, std::vector<SpecialSheet> &sheets) const {
        const std::string title = sheets.back().sheet.title;
        const std::string type = sheets.back().document_type;
        double y = heading(sheets.back().sheet);
        bool none = true;
        for (const StopDevice &stop : description_.stops()) {
            if (stop.area != area)
                continue;
            none = false;
            const std::vector<std::string> lines = lines_of(stop);
            std::vector<std::string> names = wrapped(stop.name, small_text_mm, table_width_mm);
            if (names.size() == 1 && text_width_mm(stop.name, small_text_mm) <= kind_column_mm - 2)
                names.clear(); // it stands beside its kind, a longer one above it
            for (std::size_t i = 0; i < names.size() + lines.size(); ++i) {
                if (y - row_mm < content_bottom_mm) {
                    sheets.emplace_back(title + " (stops, continued)", type);
                    y = heading(sheets.back().sheet);
                }
                y -= row_mm;
                SheetPen pen(sheets.back().sheet, Layer::designations);
                if (i < names.size()) {
                    pen.text({table_left_mm, y}, small_text_mm, names[i]);
                    continue;
                }
                if (i == names.size())
                    pen.text({table_left_mm, y}, small_text_mm, names.empty() ? stop.name : "")
                        .text({table_left_mm + kind_column_mm, y}, small_text_mm, std::string(to_text(stop.kind)));
                pen.text({table_left_mm + stop_column_mm, y}, small_text_mm, lines[i - names.size()]);
            }
        }
        if (none)
            SheetPen(sheets.back().sheet, Layer::designations)
                .text({table_left_mm, y - row_mm}, small_text_mm, "No stop device stands in this area.");
    }

private:
    double heading(Sheet &sheet) const {
        const double y = content_top_mm - row_mm;
        SheetPen(sheet, Layer::designations)
            .text({table_left_mm, y}, small_text_mm, "Stop")
            .text({table_left_mm + kind_column_mm, y}, small_text_mm, "kind")
            .text({table_left_mm + stop_column_mm, y}, small_text_mm,
                  verdict_.matrix.empty() ? "asked to cut" : "cuts, as found in the circuit")
            .line({table_left_mm, y - 1.5}, {content_right_mm, y - 1.5});
        return y - 2;
    }

    std::vector<std::string> lines_of(const StopDevice &stop) const {
        std::vector<std::string> lines{""};
        const double width = table_width_mm - stop_column_mm;
        const auto found = reach_.find(stop.name);
        if (found == reach_.end())
            return {"nothing"};
        for (std::size_t i = 0; i < found->second.size(); ++i) {
            const std::string word = found->second[i] + (i + 1 < found->second.size() ? ", " : "");
            if (!lines.back().empty() && text_width_mm(lines.back() + word, small_text_mm) > width)
                lines.emplace_back();
            const std::vector<std::string> pieces = wrapped(lines.back() + word, small_text_mm, width);
            lines.back() = pieces.front();
            lines.insert(lines.end(), pieces.begin() + 1, pieces.end());
            if (word.ends_with(' '))
                lines.back() += ' ';
        }
        return lines;
    }

    const Description &description_;
    const Verdict &verdict_;
    std::map<std::string, std::vector<std::string>, std::less<>> reach_;
};

} // namespace

void add_plan_symbols(SymbolLibrary &library) {
    SymbolPen("PLAN_MACHINE", 0).box(-2.5, -2.5, 2.5, 2.5).attribute("NAME").into(library);
    SymbolPen("PLAN_MACHINE_WITH_ISOLATOR", 0)
        .box(-2.5, -2.5, 2.5, 2.5)
        .box(-6, -1.75, -2.5, 1.75)
        .line({-6, -1.75}, {-2.5, 1.75})
        .attribute("NAME")
        .attribute("ISOLATOR")
        .into(library);
    SymbolPen("PLAN_STOP", 0).circle({0, 0}, 1.75).circle({0, 0}, 0.75, true).attribute("NAME").into(library);
    SymbolPen("PLAN_ISOLATOR", 0)
        .box(-1.75, -1.75, 1.75, 1.75)
        .line({-1.75, -1.75}, {1.75, 1.75})
        .attribute("NAME")
        .into(library);
    SymbolPen("PLAN_BOARD", 0)
        .box(-3, -1.5, 3, 1.5)
        .line({-3, -1.5}, {3, 1.5})
        .attribute("NAME")
        .attribute("ISOLATOR")
        .into(library);
    SymbolPen("PLAN_KEPT_LOAD", 0)
        .circle({0, 0}, 1.75)
        .line({-1.24, -1.24}, {1.24, 1.24})
        .line({-1.24, 1.24}, {1.24, -1.24})
        .attribute("NAME")
        .into(library);
    SymbolPen("PLAN_EXIT", 0).path({{-2, -1.5}, {2, 0}, {-2, 1.5}}, true).attribute("NAME").into(library);
}

std::vector<SpecialSheet> plan_sheets(const Description &description, const Verdict &verdict) {
    std::vector<SpecialSheet> sheets;
    const ReachTable table(description, verdict);
    const auto areas = description.areas();
    for (std::uint32_t i = 0; i < areas.size(); ++i) {
        if (areas[i].outline.size() < 3)
            continue;
        sheets.push_back(AreaPlan(description, {i}).draw());
        table.write({i}, sheets);
    }
    return sheets;
}

} // namespace stopspan
