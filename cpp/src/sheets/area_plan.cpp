#include "sheets/area_plan.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "sheets/label_placer.hpp"
#include "sheets/sheet_pen.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan {
namespace {

constexpr Box beside_list{content_left_mm, content_bottom_mm + 12.5, plan_list_left_mm - 10, content_top_mm - 2.5};
constexpr Box whole_sheet{content_left_mm, content_bottom_mm + 12.5, content_right_mm, content_top_mm - 2.5};
constexpr double margin_mm = 3; // for symbols on the outline
constexpr double furthest_aside_mm = 40, short_name_mm = 60, legend_left_mm = content_left_mm + 85;
constexpr std::array<int, 13> scales{10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000};

// To a hundredth of a millimetre: no last digits that differ between machines.
double rounded(double value) {
    return std::round(value * 100) / 100;
}

// What of the line from a to b lies in the part (Liang and Barsky).
std::optional<std::pair<Position, Position>> inside(const FloorPart &part, Position a, Position b) {
    double from = 0, to = 1;
    const double dx = b.x_m - a.x_m, dy = b.y_m - a.y_m;
    const std::array<std::pair<double, double>, 4> sides{
        {{-dx, a.x_m - part.left}, {dx, part.right - a.x_m}, {-dy, a.y_m - part.bottom}, {dy, part.top - a.y_m}}};
    for (const auto &[p, q] : sides) {
        if (p == 0 && q < 0)
            return std::nullopt;
        if (p < 0)
            from = std::max(from, q / p);
        else if (p > 0)
            to = std::min(to, q / p);
    }
    if (from >= to)
        return std::nullopt;
    return std::pair(Position{a.x_m + from * dx, a.y_m + from * dy}, Position{a.x_m + to * dx, a.y_m + to * dy});
}

// "zone Hall", "zones Hall, Site" of those that this area's outline bounds; empty of none.
std::string zones_bounded_by(const Description &description, AreaId area) {
    std::vector<bool> bounded; // zones come after those they act through
    std::vector<std::string> names;
    for (const Zone &zone : description.zones()) {
        bounded.push_back(std::ranges::count(zone.areas, area) > 0 ||
                          std::ranges::any_of(zone.zones, [&](ZoneId each) { return bounded[each.value]; }));
        if (bounded.back())
            names.push_back(zone.name);
    }
    return names.empty() ? "" : (names.size() == 1 ? "zone " : "zones ") + listed_in_short(names);
}

class Painter {
public:
    Painter(const Description &description, AreaId id, const FloorPart &part, const PlanStyle &style)
        : description_(description), id_(id), area_(description[id]), part_(part), style_(style),
          region_(style.whole_sheet ? whole_sheet : beside_list),
          scale_(style.scale ? style.scale
                             : plan_scale(part.right - part.left, part.top - part.bottom, style.whole_sheet)),
          mm_per_m_(1000.0 / scale_), origin_{(region_.left + region_.right - (part.left + part.right) * mm_per_m_) / 2,
                                              (region_.bottom + region_.top - (part.bottom + part.top) * mm_per_m_) /
                                                  2},
          placer_(region_), plan_{SpecialSheet("Plan: " + area_.name + (area_.floor.empty() ? "" : ", " + area_.floor),
                                               "Plan"),
                                  0,
                                  {}} {
        plan_.page.scale = "1:" + std::to_string(scale_);
    }

    AreaPlan draw(const PlanReach &reach, const std::string &note) {
        outlines();
        symbols(reach);
        labels();
        scale_bar();
        north();
        legend();
        notes(note);
        return std::move(plan_);
    }

    AreaPlan divide(const std::vector<FloorPart> &parts) {
        outlines();
        for (std::size_t i = 0; i < parts.size(); ++i) {
            cut_edges(parts[i], false);
            const Box box = on_sheet(parts[i]);
            name_in_the_middle({(box.left + box.right) / 2, (box.bottom + box.top) / 2},
                               "part " + std::to_string(i + 1) + " of " + std::to_string(parts.size()), normal_text_mm);
        }
        labels();
        scale_bar();
        notes("Machines, stops and all else are shown on a sheet for each part.");
        return std::move(plan_);
    }

private:
    struct Item {
        std::string symbol, name, isolator, letters;
        Point at;
    };

