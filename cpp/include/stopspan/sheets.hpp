#pragma once

#include "stopspan/description.hpp"
#include "stopspan/drawing.hpp"
#include "stopspan/overload.hpp"
#include "stopspan/verdict.hpp"
#include "stopspan/wiring.hpp"

namespace stopspan {

/// Sheets of an installation: plan of each area, power and control circuit of each machine, circuit of each
/// zone, the matrix, the lists. A circuit alone (empty description) has no plans.
Drawing draw(const Description &description, const Wired &wired, const Verdict &verdict);

/// One sheet with the current through an overload and its heat over time, when it trips and can be reset.
Drawing draw(const OverloadReplay &replay, const std::string &title);

} // namespace stopspan
