#pragma once

#include "stopspan/description.hpp"

#include <boost/geometry.hpp>
#include <boost/geometry/geometries/linestring.hpp>
#include <boost/geometry/geometries/multi_polygon.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/polygon.hpp>
#include <boost/geometry/geometries/segment.hpp>

#include <algorithm>
#include <span>

/// Outlines in the types of the geometry library.
namespace stopspan {

namespace geometry = boost::geometry;
using Place2d = geometry::model::d2::point_xy<double>;
inline constexpr bool clockwise = true, repeats_first = false;
using Polygon = geometry::model::polygon<Place2d, clockwise, repeats_first>;
using Polygons = geometry::model::multi_polygon<Polygon>;
using Segment = geometry::model::segment<Place2d>;

inline Place2d to_place(Position at) {
    return {at.x_m, at.y_m};
}

/// Either sense of going round is fine for people; the library wants one.
inline Polygon to_polygon(std::span<const Position> outline) {
    Polygon polygon;
    for (const Position &corner : outline)
        polygon.outer().push_back(to_place(corner));
    geometry::correct(polygon);
    return polygon;
}

/// The place on a side that is nearest to a place.
inline Place2d nearest_on(const Segment &side, const Place2d &place) {
    const double dx = side.second.x() - side.first.x(), dy = side.second.y() - side.first.y();
    const double length2 = dx * dx + dy * dy;
    const double along = ((place.x() - side.first.x()) * dx + (place.y() - side.first.y()) * dy) / length2;
    const double share = length2 > 0 ? std::clamp(along, 0.0, 1.0) : 0;
    return {side.first.x() + share * dx, side.first.y() + share * dy};
}

/// With its border moved outwards, inwards where the distance is negative; corners stay corners.
template <class Shape>
Polygons widened(const Shape &shape, double by_m) {
    namespace buffer = geometry::strategy::buffer;
    Polygons wider;
    geometry::buffer(shape, wider, buffer::distance_symmetric<double>(by_m), buffer::side_straight(),
                     buffer::join_miter(), buffer::end_flat(), buffer::point_square());
    return wider;
}

} // namespace stopspan
