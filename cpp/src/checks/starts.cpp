#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {

std::string_view start_rule_of(const MachineSearch &search, const Act &act, std::uint32_t member) {
    if (act.variable == none)
        return "power-return";
    if (act.kind == ActKind::fail)
        return "own-start";
    const Context &context = search.context();
    switch (context.compiled.variables[member].kind) {
    case Variable::Kind::source:
        return act.kind == ActKind::restore ? "power-return" : "own-start";
    case Variable::Kind::overload:
    case Variable::Kind::fuse:
    case Variable::Kind::isolator: {
        const bool closing = act.kind == ActKind::release || act.kind == ActKind::cool || act.kind == ActKind::reset ||
                             act.kind == ActKind::close || act.kind == ActKind::replace;
        return closing ? "trip-return" : "own-start";
    }
    case Variable::Kind::actuator:
        if (context.actors[member].role == Role::stop)
            return act.kind == ActKind::release ? "release-return" : "own-start";
        if (context.actors[member].role == Role::reset)
            return "release-return";
        return "own-start";
    default:
        return "own-start";
    }
}

// Starts: stopped before the act, running or perhaps running after it.
void judge_starts(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    if (search.glimpse(t.from).runs != Tri::off)
        return;
    std::size_t on = 0, uncertain = 0;
    for (const std::uint32_t end : t.to) {
        const Tri after = search.glimpse(end).runs;
        on += after == Tri::on;
        uncertain += after == Tri::maybe;
    }
    if (on + uncertain == 0)
        return;
    const Context &context = search.context();
    const std::string &machine = search.machine().name;
    const bool surely = on == t.to.size();
    const bool by_itself = !surely && search.drifts(t.from); // it may come to run without this act
    const auto judge = [&](std::uint32_t member, const std::string &subject) {
        if (member != none && search.machine().is_own_start(member))
            return;
        // In a row with a stop: with a line lost no fuse blows, too, and with a blown one no line is lost.
        if (member != none && context.compiled.variables[member].kind == Variable::Kind::fuse &&
            act.kind != ActKind::replace && act.kind != ActKind::blow &&
            !supply_healthy(search.cone().circuit, search.state(t.from)))
            return;
        const bool noted = search.momentary_held(search.state(t.from), act.variable);
        if (by_itself) {
            if (!noted)
                search.pass_over(std::string(start_rule_of(search, act, member)), subject);
            return;
        }
        search.record(std::string(start_rule_of(search, act, member)), subject,
                      noted    ? Status::note
                      : surely ? Status::fails
                               : Status::maybe,
                      t, machine + (surely ? " runs" : " may run"), member);
    };
    if (act.variable == none)
        judge(none, std::string(all_sources));
    else if (act.kind == ActKind::fail)
        judge(none, act.text);
    else if (search.cone().circuit.variables[act.variable].kind == Variable::Kind::source)
        judge(search.members(act)[0], act.text.substr(act.text.find(' ') + 1));
    else
        for (const std::uint32_t member : search.members(act))
            judge(member, context.name(member));
}

} // namespace stopspan
