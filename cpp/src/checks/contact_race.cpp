#include "checks/machine_search.hpp"

#include "switching/every_order.hpp"

#include <algorithm>

namespace stopspan {

namespace {

std::vector<RaceSeen> of_armatures(const Compiled &circuit, const Settled &settled) {
    std::set<std::string> names;
    for (const std::uint32_t armature : settled.moved)
        names.insert(circuit.device_names[circuit.armatures[armature].device]);
    std::vector<RaceSeen> found;
    if (settled.race)
        found.push_back({"contact-race", names, {}});
    if (settled.chatter)
        found.push_back({"chatter", names, {}});
    return found;
}

} // namespace

Status RaceSeen::status() const {
    return excused ? Status::note : subject().empty() ? Status::undecided : Status::fails;
}

std::string RaceSeen::subject() const {
    std::string all = dwells;
    for (const std::string &name : what)
        all += (all.empty() ? "" : " ") + name;
    return all;
}

std::string RaceSeen::ends_in() const {
    return rule == "chatter" ? subject() + " never comes to rest"
           : dwells.empty()  ? "it depends on which of " + subject() + " moves first"
                             : "moved fast it ends otherwise";
}

std::vector<RaceSeen> RaceWatch::see(const Exploration::Transition &t) {
    std::vector<RaceSeen> found = of_armatures(exploration_.cone().circuit, t.settled);
    // A change-over contact that moves fast or dwells between its ends: the same press must lead to the same end. What
    // a coil in its band does by itself is no matter of timing.
    const Act &act = exploration_.acts()[t.act];
    if ((act.kind == ActKind::press || act.kind == ActKind::release) &&
        exploration_.cone().actors[act.variable].changes_over) {
        const auto key = std::tuple{t.from, act.variable, act.kind};
        if (!act.slow)
            fast_[key] = t.settled.sure;
        else if (const auto fast = fast_.extract(key); !fast.empty() && dwelling_matters(fast.mapped(), t.settled.sure))
            found.push_back({"contact-race", differing(fast.mapped(), t.settled.sure),
                             exploration_.cone().actors[act.variable].designation});
    }
    // Outside the cone it is settled which of them move, so their order can be seen there only. What other machines
    // feed back into a line that is lost or behind a blown fuse makes nearly everything seem so.
    const auto healthy = [&](std::uint32_t node) {
        return supply_healthy(exploration_.cone().circuit, exploration_.nodes()[node].state);
    };
    if (t.settled.race_unknown || (act.slow && t.settled.unknown))
        found.push_back({.rule = "contact-race",
                         .what = {},
                         .dwells = {},
                         .fed_back = std::none_of(t.to.begin(), t.to.end(), healthy)});
    if (found.empty())
        return found;
    const auto two_held = [&](std::uint32_t node) { return exploration_.held(exploration_.nodes()[node].state) >= 2; };
    State settles = exploration_.nodes()[t.from].state; // what blows a fuse only then is no excuse
    if (act.variable != none && !act.to.empty())
        settles[act.variable] = act.to.back();
    for (RaceSeen &one : found)
        one.excused = two_held(t.from) || std::any_of(t.to.begin(), t.to.end(), two_held) ||
                      short_of_a_line(exploration_.cone().circuit, settles);
    return found;
}

std::vector<RaceSeen> RaceWatch::see_cold_start() const {
    return of_armatures(exploration_.cone().circuit, exploration_.cold_start());
}

// What takes other positions in some of these states than in those.
std::set<std::string> RaceWatch::differing(const std::vector<State> &these, const std::vector<State> &those) const {
    const Compiled &circuit = exploration_.cone().circuit;
    std::set<std::string> names, uncertain;
    for (std::uint32_t v = 0; v < circuit.variables.size(); ++v) {
        if (circuit.variables[v].kind == Variable::Kind::fault)
            continue;
        const auto positions = [&](const std::vector<State> &ends) {
            std::set<std::uint8_t> seen;
            for (const State &end : ends)
                seen.insert(end[v]);
            return seen;
        };
        const std::string &name = circuit.device_names[circuit.variables[v].device];
        if (positions(these) != positions(those))
            names.insert(name);
        if (positions(these).size() > 1)
            uncertain.insert(name);
    }
    return names.empty() ? uncertain : names;
}

// Of so many every order is soon tried.
constexpr std::size_t most_settled_singly = 6;

std::optional<OrdersOfMoving> every_order_of_moving(const Cone &cone) {
    if (cone.circuit.variables.size() <= small_circuit)
        return std::nullopt;
    const auto seen = see_every_order(cone);
    if (!seen)
        return std::nullopt;
    OrdersOfMoving found;
    if (seen->more_races)
        found.more.insert("contact-race");
    if (seen->more_chatter)
        found.more.insert("chatter");
    Settler settler(cone.circuit);
    for (const OrderSeen &one : seen->seen) {
        RaceSeen race{one.chatter ? "chatter" : "contact-race", {}, {}, one.excused};
        for (const std::uint32_t armature : one.armatures)
            race.what.insert(cone.circuit.device_names[cone.circuit.armatures[armature].device]);
        // Of those that move, the ones that go round without end are told.
        if (one.armatures.size() <= most_settled_singly)
            for (RaceSeen &exactly : of_armatures(cone.circuit, settler.settle(one.from)))
                if (exactly.rule == race.rule)
                    race.what = std::move(exactly.what);
        found.races.push_back({std::move(race), one.acts});
    }
    return found;
}

void judge_races(MachineSearch &search, const Exploration::Transition &t) {
    for (const RaceSeen &seen : search.races().see(t))
        if (seen.fed_back && !seen.excused)
            search.pass_over(seen.rule, seen.subject());
        else if (!seen.fed_back && (!seen.subject().empty() || !seen.excused))
            search.record(seen.rule, seen.subject(), seen.status(), t, seen.ends_in(), none, Mode::stopped,
                          seen.dwells.empty() ? 0 : 1);
}

} // namespace stopspan
