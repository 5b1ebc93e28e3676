#include "wiring/plan.hpp"

#include <algorithm>
#include <set>

namespace stopspan::wiring {
namespace {

template <class Id>
void add_once(std::vector<Id> &ids, Id id) {
    if (std::find(ids.begin(), ids.end(), id) == ids.end())
        ids.push_back(id);
}

} // namespace

Plan make_plan(const Description &description) {
    const auto zones = description.zones();
    const auto machines = description.machines();
    Plan plan;
    plan.zones.resize(zones.size());
    plan.zones_of.resize(machines.size());
    plan.stops_on.resize(machines.size());

    // A zone is added after those it acts through, so one pass gives all it reaches.
    std::vector<std::set<ZoneId>> reached(zones.size());
    for (std::size_t i = 0; i < zones.size(); ++i)
        for (const ZoneId inner : zones[i].zones) {
            reached[i].insert(inner);
            reached[i].insert(reached[inner.value].begin(), reached[inner.value].end());
        }
    for (std::size_t i = zones.size(); i-- > 0;) {
        for (const StopId device : zones[i].devices) {
            add_once(plan.zones[i].chain, device);
            for (const ZoneId inner : reached[i])
                add_once(plan.zones[inner.value].chain, device);
        }
    }

    std::vector<std::vector<ZoneId>> of_machine(machines.size()), of_area(description.areas().size());
    for (std::uint32_t i = 0; i < zones.size(); ++i) {
        for (const MachineId machine : zones[i].machines)
            of_machine[machine.value].push_back({i});
        for (const AreaId area : zones[i].areas)
            of_area[area.value].push_back({i});
    }
    for (std::uint32_t i = 0; i < machines.size(); ++i) {
        std::set<ZoneId> direct(of_machine[i].begin(), of_machine[i].end());
        for (std::optional<AreaId> area = machines[i].area; area; area = description[*area].within)
            direct.insert(of_area[area->value].begin(), of_area[area->value].end());
        for (const ZoneId zone : direct) {
            const auto &inner = reached[zone.value];
            if (std::any_of(direct.begin(), direct.end(), [&](ZoneId other) { return inner.contains(other); }))
                continue;
            plan.zones_of[i].push_back(zone);
            plan.zones[zone.value].machines.push_back({i});
        }
    }
    for (std::uint32_t i = 0; i < description.stops().size(); ++i)
        if (const auto machine = description.stops()[i].machine)
            plan.stops_on[machine->value].push_back({i});
    return plan;
}

std::vector<StopId> stops_for(const Plan &plan, MachineId machine) {
    std::vector<StopId> stops = plan.stops_on[machine.value];
    for (const ZoneId zone : plan.zones_of[machine.value])
        for (const StopId device : plan.zones[zone.value].chain)
            add_once(stops, device);
    return stops;
}

} // namespace stopspan::wiring
