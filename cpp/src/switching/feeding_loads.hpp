#pragma once

#include "circuit/compiled.hpp"

#include <vector>

namespace stopspan {

/// What a net is to the control circuits that contacts, power poles left out, join there.
enum class Place : std::uint8_t {
    root,  ///< a source or a power pole stands there: no circuit leads through it
    rail,  ///< many circuits hang on it
    inner, ///< any other
};

/// Loads that may feed a rail, as its contacts do.
struct FeedingLoads {
    std::vector<std::uint8_t> feeds;     ///< per load
    std::vector<std::uint8_t> in_pocket; ///< per inner net: such a load hangs there, on what leads to one rail at least
    std::vector<std::uint32_t> nets;     ///< that such loads end on, roots left out
};

/// Mostly all that hangs on a rail returns to one and the same net: it takes current from the rail and can give it
/// none. A load that leads elsewhere may, and in what hangs on the rail besides it then finds its return.
FeedingLoads feeding_loads(const Compiled &circuit, const std::vector<Place> &places);

} // namespace stopspan
