#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/verdict.hpp"

#include <cstddef>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace stopspan::bench {

/// A finding that must be there: rule and subjects.
using Expected = std::pair<std::string, std::set<std::string>>;

/// The synthetic campus: areas of ten machines behind an isolator each, all on one mains.
struct Campus {
    Circuit circuit;
    std::vector<AskedCell> asked;
    std::set<Expected> mistakes; ///< what a check must find, and nothing else
};

/// Ten machines, eight stops, a fused zone contactor with key reset and an isolator for each area; four stops for the
/// site with a block in every area's chain; every machine direct-on-line with its own stop, start and overload.
/// @param machines       a multiple of ten
/// @param with_mistakes  one wiring mistake in the first of every ten areas, of five kinds in turn
Campus make_campus(std::size_t machines, bool with_mistakes);

} // namespace stopspan::bench
