#pragma once

#include "stopspan/description.hpp"

namespace stopspan::wiring {

/// Which stop devices stand in which chain, and which zones act on which machine.
struct Plan {
    struct ZonePlan {
        std::vector<StopId> chain;       ///< those of outer zones that act through it first, then its own
        std::vector<MachineId> machines; ///< that it acts on itself
    };
    std::vector<ZonePlan> zones;
    /// Zones that act on a machine themselves. One that also acts through another of them is left out: its devices
    /// already stand in that one's chain.
    std::vector<std::vector<ZoneId>> zones_of;
    std::vector<std::vector<StopId>> stops_on; ///< stop devices that stand on a machine
};

Plan make_plan(const Description &description);

/// Stop devices that can reach a machine: on it and in the chains of its zones.
std::vector<StopId> stops_for(const Plan &plan, MachineId machine);

} // namespace stopspan::wiring
