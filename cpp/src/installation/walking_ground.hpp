#pragma once

#include "installation/polygons.hpp"

#include <boost/geometry/index/rtree.hpp>

#include <optional>
#include <vector>

namespace stopspan {

/// The floor inside one outline, without obstacles and rooms, for somebody of some width. A way is measured like a
/// thread drawn tight from corner to corner; where a way leads at all is decided for the middle of somebody who keeps
/// half that width off everything, so no gap is passed that is narrower, not even a slit left by rounding. Corners are
/// kept off as by the corner of a square: from one corner slantwise to another a gap must be up to 1.4 times as wide.
class WalkingGround {
public:
    /// @param blocked  obstacles and rooms; they may overlap each other and the outline
    WalkingGround(const Polygon &outline, const std::vector<Polygon> &blocked, double width_m);

    /// A place, and where somebody's middle is who is there.
    struct Stand {
        Place2d at, middle;
    };
    /// Corners that a way may bend at.
    const std::vector<Stand> &corners() const noexcept { return corners_; }
    /// For a place that somebody can stand at or touch: no further than `width_m` off, and nothing between.
    std::optional<Stand> stand_at(const Place2d &place) const;
    /// Length of the way straight from one to the other, if there is room for it.
    std::optional<double> straight_m(const Stand &from, const Stand &to) const;
    /// The way by a corner, given that it is one, may be cut short: nothing stands in between.
    bool cuts_short(const Stand &from, const Stand &by, const Stand &to) const;

private:
    /// What is kept out of, shape by shape: joining shapes that touch is beyond the library where they are rounded.
    struct Walls {
        Polygons outside, inside; ///< to be within one of these, and in none of these
        boost::geometry::index::rtree<Segment, boost::geometry::index::rstar<16>> sides;
        Walls(Polygons outline, const std::vector<Polygons> &blocked);
        bool leave_free(const Place2d &place) const;
        bool leave_free(const auto &shape) const {
            return sides.qbegin(boost::geometry::index::intersects(shape)) == sides.qend();
        }
    };

    double width_m_, aside_m_;
    Walls walls_, off_walls_; ///< of what somebody touches, and of their middle; a little behind the borders
    std::vector<Stand> corners_;
};

} // namespace stopspan
