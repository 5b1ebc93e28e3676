#pragma once

#include "checks/alike_machines.hpp"

#include <compare>
#include <optional>

namespace stopspan {

/// Where a fault is, told without names: faults of one place in machines wired alike do the same.
struct FaultPlace {
    Fault::Kind kind;
    std::uint32_t variable, a, b; ///< as the surroundings number them; or none
    std::string end_of_wire = {}; ///< what else tells it from others there
    auto operator<=>(const FaultPlace &) const = default;
};

/// @returns nothing where some of it is not around the machine, or not told from others
std::optional<FaultPlace> place_of(const Fault &fault, const Context &context, const MachineSurroundings &around);

} // namespace stopspan
