#include "installation/outline.hpp"

#include "base/number_text.hpp"
#include "installation/limits.hpp"

#include <boost/geometry.hpp>
#include <boost/geometry/geometries/multi_polygon.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/polygon.hpp>

namespace stopspan {
namespace {

namespace geometry = boost::geometry;
using Place2d = geometry::model::d2::point_xy<double>;
constexpr bool clockwise = true, repeats_first = false;
using Polygon = geometry::model::polygon<Place2d, clockwise, repeats_first>;
using Polygons = geometry::model::multi_polygon<Polygon>;

// Either sense of going round is fine for people; the library wants one.
Polygon to_polygon(std::span<const Position> outline) {
    Polygon polygon;
    for (const Position &corner : outline)
        polygon.outer().emplace_back(corner.x_m, corner.y_m);
    geometry::correct(polygon);
    return polygon;
}

Polygons widened(const Polygon &polygon) {
    namespace buffer = geometry::strategy::buffer;
    Polygons wider;
    geometry::buffer(polygon, wider, buffer::distance_symmetric<double>(outline_tolerance_m), buffer::side_straight(),
                     buffer::join_miter(), buffer::end_flat(), buffer::point_square());
    return wider;
}

} // namespace

void check_outline(const std::string &object, std::span<const Position> outline) {
    for (const Position &corner : outline)
        check_position(object, corner);
    if (outline.size() < 3)
        throw Error(ErrorCode::bad_value, object + ": its outline has " + std::to_string(outline.size()) +
                                              " corners; give at least three, in metres, in order round the area");
    for (std::size_t i = 0; i < outline.size(); ++i)
        if (outline[i] == outline[(i + 1) % outline.size()])
            throw Error(ErrorCode::bad_value,
                        object + ": corner " + describe(outline[i]) +
                            " of its outline is given twice in a row; leave one away (the last side closes by itself)");
    geometry::validity_failure_type failure = geometry::no_failure;
    if (!geometry::is_valid(to_polygon(outline), failure))
        throw Error(ErrorCode::contradiction,
                    object + ": its outline crosses or touches itself; give the corners in order round the area");
}

bool is_inside(std::span<const Position> outline, Position at) {
    const Polygon polygon = to_polygon(outline);
    return geometry::distance(Place2d(at.x_m, at.y_m), polygon) <= outline_tolerance_m;
}

bool is_inside(std::span<const Position> outer, std::span<const Position> inner) {
    return geometry::covered_by(to_polygon(inner), widened(to_polygon(outer)));
}

} // namespace stopspan
