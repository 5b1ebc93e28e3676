#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {

// The trip of an overload takes power off the motor whose current it carries.
void judge_overload_cuts(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    if (act.variable == none || (act.kind != ActKind::trip && act.kind != ActKind::press))
        return;
    const Context &context = search.context();
    const auto &overloads = search.machine().overloads;
    for (const std::uint32_t member : search.members(act)) {
        if (context.compiled.variables[member].kind != Variable::Kind::overload ||
            std::find(overloads.begin(), overloads.end(), member) == overloads.end())
            continue;
        const Glimpse before = search.glimpse(t.from);
        if (before.runs == Tri::off || search.start_held(search.state(t.from)))
            continue;
        // Does it carry the current in this way of running?
        State state = search.state(t.from);
        Network &network = search.exploration().settler().network();
        network.evaluate(state);
        bool carries = false;
        for (const std::uint32_t i : search.machine().reach.switches) {
            const Switch &pole = context.compiled.switches[i];
            if (pole.device != context.compiled.variables[member].device || !pole.pole)
                continue;
            const std::uint32_t net = search.cone().net_of[pole.a];
            if (net == none || !network.pole_potential(net))
                continue;
            for (const MotorSeen &motor : search.cone().circuit.motors)
                if (motor.machine == search.machine().index)
                    for (const std::uint32_t terminal : motor.nets)
                        carries |= network.joined(net, terminal);
        }
        if (!carries)
            continue;
        std::size_t running = 0, uncertain = 0;
        for (const std::uint32_t end : t.to) {
            const Glimpse after = search.glimpse(end);
            running += after.runs == Tri::on || after.fed == StillFed::through_contactor;
            uncertain += after.runs == Tri::maybe;
        }
        if (running + uncertain == 0)
            continue;
        const bool surely = running == t.to.size();
        search.record("overload-cuts", context.name(member), surely ? Status::fails : Status::maybe, t,
                      search.machine().name + (surely ? " runs" : " may run"), member, before.mode);
    }
}

} // namespace stopspan
