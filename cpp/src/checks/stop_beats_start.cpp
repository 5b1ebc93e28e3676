#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {

// With a stop active nothing that starts, resets, jogs, tests or selects starts the machine, and nothing keeps it
// running only as long as it is held.
void judge_stop_beats_start(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    if ((act.kind != ActKind::press && act.kind != ActKind::release) ||
        search.cone().circuit.variables[act.variable].kind != Variable::Kind::actuator ||
        search.cone().actors[act.variable].role == Role::stop)
        return;
    const Context &context = search.context();
    const State &state = search.state(t.from);
    const Glimpse before = search.glimpse(t.from);
    std::size_t off = 0, on = 0, uncertain = 0;
    for (const std::uint32_t end : t.to) {
        const Tri after = search.glimpse(end).runs;
        off += after == Tri::off;
        on += after == Tri::on;
        uncertain += after == Tri::maybe;
    }
    const bool starts = before.runs == Tri::off && on + uncertain > 0;
    const std::size_t unchanged = before.runs == Tri::off ? off : before.runs == Tri::on ? on : uncertain;
    const bool ran_while_held = act.kind == ActKind::release &&
                                search.exploration().is_momentary_variable(act.variable) && before.runs != Tri::off &&
                                unchanged < t.to.size();
    if (!starts && !ran_while_held)
        return;
    const std::string &machine = search.machine().name;
    const bool surely = starts ? on == t.to.size() : before.runs == Tri::on && off == t.to.size();
    const bool by_itself = !surely && search.drifts(t.from); // it may start or stop without this act
    const Status status = surely ? Status::fails : Status::maybe;
    const std::string ends_in = machine + (starts   ? surely ? " runs" : " may run"
                                           : surely ? " ran until the device was let go"
                                                    : " may have run because the device was held");
    if (!by_itself)
        search.saw_beaten(status, t, ends_in, starts ? 0 : 1);
    for (std::uint32_t v = 0; v < state.size(); ++v) {
        if (state[v] == 0 || search.cone().circuit.variables[v].kind != Variable::Kind::actuator)
            continue;
        for (const std::uint32_t member : search.cone().members[v]) {
            if (context.stop_of[member] == none)
                continue;
            const std::string &stop = context.stops[context.stop_of[member]].name;
            if (asked_of(search.machine().asked, context.stop_of[member]) != Asked::cut)
                continue;
            if (by_itself)
                search.pass_over("stop-beats-start", stop);
            else
                search.record("stop-beats-start", stop, status, t, ends_in, member, Mode::stopped, starts ? 0 : 1);
        }
    }
}

} // namespace stopspan
