#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// Would the motor be fed with no start held, all else as it is? In an in-line starter the held button itself carries
// the motor past the contactor, and no trip can help that.
bool fed_past_hands(MachineSearch &search, State state) {
    for (std::uint32_t v = 0; v < state.size(); ++v)
        if (search.exploration().is_momentary_variable(v) && search.cone().actors[v].role != Role::stop)
            state[v] = 0;
    const Glimpse seen = search.glimpse(std::move(state));
    return seen.runs != Tri::off || seen.fed == StillFed::through_contactor;
}

// Does current of the motor go through this overload: is a terminal fed by no way past its poles? In the cone these are
// no contacts but one net with what they join.
bool carries(MachineSearch &search, std::uint32_t overload, State state) {
    const Context &context = search.context();
    const Cone &cone = search.cone();
    Network &network = search.exploration().settler().network();
    network.evaluate(state);
    const auto leads_on = [&](const Switch &contact) {
        if (contact.variable == none)
            return contact.closed_at != 0 && contact.device != context.compiled.variables[overload].device;
        for (std::uint32_t v = 0; v < cone.members.size(); ++v)
            if (const auto &members = cone.members[v];
                std::find(members.begin(), members.end(), contact.variable) != members.end())
                return (contact.closed_at >> state[v] & 1) != 0;
        return false;
    };
    const auto fed_past_it = [&](std::uint32_t terminal) {
        IndexSet seen;
        seen.insert(terminal);
        for (std::size_t k = 0; k < seen.size(); ++k) {
            if (context.relevance.is_pole_net(seen[k]))
                return true;
            for (const std::uint32_t i : context.lookup.switches_at[seen[k]])
                if (const Switch &contact = context.compiled.switches[i]; leads_on(contact))
                    seen.insert(contact.a == seen[k] ? contact.b : contact.a);
        }
        return false;
    };
    return std::any_of(search.machine().seeds.power.begin(), search.machine().seeds.power.end(),
                       [&](std::uint32_t terminal) {
                           const std::uint32_t net = cone.net_of[terminal];
                           return net != none && network.pole_potential(net) && !fed_past_it(terminal);
                       });
}

// A start after the trip: what a contact lets run that closes where it should open.
void judge_starts_tripped(MachineSearch &search, const Exploration::Transition &t) {
    const Context &context = search.context();
    const auto &overloads = search.machine().overloads;
    const auto &members = search.cone().members;
    const auto tripped = [&](std::uint32_t v, std::uint32_t node) { return search.state(node)[v] != 0; };
    for (std::uint32_t v = 0; v < members.size(); ++v) {
        if (members[v].empty() || context.compiled.variables[members[v][0]].kind != Variable::Kind::overload ||
            !tripped(v, t.from))
            continue;
        for (const std::uint32_t member : members[v]) {
            if (std::find(overloads.begin(), overloads.end(), member) == overloads.end() ||
                search.glimpse(t.from).runs != Tri::off)
                continue;
            std::size_t bad = 0, uncertain = 0;
            for (const std::uint32_t end : t.to) {
                const Tri runs = search.glimpse(end).runs;
                if (runs == Tri::off || !tripped(v, end) || !carries(search, member, search.state(end)) ||
                    (search.start_held(search.state(end)) && !fed_past_hands(search, search.state(end))))
                    continue;
                bad += runs == Tri::on;
                uncertain += runs == Tri::maybe;
            }
            if (bad + uncertain == 0)
                continue;
            const bool surely = bad == t.to.size();
            search.record("overload-cuts", context.name(member), surely ? Status::fails : Status::maybe, t,
                          search.machine().name + (surely ? " runs" : " may run"), none, Mode::stopped, 2);
        }
    }
}

} // namespace

// The trip of an overload takes power off the motor whose current it carries, in every way of running: with a start,
// jog button or pedal held, too.
void judge_overload_cuts(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    judge_starts_tripped(search, t);
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
        std::size_t bad = 0, running = 0, uncertain = 0;
        for (const std::uint32_t end : t.to) {
            // A start held meanwhile may bring in another contactor, behind an overload of its own.
            if (held && (!carries(search, member, search.state(end)) || !fed_past_hands(search, search.state(end))))
                continue;
            const Glimpse after = search.glimpse(end);
            bad += after.runs == Tri::on || after.fed == StillFed::through_contactor;
            running += after.runs == Tri::on;
            uncertain += after.runs == Tri::maybe;
        }
        if (bad + uncertain == 0)
            continue;
        const bool surely = bad == t.to.size();
        const int way = running + uncertain == 0 ? 1 : 0; // torque off, power on
        search.record("overload-cuts", context.name(member), surely ? Status::fails : Status::maybe, t,
                      search.machine().name + (way == 1 ? " stopped, its terminals still fed"
                                               : surely ? " runs"
                                                        : " may run"),
                      member, before.mode, way);
    }
}

} // namespace stopspan
