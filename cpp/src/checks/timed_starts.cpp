#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// A contactor or relay that rode out the dip: what was started before it was never stopped.
bool ridden_out(const MachineSearch &search, const Act &act, const State &from) {
    const auto &armatures = search.cone().circuit.armatures;
    return act.kind == ActKind::restore && std::any_of(armatures.begin(), armatures.end(), [&](const Armature &one) {
               return one.timed == none && from[one.variable] != 0;
           });
}

bool is_own_start(const MachineSearch &search, const Act &act) {
    return act.kind == ActKind::press &&
           std::all_of(search.members(act).begin(), search.members(act).end(),
                       [&](std::uint32_t member) { return search.machine().is_own_start(member); });
}

} // namespace

// How timers come in: a start that one of them delays is still the start somebody gave.
void judge_timers(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    const State &from = search.state(t.from);
    for (const Armature &timer : search.cone().circuit.armatures) {
        if (timer.timed == none || timer.off_delay || std::none_of(t.to.begin(), t.to.end(), [&](std::uint32_t end) {
                return search.state(end)[timer.variable] != 0;
            }))
            continue;
        TimerSeen &seen = search.timers()[timer.timed];
        const bool stopping = act.kind == ActKind::press && search.is_stop(act.variable, true);
        if (from[timer.variable] != 0) {
            if (stopping) // the start outlives a stop
                seen.saw_by_itself(search, t, timer.variable);
        } else if (search.momentary_held(from, act.variable) || ridden_out(search, act, from))
            continue; // a note at most, or going on
        else if (act.kind == ActKind::elapse)
            seen.after.insert(act.variable);
        else if (act.variable == none || !is_own_start(search, act) || search.stop_actuated(from, true))
            seen.saw_by_itself(search, t, timer.variable);
    }
}

void TimerSeen::saw_by_itself(const MachineSearch &search, const Exploration::Transition &t, std::uint32_t timer) {
    constexpr std::size_t few = 8;
    by_itself = true;
    for (const std::uint32_t end : t.to)
        if (search.state(end)[timer] != 0 && ways.size() < few)
            ways.push_back({t.from, t.act, end});
}

std::set<std::uint32_t> commanded(std::map<std::uint32_t, TimerSeen> timers) {
    const auto idle = [&](const auto &entry) {
        return entry.second.by_itself || std::any_of(entry.second.after.begin(), entry.second.after.end(),
                                                     [&](std::uint32_t other) { return !timers.contains(other); });
    };
    while (std::erase_if(timers, idle) > 0)
        ;
    std::set<std::uint32_t> found;
    for (const auto &[timed, seen] : timers)
        found.insert(timed);
    return found;
}

} // namespace stopspan