    Sheet &sheet() { return plan_.page.sheet; }
    Point on_sheet(Position at) const {
        return {rounded(origin_.x_mm + at.x_m * mm_per_m_), rounded(origin_.y_mm + at.y_m * mm_per_m_)};
    }
    Box on_sheet(const FloorPart &part) const {
        const Point low = on_sheet(Position{part.left, part.bottom}), high = on_sheet(Position{part.right, part.top});
        return {low.x_mm, low.y_mm, high.x_mm, high.y_mm};
    }
    bool whole_area() const {
        const FloorPart all = floor_around(area_);
        return part_.left <= all.left && part_.bottom <= all.bottom && part_.right >= all.right && part_.top >= all.top;
    }

    void outlines() {
        outline(area_, zones_bounded_by(description_, id_), false);
        const auto areas = description_.areas();
        for (std::uint32_t i = 0; i < areas.size(); ++i)
            if (areas[i].within == id_)
                outline(areas[i], zones_bounded_by(description_, {i}), true);
        obstacles(area_);
        for (std::optional<AreaId> outer = area_.within; outer; outer = description_[*outer].within)
            obstacles(description_[*outer]);
        cut_edges(part_, true);
    }

    void obstacles(const Area &of) {
        for (const Obstacle &obstacle : of.obstacles)
            for (std::size_t i = 0; i < obstacle.outline.size(); ++i)
                if (const auto line =
                        inside(part_, obstacle.outline[i], obstacle.outline[(i + 1) % obstacle.outline.size()])) {
                    const Point a = on_sheet(line->first), b = on_sheet(line->second);
                    placer_.block(a, b);
                    sheet().primitives.emplace_back(Line{a, b, Layer::plan, false, {}});
                    obstacles_ = true;
                }
        for (const Obstacle &obstacle : of.obstacles) {
            Position middle;
            for (const Position &corner : obstacle.outline) {
                middle.x_m += corner.x_m / static_cast<double>(obstacle.outline.size());
                middle.y_m += corner.y_m / static_cast<double>(obstacle.outline.size());
            }
            if (part_.left <= middle.x_m && middle.x_m < part_.right && part_.bottom <= middle.y_m &&
                middle.y_m < part_.top)
                name_in_the_middle(on_sheet(middle), obstacle.name, small_text_mm);
        }
    }

    void name_in_the_middle(Point middle, std::string name, double height_mm) {
        middle_names_.push_back({{middle.x_mm, middle.y_mm, middle.x_mm, middle.y_mm}, std::move(name), height_mm});
    }

    // Where a part borders on others, dashed: on all sides, or on those to the right and below.
    void cut_edges(const FloorPart &part, bool all_sides) {
        const FloorPart all = floor_around(area_);
        const Box box = on_sheet(part);
        const auto edge = [&](bool cut, Point a, Point b) {
            if (!cut)
                return;
            placer_.block(a, b);
            sheet().primitives.emplace_back(Line{a, b, Layer::plan, true, {}});
        };
        edge(part.right < all.right, {box.right, box.bottom}, {box.right, box.top});
        edge(part.bottom > all.bottom, {box.left, box.bottom}, {box.right, box.bottom});
        edge(all_sides && part.left > all.left, {box.left, box.bottom}, {box.left, box.top});
        edge(all_sides && part.top < all.top, {box.left, box.top}, {box.right, box.top});
    }

    void outline(const Area &area, const std::string &zones, bool inner) {
        Box seen{1e9, 1e9, -1e9, -1e9};
        for (std::size_t i = 0; i < area.outline.size(); ++i)
            if (const auto line = inside(part_, area.outline[i], area.outline[(i + 1) % area.outline.size()])) {
                const Point a = on_sheet(line->first), b = on_sheet(line->second);
                placer_.block(a, b);
                seen.include(a);
                seen.include(b);
                if (!whole_area())
                    sheet().primitives.emplace_back(Line{a, b, Layer::plan, inner, {}});
            }
        if (whole_area()) {
            Polyline line{{}, true, Layer::plan, inner};
            for (const Position &corner : area.outline)
                line.points.push_back(on_sheet(corner));
            sheet().primitives.emplace_back(std::move(line));
        }
        if (seen.left > seen.right)
            return;
        const double across = (seen.left + seen.right) / 2;
        if (inner)
            name_in_the_middle({across, (seen.bottom + seen.top) / 2}, area.name, normal_text_mm);
        if (!zones.empty())
            name_in_the_middle({across, seen.top}, zones, small_text_mm);
        zones_ |= !zones.empty();
    }

    // A thing on the border of two parts stands in the one to the right and above; beyond the last there is none.
    bool is_here(Position at) const {
        const FloorPart all = floor_around(area_);
        const auto between = [](double value, double low, double high, double least, double most) {
            return (value >= low || low <= least) && (value < high || high >= most);
        };
        return between(at.x_m, part_.left, part_.right, all.left, all.right) &&
               between(at.y_m, part_.bottom, part_.top, all.bottom, all.top);
    }

