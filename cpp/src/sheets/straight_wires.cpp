#include "sheets/straight_wires.hpp"

#include "sheets/symbols.hpp"

#include <cmath>
#include <map>
#include <set>

namespace stopspan {
namespace {

using GridPoint = std::pair<long, long>;

GridPoint place(Point p) {
    return {std::lround(p.x_mm * 1000), std::lround(p.y_mm * 1000)};
}

bool upright(const Line &line) {
    return line.a.x_mm == line.b.x_mm;
}

} // namespace

void join_straight_wires(Sheet &sheet) {
    std::set<GridPoint> points;
    for (const Insert &insert : sheet.inserts)
        for (const auto &[name, at] : symbol_shape(insert.symbol).symbol.connection_points)
            points.insert(place({insert.at.x_mm + at.x_mm, insert.at.y_mm + at.y_mm}));

    std::vector<Line> wires;
    std::vector<Primitive> rest;
    for (Primitive &primitive : sheet.primitives) {
        if (auto *line = std::get_if<Line>(&primitive); line && line->layer == Layer::wires)
            wires.push_back(std::move(*line));
        else
            rest.push_back(std::move(primitive));
    }
    std::map<GridPoint, std::vector<std::size_t>> meeting;
    for (std::size_t i = 0; i < wires.size(); ++i) {
        meeting[place(wires[i].a)].push_back(i);
        meeting[place(wires[i].b)].push_back(i);
    }
    std::vector<bool> gone(wires.size());
    for (auto &[where, ends] : meeting) {
        if (ends.size() != 2 || ends[0] == ends[1] || points.contains(where))
            continue;
        Line &kept = wires[ends[0]];
        Line &other = wires[ends[1]];
        if (kept.net != other.net || upright(kept) != upright(other))
            continue;
        const Point far = place(other.a) == where ? other.b : other.a;
        (place(kept.a) == where ? kept.a : kept.b) = far;
        gone[ends[1]] = true;
        for (std::size_t &end : meeting[place(far)])
            if (end == ends[1])
                end = ends[0];
    }
    for (std::size_t i = 0; i < wires.size(); ++i)
        if (!gone[i])
            rest.emplace_back(std::move(wires[i]));
    sheet.primitives = std::move(rest);
}

} // namespace stopspan
