#include "installation/walking_ground.hpp"

#include "installation/outline.hpp"

#include <algorithm>
#include <utility>

namespace stopspan {
namespace {

// How far walls stand behind the borders they are for. The library moves borders on a grid of ten million lines to an
// outline's length, so on a large site they stand back further.
double aside_of(const Polygon &outline) {
    const auto span = [&](const auto &along) {
        double low = along(outline.outer().front()), high = low;
        for (const Place2d &corner : outline.outer()) {
            low = std::min(low, along(corner));
            high = std::max(high, along(corner));
        }
        return high - low;
    };
    return std::max(
        1e-4, 1e-6 * (span([](const Place2d &at) { return at.x(); }) + span([](const Place2d &at) { return at.y(); })));
}

void add_sides(const Polygons &shapes, std::vector<Segment> &sides) {
    const auto ring = [&](const auto &corners) {
        for (std::size_t i = 0; i < corners.size(); ++i)
            sides.emplace_back(corners[i], corners[(i + 1) % corners.size()]);
    };
    for (const Polygon &shape : shapes) {
        ring(shape.outer());
        for (const auto &inner : shape.inners())
            ring(inner);
    }
}

// How far a middle keeps off: a gap just as wide as somebody is still a way.
double off_m(double width_m) {
    return width_m / 2 - outline_tolerance_m / 2;
}

std::vector<Polygons> all_widened(const std::vector<Polygon> &shapes, double by_m) {
    std::vector<Polygons> wider;
    for (const Polygon &each : shapes)
        wider.push_back(widened(each, by_m));
    return wider;
}

// The ground lies to the right of its border, so where that turns left, a corner sticks out into it. Somebody's middle
// then is off both sides by half a width.
std::optional<WalkingGround::Stand> round_corner(const Place2d &before, const Place2d &corner, const Place2d &after,
                                                 double half_m) {
    const auto normal = [](const Place2d &from, const Place2d &to) {
        const double length_m = geometry::distance(from, to);
        return Place2d((to.y() - from.y()) / length_m, (from.x() - to.x()) / length_m);
    };
    const Place2d a = normal(before, corner), b = normal(corner, after);
    if (a.x() * b.y() - a.y() * b.x() <= 1e-9)
        return std::nullopt;
    constexpr double sharpest = 0.08; // needles are kept off by at most five widths
    const double share = half_m / std::max(sharpest, 1 + a.x() * b.x() + a.y() * b.y());
    return WalkingGround::Stand{corner, {corner.x() + share * (a.x() + b.x()), corner.y() + share * (a.y() + b.y())}};
}

} // namespace

WalkingGround::Walls::Walls(Polygons outline, const std::vector<Polygons> &blocked) : outside(std::move(outline)) {
    std::vector<Segment> all;
    add_sides(outside, all);
    for (const Polygons &each : blocked) {
        add_sides(each, all);
        inside.insert(inside.end(), each.begin(), each.end());
    }
    sides = decltype(sides)(all);
}

bool WalkingGround::Walls::leave_free(const Place2d &place) const {
    const auto holds = [&](const Polygon &shape) { return geometry::within(place, shape); };
    return std::any_of(outside.begin(), outside.end(), holds) && std::none_of(inside.begin(), inside.end(), holds);
}

WalkingGround::WalkingGround(const Polygon &outline, const std::vector<Polygon> &blocked, double width_m)
    : width_m_(width_m), aside_m_(std::min(aside_of(outline), off_m(width_m) / 2)),
      walls_(widened(outline, aside_m_), all_widened(blocked, -aside_m_)),
      off_walls_(widened(outline, aside_m_ - off_m(width_m)), all_widened(blocked, off_m(width_m) - aside_m_)) {
    const auto add_corners = [&](const auto &ring, bool ground_inside) {
        for (std::size_t i = 0, count = ring.size(); i < count; ++i) {
            const Place2d &before = ring[i], &corner = ring[(i + 1) % count], &after = ring[(i + 2) % count];
            const auto round = ground_inside ? round_corner(before, corner, after, off_m(width_m))
                                             : round_corner(after, corner, before, off_m(width_m));
            if (round && off_walls_.leave_free(round->middle))
                corners_.push_back(*round);
        }
    };
    add_corners(outline.outer(), true);
    for (const Polygon &each : blocked)
        add_corners(each.outer(), false);
}

std::optional<WalkingGround::Stand> WalkingGround::stand_at(const Place2d &place) const {
    if (off_walls_.leave_free(place))
        return Stand{place, place};
    const geometry::model::box<Place2d> around({place.x() - width_m_, place.y() - width_m_},
                                               {place.x() + width_m_, place.y() + width_m_});
    std::vector<Segment> near;
    off_walls_.sides.query(geometry::index::intersects(around), std::back_inserter(near));
    std::vector<Place2d> middles;
    for (std::size_t i = 0; i < near.size(); ++i) {
        middles.push_back(nearest_on(near[i], place));
        for (std::size_t j = 0; j < i; ++j)
            geometry::intersection(near[i], near[j], middles);
    }
    std::optional<Stand> nearest;
    double shortest_m = width_m_;
    for (const Place2d &wall : middles) {
        const double distance_m = geometry::distance(wall, place);
        if (distance_m > shortest_m)
            continue;
        // Off the wall on that side of it that is free.
        for (const auto &[dx, dy] : {std::pair{1, 1}, {1, -1}, {-1, 1}, {-1, -1}}) {
            const Place2d middle(wall.x() + 2 * aside_m_ * dx, wall.y() + 2 * aside_m_ * dy);
            // Places are rounded: the first bit of the way may lead out of a wall.
            const double share = std::min(1.0, 2 * outline_tolerance_m / std::max(distance_m, aside_m_));
            const Place2d off(place.x() + share * (middle.x() - place.x()),
                              place.y() + share * (middle.y() - place.y()));
            if (!off_walls_.leave_free(middle) || !walls_.leave_free(Segment(off, middle)))
                continue;
            shortest_m = distance_m;
            nearest = Stand{place, middle};
            break;
        }
    }
    return nearest;
}

std::optional<double> WalkingGround::straight_m(const Stand &from, const Stand &to) const {
    if (!off_walls_.leave_free(Segment(from.middle, to.middle)))
        return std::nullopt;
    if (walls_.leave_free(Segment(from.at, to.at)))
        return geometry::distance(from.at, to.at);
    return geometry::distance(from.at, from.middle) + geometry::distance(from.middle, to.middle) +
           geometry::distance(to.middle, to.at);
}

bool WalkingGround::cuts_short(const Stand &from, const Stand &by, const Stand &to) const {
    Polygon triangle;
    triangle.outer() = {from.at, by.at, to.at};
    geometry::correct(triangle);
    return walls_.leave_free(Segment(from.at, to.at)) && walls_.leave_free(triangle);
}

} // namespace stopspan
