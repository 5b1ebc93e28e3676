#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {

// Each stop alone, from every way of running with no start, reset, jog or test device held.
void judge_stop_cuts(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    if (act.kind != ActKind::press)
        return;
    const Context &context = search.context();
    if (!search.is_stop(act.variable))
        return;
    const Glimpse before = search.glimpse(t.from);
    if (before.runs == Tri::off || search.start_held(search.state(t.from), act.variable))
        return;

    for (const std::uint32_t member : search.members(act)) {
        if (context.stop_of[member] == none)
            continue;
        const StopSeen &stop = context.stops[context.stop_of[member]];
        std::size_t ends = 0, running = 0, fed = 0, uncertain = 0, unswitched = 0;
        const auto count = [&](const Glimpse &after) {
            ++ends;
            running += after.runs == Tri::on;
            uncertain += after.runs == Tri::maybe;
            fed += after.fed == StillFed::through_contactor;
            unswitched += after.fed == StillFed::unswitched;
        };
        bool command_stays = false;
        for (const std::uint32_t end : t.to) {
            if (stop.category == 0) {
                count(search.glimpse(end));
                continue;
            }
            command_stays |= search.has_drive() && search.glimpse(end).runs == Tri::on;
            for (const State &later : search.after_delays(search.state(end)))
                count(search.glimpse(later));
        }
        const std::string &machine = search.machine().name;
        // What it does is told for a healthy supply; what it must do is judged for every state.
        const bool healthy = supply_healthy(search.cone().circuit, search.state(t.from));
        const bool wanted = asked_of(search.machine().asked, context.stop_of[member]) == Asked::cut;
        if (healthy && running + fed + uncertain < ends)
            search.saw_cut(context.stop_of[member], t.from);
        // IEC 60204-1 9.2.2: in a category 1 stop the drive brings the machine to rest before its power goes.
        if (wanted && command_stays && running + fed == 0)
            search.record("stop-cuts", stop.name, Status::fails, t, machine + " runs", member, before.mode, 4);
        if (running + fed + uncertain == 0) {
            if (healthy)
                search.saw_stop(context.stop_of[member], before.mode, Found::cuts);
            if (unswitched > 0 && wanted)
                search.record("stop-cuts", stop.name, Status::note, t,
                              machine + " stopped, a terminal stays live through an unswitched pole", member,
                              before.mode, 2);
            continue;
        }
        const bool surely = running + fed == ends;
        if (healthy)
            search.saw_stop(context.stop_of[member], before.mode, surely ? Found::spares : Found::maybe);
        if (!wanted)
            continue;
        const int way = running + uncertain == 0 ? 1 : 0; // torque off, power on
        if (way == 0 && stop.category == 0)
            search.saw_run_on(stop.name, t, member);
        search.record("stop-cuts", stop.name, surely ? Status::fails : Status::maybe, t,
                      machine + (way == 1 ? " stopped, its terminals still fed"
                                 : surely ? " runs"
                                          : " may run"),
                      member, before.mode, way);
    }
}

} // namespace stopspan
