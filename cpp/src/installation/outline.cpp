#include "installation/outline.hpp"

#include "base/number_text.hpp"
#include "installation/limits.hpp"
#include "installation/polygons.hpp"

namespace stopspan {

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

bool is_well_inside(std::span<const Position> outline, Position at) {
    const Polygon polygon = to_polygon(outline);
    geometry::model::linestring<Place2d> border(polygon.outer().begin(), polygon.outer().end());
    border.push_back(border.front());
    const Place2d place(at.x_m, at.y_m);
    return geometry::within(place, polygon) && geometry::distance(place, border) > outline_tolerance_m;
}

bool is_inside(std::span<const Position> outer, std::span<const Position> inner) {
    return geometry::covered_by(to_polygon(inner), widened(to_polygon(outer), outline_tolerance_m));
}

} // namespace stopspan