    void add(std::string symbol, std::string name, Position at, std::string isolator = "", std::string letters = "") {
        if (is_here(at))
            items_.push_back(
                {std::move(symbol), std::move(name), std::move(isolator), std::move(letters), on_sheet(at)});
    }

    void symbols(const PlanReach &reach) {
        for (const Machine &machine : description_.machines())
            if (machine.area == id_) {
                if (machine.at)
                    add(machine.isolator.empty() ? "PLAN_MACHINE" : "PLAN_MACHINE_WITH_ISOLATOR", machine.name,
                        *machine.at, machine.isolator, reach.letters(machine.name));
                else
                    placeless_.push_back(machine.name);
            }
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
            if (stop.area == id_) {
                if (const auto at = description_.place_of(stop))
                    add("PLAN_STOP", stop.name, *at, "", reach.letter(stop.name));
                else
                    placeless_.push_back(stop.name);
            }
        for (Item &item : items_) {
            move_aside(item);
            Insert insert{
                item.symbol, item.at, {{"NAME", item.name}}, item.symbol == "PLAN_STOP" ? Layer::stops : Layer::plan};
            if (!item.isolator.empty())
                insert.attributes.emplace("ISOLATOR", item.isolator);
            if (!item.letters.empty())
                insert.attributes.emplace("REACH", item.letters);
            sheet().inserts.push_back(std::move(insert));
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
                    (!aside || (around(item).within(region_) && placer_.clear(belongs, foot)))) {
                    if (aside) {
                        sheet().primitives.emplace_back(Circle{belongs, 0.4, Layer::plan, true});
                        sheet().primitives.emplace_back(Line{belongs, foot, Layer::plan, false, {}});
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
                ring.push_back(
                    {rounded(belongs.x_mm + out * std::cos(turn)), rounded(belongs.y_mm + out * std::sin(turn))});
            }
        }
        item.at = belongs; // no room anywhere near
        ++plan_.crowded;
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
        for (const Item &item : items_) {
            const std::string letters = item.letters.empty() ? "" : " [" + item.letters + "]";
            if (style_.numbers && item.symbol.starts_with("PLAN_MACHINE"))
                label(around(item), std::to_string(style_.numbers->at(item.name)) + letters, small_text_mm,
                      Layer::designations);
            else
                label(around(item), item.name + (item.isolator.empty() ? "" : " (" + item.isolator + ")") + letters,
                      small_text_mm, item.symbol == "PLAN_STOP" ? Layer::stops : Layer::designations);
            letters_ |= !letters.empty();
        }
        for (const auto &[middle, name, height_mm] : middle_names_)
            label(middle, name, height_mm, Layer::plan);
    }

    void label(const Box &where, const std::string &words, double height, Layer layer) {
        auto placed = placer_.place(where, words, height, layer);
        if (!placed)
            placed = placer_.place(where, fitted(words, height, short_name_mm), height, layer);
        plan_.crowded += !placed || placed->over_symbols || placed->text.text != words;
        if (!placed) {
            plan_.unnamed.push_back(words);
            return;
        }
        sheet().primitives.emplace_back(placed->text);
        if (placed->leader)
            sheet().primitives.emplace_back(*placed->leader);
    }

    void scale_bar() {
        constexpr std::array<double, 12> lengths_m{0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000};
        double length_m = lengths_m.front();
        for (const double candidate : lengths_m)
            if (candidate * mm_per_m_ <= 60)
                length_m = candidate;
        const double x = content_left_mm + 5, y = content_bottom_mm + 5, length = length_m * mm_per_m_;
        SheetPen(sheet(), Layer::plan)
            .box({x, y, x + length / 2, y + 1.5})
            .box({x + length / 2, y, x + length, y + 1.5})
            .text({x, y - 3.5}, small_text_mm, "0", Align::centre)
            .text({x + length, y - 3.5}, small_text_mm, format_fixed(length_m, 1) + " m", Align::centre);
    }

