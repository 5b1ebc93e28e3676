#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// In an in-line starter the held start button itself carries the motor past contactor and trip contact.
bool contactor_in(const MachineSearch &search, const State &state) {
    const Context &context = search.context();
    for (std::uint32_t v = 0; v < state.size(); ++v)
        if (state[v] != 0)
            for (const std::uint32_t member : search.cone().members[v]) {
                const std::uint32_t armature = context.lookup.armature_of[member];
                const auto &power = search.machine().power_armatures;
                if (armature != none && std::find(power.begin(), power.end(), armature) != power.end())
                    return true;
            }
    return false;
}

// Does the motor's current go through this overload?
bool carries(MachineSearch &search, std::uint32_t overload, State state) {
    const Context &context = search.context();
    Network &network = search.exploration().settler().network();
    network.evaluate(state);
    for (const std::uint32_t i : search.machine().reach.switches) {
        const Switch &pole = context.compiled.switches[i];
        if (pole.device != context.compiled.variables[overload].device || !pole.pole)
            continue;
        const std::uint32_t net = search.cone().net_of[pole.a];
        if (net == none || !network.pole_potential(net))
            continue;
        for (const MotorSeen &motor : search.cone().circuit.motors)
            if (motor.machine == search.machine().index)
                for (const std::uint32_t terminal : motor.nets)
                    if (network.joined(net, terminal))
                        return true;
    }
    return false;
}

} // namespace

// The trip of an overload takes power off the motor whose current it carries, in every way of running: with a start,
// jog button or pedal held, too.
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
        if (before.runs == Tri::off)
            continue;
        if (!carries(search, member, search.state(t.from)))
            continue;
        const bool held = search.start_held(search.state(t.from));
        std::size_t running = 0, uncertain = 0;
        for (const std::uint32_t end : t.to) {
            // A start held meanwhile may bring in another contactor, behind an overload of its own.
            if (held && (!contactor_in(search, search.state(end)) || !carries(search, member, search.state(end))))
                continue;
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
