#include "sheets/label_placer.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan {
namespace {

constexpr double gap_mm = 0.75, furthest_mm = 60;
constexpr double beside_mm = 2; // further away a name needs a line to what it names

} // namespace

// Clips the segment against the four sides (Liang and Barsky).
bool crosses(const Box &box, Point a, Point b) {
    double from = 0, to = 1;
    const double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm;
    const std::array<std::pair<double, double>, 4> sides{
        {{-dx, a.x_mm - box.left}, {dx, box.right - a.x_mm}, {-dy, a.y_mm - box.bottom}, {dy, box.top - a.y_mm}}};
    for (const auto &[p, q] : sides) {
        if (p == 0) {
            if (q <= 0)
                return false;
        } else if (p < 0) {
            from = std::max(from, q / p);
        } else {
            to = std::min(to, q / p);
        }
    }
    return from < to;
}

bool LabelPlacer::free(const Box &box) const {
    return box.within(region_) &&
           std::none_of(boxes_.begin(), boxes_.end(), [&](const Box &other) { return other.overlaps(box); }) &&
           std::none_of(lines_.begin(), lines_.end(),
                        [&](const auto &line) { return crosses(box, line.first, line.second); });
}

bool LabelPlacer::open(const Box &box) const {
    return std::none_of(boxes_.begin(), boxes_.end(), [&](const Box &other) { return other.overlaps(box); });
}

bool LabelPlacer::clear(Point a, Point b) const {
    return std::none_of(boxes_.begin(), boxes_.end(), [&](const Box &box) {
        const bool begins_there =
            box.left <= a.x_mm && a.x_mm <= box.right && box.bottom <= a.y_mm && a.y_mm <= box.top;
        return !begins_there && crosses(box, a, b);
    });
}

std::optional<LabelPlacer::Label> LabelPlacer::place(const Box &around, const std::string &words, double height_mm,
                                                     Layer layer) {
    for (const bool over_symbols : {false, true}) // a leader over a neighbour rather than no name
        if (auto label = search(around, words, height_mm, layer, over_symbols))
            return label;
    return std::nullopt;
}

std::optional<LabelPlacer::Label> LabelPlacer::search(const Box &around, const std::string &words, double height_mm,
                                                      Layer layer, bool leader_over_symbols) {
    const double width = text_width_mm(words, height_mm);
    const Point middle{(around.left + around.right) / 2, (around.bottom + around.top) / 2};
    for (double away = gap_mm; away < furthest_mm; away += away < 5 ? grid_mm : 2 * grid_mm) {
        const bool of_a_point = around.left == around.right && around.bottom == around.top;
        const Point centred{middle.x_mm - width / 2, middle.y_mm - height_mm / 2}; // over nothing but that point
        const std::array<Point, 9> starts{{of_a_point ? centred : Point{around.right + away, centred.y_mm},
                                           {around.right + away, middle.y_mm - height_mm / 2},
                                           {around.left - away - width, middle.y_mm - height_mm / 2},
                                           {middle.x_mm - width / 2, around.top + away},
                                           {middle.x_mm - width / 2, around.bottom - away - height_mm},
                                           {around.right + away, around.top + away},
                                           {around.right + away, around.bottom - away - height_mm},
                                           {around.left - away - width, around.top + away},
                                           {around.left - away - width, around.bottom - away - height_mm}}};
        for (const Point start : starts) {
            // Beside the symbol on its left, the name ends there, however wide its letters turn out.
            const bool leftwards = start.x_mm + width <= around.left;
            const bool over = !leftwards && start.x_mm < around.left;
            const Text text{{start.x_mm + (leftwards ? width
                                           : over    ? width / 2
                                                     : 0),
                             start.y_mm},
                            height_mm,
                            words,
                            leftwards ? Align::right
                            : over    ? Align::centre
                                      : Align::left,
                            layer};
            Box box = text_box(text);
            box = {box.left - gap_mm / 2, box.bottom - gap_mm / 2, box.right + gap_mm / 2, box.top + gap_mm / 2};
            if (!free(box))
                continue;
            Label label{text, std::nullopt, leader_over_symbols};
            if (away > beside_mm) {
                label.leader = leader(around, middle, box, layer);
                if (!may_lead(*label.leader, around, leader_over_symbols))
                    continue;
                lines_.emplace_back(label.leader->a, label.leader->b);
            }
            boxes_.push_back(box);
            names_.push_back(box);
            return label;
        }
    }
    return std::nullopt;
}

Line LabelPlacer::leader(const Box &around, Point middle, const Box &text, Layer layer) {
    const Point end{std::clamp(middle.x_mm, text.left, text.right), std::clamp(middle.y_mm, text.bottom, text.top)};
    const double dx = end.x_mm - middle.x_mm, dy = end.y_mm - middle.y_mm;
    // From where it leaves the symbol, a little outside.
    const double across = dx == 0 ? 1 : ((around.right - around.left) / 2 + gap_mm / 2) / std::abs(dx);
    const double up = dy == 0 ? 1 : ((around.top - around.bottom) / 2 + gap_mm / 2) / std::abs(dy);
    const double out = std::min({across, up, 1.0});
    return {{middle.x_mm + dx * out, middle.y_mm + dy * out}, end, layer, false, {}};
}

bool LabelPlacer::may_lead(const Line &line, const Box &around, bool over_symbols) const {
    const auto hit = [&](const Box &box) { return crosses(box, line.a, line.b); };
    if (std::any_of(names_.begin(), names_.end(), hit))
        return false;
    return over_symbols || std::none_of(boxes_.begin(), boxes_.end(),
                                        [&](const Box &box) { return !box.overlaps(around) && hit(box); });
}

} // namespace stopspan