    void north() {
        if (!description_.north_deg())
            return;
        constexpr double long_mm = 4, head_mm = 1.5, letter_mm = 6;
        const double turn = *description_.north_deg() * 3.14159265358979 / 180;
        const Point middle{legend_left_mm - 12.5, content_bottom_mm + 5};
        const auto at = [&](double across, double along) {
            return Point{rounded(middle.x_mm + across * std::cos(turn) + along * std::sin(turn)),
                         rounded(middle.y_mm - across * std::sin(turn) + along * std::cos(turn))};
        };
        const Point letter = at(0, letter_mm);
        SheetPen(sheet(), Layer::plan)
            .line(at(0, -long_mm), at(0, long_mm))
            .line(at(-head_mm, long_mm - 2 * head_mm), at(0, long_mm))
            .line(at(head_mm, long_mm - 2 * head_mm), at(0, long_mm))
            .text({letter.x_mm, letter.y_mm - small_text_mm / 2}, small_text_mm, "N", Align::centre);
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
        double x = legend_left_mm;
        SheetPen pen(sheet(), Layer::plan);
        for (const auto &[symbol, words] : entries) {
            if (std::ranges::find(items_, symbol, &Item::symbol) == items_.end())
                continue;
            sheet().inserts.push_back({std::string(symbol), {x, content_bottom_mm + 5}, {{"NAME", ""}}, Layer::plan});
            pen.text({x + 4, content_bottom_mm + 5 - small_text_mm / 2}, small_text_mm, std::string(words));
            x += up_to_grid(text_width_mm(words, small_text_mm) + 11);
        }
    }

    void notes(const std::string &note) {
        std::string words = note;
        const auto say = [&](std::string_view more) { words += (words.empty() ? "" : " ") + std::string(more); };
        if (letters_)
            say("A stop cuts the machines that bear its letter [A].");
        if (moved_)
            say("A line leads from a symbol that had to move aside to its place.");
        if (style_.numbers)
            say("Numbers: see the list of machines.");
        if (zones_)
            say("An outline bounds the zones named at its upper edge.");
        if (obstacles_)
            say("Solid shapes within the outline are obstacles.");
        if (!placeless_.empty())
            say("Without a place, so not drawn: " + listed_in_short(placeless_) + ".");
        double y = content_bottom_mm - 1.5;
        for (std::string &line : wrapped(words, small_text_mm, beside_title_right_mm - legend_left_mm)) {
            SheetPen(sheet(), Layer::plan).text({legend_left_mm, y}, small_text_mm, std::move(line));
            y -= small_line_mm;
        }
    }

    const Description &description_;
    AreaId id_;
    const Area &area_;
    const FloorPart part_;
    const PlanStyle style_;
    const Box region_;
    int scale_;
    double mm_per_m_;
    Point origin_;
    LabelPlacer placer_;
    AreaPlan plan_;
    std::vector<Item> items_;
    struct MiddleName {
        Box middle;
        std::string name;
        double height_mm;
    };
    std::vector<MiddleName> middle_names_; ///< of inner areas, obstacles, parts
    std::vector<std::string> placeless_;
    bool moved_ = false; ///< some symbol stands beside its place
    bool obstacles_ = false, letters_ = false, zones_ = false;
};

std::pair<double, double> room(bool whole) {
    const Box &region = whole ? whole_sheet : beside_list;
    return {region.right - region.left - 2 * margin_mm, region.top - region.bottom - 2 * margin_mm};
}

} // namespace

FloorPart floor_around(const Area &area) {
    const Position first = area.outline.front();
    FloorPart part{first.x_m, first.y_m, first.x_m, first.y_m};
    for (const Position &corner : area.outline)
        part.include(Point{corner.x_m, corner.y_m});
    return part;
}

int plan_scale(double width_m, double height_m, bool whole) {
    const auto [width, height] = room(whole);
    for (const int scale : scales)
        if (width_m * 1000 / scale <= width && height_m * 1000 / scale <= height)
            return scale;
    return scales.back();
}

int larger_plan_scale(int scale) {
    const auto here = std::lower_bound(scales.begin(), scales.end(), scale);
    return here == scales.begin() ? 0 : *std::prev(here);
}

std::pair<double, double> floor_on_a_sheet(int scale) {
    const auto [width, height] = room(true);
    return {width * scale / 1000, height * scale / 1000};
}

AreaPlan draw_area_plan(const Description &description, AreaId area, const FloorPart &part, const PlanStyle &style,
                        const PlanReach &reach, const std::string &note) {
    return Painter(description, area, part, style).draw(reach, note);
}

AreaPlan draw_division(const Description &description, AreaId area, const std::vector<FloorPart> &parts) {
    AreaPlan plan = Painter(description, area, floor_around(description[area]), {.whole_sheet = true}).divide(parts);
    plan.page.sheet.title += ": division";
    return plan;
}

} // namespace stopspan
