#pragma once

#include "stopspan/description.hpp"

#include <memory>
#include <optional>
#include <span>

namespace stopspan {

/// A place on the floor of an area.
struct Spot {
    AreaId area;
    Position at;
};

/// The shortest ways to walk on the plan: inside an outermost area and everything that lies in it, round obstacles,
/// through the doors of rooms, by no gap narrower than somebody is wide. What lies beyond the outermost area is not on
/// the plan: no way leads there.
class Walks {
public:
    /// @param description  outlives this
    /// @param width_m  of somebody
    Walks(const Description &description, double width_m);
    ~Walks();

    struct Nearest {
        std::size_t index; ///< in `to`
        double distance_m;
    };
    /// Of several places the one with the shortest way; of equal ones the first. Nothing: no way leads to any.
    std::optional<Nearest> nearest(const Spot &from, std::span<const Spot> to);
    /// Can anybody walk up to it at all?
    bool accessible(const Spot &spot);

private:
    class Floor;
    Floor &floor_of(AreaId area);
    const Description &description_;
    double width_m_;
    std::vector<std::unique_ptr<Floor>> floors_; ///< per area; made when first asked for, of outermost ones
};

} // namespace stopspan
