#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// What is joined, through contacts and loads, to sources of which none has an earthed pole: the first earth fault on
/// it closes no circuit, the second one joins the two places.
struct FloatingSupply {
    std::vector<std::uint32_t> sources; ///< indices into Compiled::sources
    std::vector<std::uint32_t> nets;    ///< its poles and its nets of control circuits, sorted
    bool monitored = false;             ///< an insulation monitor between it and earth notices the first fault
};
std::vector<FloatingSupply> floating_supplies(const Context &context);

} // namespace stopspan
