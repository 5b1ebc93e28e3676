#include "checks/repairs/trial.hpp"

#include "checks/facts.hpp"
#include "checks/judge.hpp"
#include "checks/machine_search.hpp"
#include "checks/proofs.hpp"
#include "checks/repairs/across.hpp"
#include "stopspan/error.hpp"
#include "stopspan/replay.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::size_t most_trial_work = 100'000; // in network_work(), to look at what works
// Of a small circuit, in which much hangs together.
constexpr std::size_t few_variables = 20, most_work_on_few = 500'000;
constexpr double overfed = 1.2;                 // of a coil's rated voltage
constexpr double fed_at_all = 0.05;             // of it: less is what leaks past an open contact
constexpr std::size_t most_delays_to_start = 4; // timers that run out one after the other before a machine starts

bool is_way_of_running(const MotorState &motor) {
    return motor.runs == Tri::on && motor.mode != Mode::single_phasing && motor.mode != Mode::other;
}

bool stop_actuated(const Context &context, const Cone &cone, const State &state) {
    for (std::uint32_t v = 0; v < state.size(); ++v)
        if (state[v] != 0 && std::any_of(cone.members[v].begin(), cone.members[v].end(),
                                         [&](std::uint32_t member) { return context.stop_of[member] != none; }))
            return true;
    return false;
}

// Nothing is lost, tripped or open, and no stop is actuated.
bool is_ordinary(const Context &context, const Cone &cone, const State &state) {
    for (std::uint32_t v = 0; v < state.size(); ++v) {
        const Variable::Kind kind = cone.circuit.variables[v].kind;
        if (state[v] != 0 && (kind == Variable::Kind::isolator || kind == Variable::Kind::overload))
            return false;
    }
    return supply_healthy(cone.circuit, state) && !stop_actuated(context, cone, state);
}

void see_lost(const Context &context, const MachineSeen &machine, const Cone &cone, const State &state,
              Behaviour &seen) {
    for (const Source &source : cone.circuit.sources)
        if (source.feed == Source::Feed::own && state[source.variable] == lost_mask(source))
            seen.runs_without.emplace(machine.name, context.compiled.device_names[source.device]);
}

void look_at(const Context &context, const MachineSeen &machine, const Cone &cone, bool own_starts_only,
             std::size_t end_of_work, Behaviour &seen) {
    Exploration exploration(cone);
    std::vector<std::optional<MotorState>> known;
    const auto ordinary = [&](const State &state) { return is_ordinary(context, cone, state); };
    const auto look = [&](std::uint32_t node) {
        if (known.size() <= node)
            known.resize(exploration.nodes().size());
        if (!known[node]) {
            State state = exploration.nodes()[node].state;
            for (const Armature &armature : cone.circuit.armatures)
                if (state[armature.variable] != 0)
                    seen.comes_in.insert(context.compiled.device_names[armature.device]);
            Network &network = exploration.settler().network();
            network.evaluate(state);
            for (std::uint32_t i = 0; i < cone.circuit.armatures.size(); ++i) {
                const auto ratio = network.coil_ratio(i);
                const std::string &name = context.compiled.device_names[cone.circuit.armatures[i].device];
                if (ratio.low > overfed)
                    seen.overfed.insert(name);
                if (ratio.high > fed_at_all)
                    seen.fed_coils.insert(name);
            }
            known[node] = observe_machine(cone.circuit, machine.index, state, network);
            if (known[node]->runs != Tri::off && !seen.may_run.contains(machine.name) && ordinary(state))
                seen.may_run.insert(machine.name);
            if (is_way_of_running(*known[node]) && exploration.held(state) == 0) {
                seen.runs.emplace(machine.name, known[node]->mode);
                see_lost(context, machine, cone, state, seen);
            }
        }
        return known[node]->runs;
    };
    const auto selectors = [&](std::uint32_t node) {
        std::map<std::string, std::uint8_t> positions;
        const State &state = exploration.nodes()[node].state;
        for (std::uint32_t v = 0; v < state.size(); ++v)
            for (const std::uint32_t member : cone.members[v])
                if (const ActorInfo &actor = context.actors[member];
                    actor.role == Role::select && actor.action == Action::maintained)
                    positions.emplace(actor.designation, state[v]);
        return positions;
    };
    const auto all = [&](const std::vector<std::uint32_t> &ends, Tri what) {
        return std::all_of(ends.begin(), ends.end(), [&](std::uint32_t end) { return look(end) == what; });
    };
    // Nodes a start leads to, and what letting it go and timers running out lead to from a node.
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> started;             // device, node -> from
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::vector<std::uint32_t>> let_go; // device, node
    std::map<std::uint32_t, std::vector<std::uint32_t>> elapsed;
    const auto see_start = [&](const Exploration::Transition &t, std::uint32_t member) {
        if (look(t.from) != Tri::off || (own_starts_only && !machine.is_own_start(member)))
            return;
        if (context.actors[member].role != Role::jog && exploration.held(exploration.nodes()[t.from].state) == 0)
            for (const std::uint32_t end : t.to)
                started.try_emplace({member, end}, t.from);
        if (all(t.to, Tri::on))
            seen.starts.insert(
                {context.name(member), machine.name, ordinary(exploration.nodes()[t.from].state), selectors(t.from)});
    };
    const auto see_cut = [&](const Exploration::Transition &t, std::uint32_t member) {
        const State &from = exploration.nodes()[t.from].state;
        if (look(t.from) != Tri::on || exploration.held(from) != 0)
            return;
        const Role role = context.actors[member].role;
        if (role == Role::start || role == Role::reset) {
            if (all(t.to, Tri::off))
                seen.disturbs.emplace(context.name(member), machine.name);
            return;
        }
        // What may run on because of what hangs outside the cone is cut in a way, too.
        const bool runs_on =
            std::any_of(t.to.begin(), t.to.end(), [&](std::uint32_t end) { return look(end) == Tri::on; });
        if (!runs_on && is_way_of_running(*known[t.from]) && ordinary(from))
            seen.has_cut.emplace(context.name(member), machine.name, known[t.from]->mode);
    };
    const auto cuts_or_starts = [&](std::uint32_t member) {
        const std::uint32_t stop = context.stop_of[member];
        const Role role = context.actors[member].role;
        return role == Role::start || role == Role::reset ||
               (stop != none && asked_of(machine.asked, stop) != Asked::keep) ||
               std::find(machine.overloads.begin(), machine.overloads.end(), member) != machine.overloads.end();
    };
    seen.complete &= exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        const Act &act = exploration.acts()[t.act];
        if (network_work() > end_of_work)
            exploration.stop();
        look(t.from);
        if (act.kind == ActKind::elapse) {
            elapsed.try_emplace(t.from, t.to);
        } else if (act.kind == ActKind::press || act.kind == ActKind::trip) {
            for (const std::uint32_t member : cone.members[act.variable]) {
                if (act.kind == ActKind::press)
                    see_start(t, member);
                if (cuts_or_starts(member))
                    see_cut(t, member);
            }
        } else if (act.kind == ActKind::release) {
            for (const std::uint32_t member : cone.members[act.variable])
                if (context.actors[member].role != Role::jog)
                    let_go.try_emplace({member, t.from}, t.to);
                else if (look(t.from) == Tri::on && all(t.to, Tri::on))
                    seen.run_on.emplace(context.name(member), machine.name);
        }
    });
    for (const auto &[pressed, from] : started) {
        const auto free = let_go.find(pressed);
        if (free == let_go.end())
            continue;
        std::vector<std::uint32_t> ends = free->second;
        for (std::size_t delays = 0; delays <= most_delays_to_start && !ends.empty(); ++delays) {
            if (all(ends, Tri::on)) {
                seen.taps.insert({context.name(pressed.first), machine.name, ordinary(exploration.nodes()[from].state),
                                  selectors(from)});
                break;
            }
            const auto next = elapsed.find(ends[0]);
            ends = next == elapsed.end() ? std::vector<std::uint32_t>() : next->second;
        }
    }
}

Cone cone_of(const Context &context, const Reach &reach) {
    return cut_cone(context.circuit, context.compiled, context.relevance, reach);
}

// Can it be on; of a kept one also whether with nothing the matter.
void see_load(const Context &context, const LoadSeen &load, Behaviour &seen) {
    const Seeds seeds{.nets = {load.a, load.b}, .power = {}, .loads = context.lookup.impedances_of[load.device]};
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance,
                               reach_of(context.compiled, context.relevance, seeds, Extent::feed));
    const auto inside = std::find_if(cone.circuit.loads.begin(), cone.circuit.loads.end(),
                                     [&](const LoadSeen &each) { return each.device == load.device; });
    if (inside == cone.circuit.loads.end())
        return;
    const std::string &name = context.compiled.device_names[load.device];
    Exploration exploration(cone);
    exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        State state = exploration.nodes()[t.from].state;
        const bool in_order = exploration.held(state) == 0 && is_ordinary(context, cone, state);
        if (seen.loads.contains(name) && !in_order)
            return; // nothing new
        exploration.settler().network().evaluate(state);
        if (observe(*inside, exploration.settler().network()) != Tri::on)
            return;
        seen.loads.insert(name);
        if (load.kept && in_order)
            seen.kept_on.insert(name);
        if (!load.kept || in_order)
            exploration.stop();
    });
}

// For what acts on no machine.
bool can_come_in(const Context &context, const Armature &armature) {
    const Seeds seeds{
        .nets = asking_nets(armature), .power = {}, .loads = context.lookup.impedances_of[armature.device]};
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance,
                               reach_of(context.compiled, context.relevance, seeds, Extent::feed));
    const auto inside = std::find_if(cone.circuit.armatures.begin(), cone.circuit.armatures.end(),
                                     [&](const Armature &each) { return each.device == armature.device; });
    if (inside == cone.circuit.armatures.end())
        return false;
    Exploration exploration(cone);
    bool in = false;
    exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        in = exploration.nodes()[t.from].state[inside->variable] != 0;
        if (in)
            exploration.stop();
    });
    return in;
}

template <class T>
bool includes(const std::set<T> &all, const std::set<T> &some) {
    return std::includes(all.begin(), all.end(), some.begin(), some.end());
}

// A selector that stands elsewhere now, or stood elsewhere, may be in any position.
bool stands_for(const Started &other, const Started &one) {
    return one.machine == other.machine && (other.ordinary || !one.ordinary) &&
           std::all_of(one.selectors.begin(), one.selectors.end(), [&](const auto &position) {
               const auto now = other.selectors.find(position.first);
               return now == other.selectors.end() || now->second == position.second;
           });
}

// Starts of before that are left, by the same device or as its own.
bool starts_left(const std::set<Started> &before, const std::set<Started> &after, const Behaviour &then,
                 const Behaviour &now) {
    const auto left = [&](const Started &one) {
        return std::any_of(after.begin(), after.end(),
                           [&](const Started &other) { return one.by == other.by && stands_for(other, one); });
    };
    const auto claimed_by_its_own = [&](const Started &one) {
        return !then.bridging.contains(one.by) && now.bridging.contains(one.by) &&
               !now.own_starts.contains({one.by, one.machine}) &&
               std::any_of(before.begin(), before.end(), [&](const Started &other) {
                   return other.by != one.by && now.own_starts.contains({other.by, other.machine}) &&
                          stands_for(other, one) && left(other);
               });
    };
    return std::all_of(before.begin(), before.end(),
                       [&](const Started &one) { return left(one) || claimed_by_its_own(one); });
}

bool starts(const Behaviour &seen, const MachineSeen &machine) {
    return std::any_of(seen.starts.begin(), seen.starts.end(),
                       [&](const Started &one) { return one.machine == machine.name; });
}

// A contact more in series can make the way past it longer than another one: then it stands outside of the nearest
// feed, and what it may do lets nothing be seen to start surely. All that is connected shows it.
void look_further(const Context &context, const std::vector<MachineSeen> &machines, const Behaviour &before,
                  Behaviour &seen) {
    const std::size_t end_of_work = network_work() + most_trial_work;
    for (const MachineSeen &machine : machines)
        if (seen.complete && starts(before, machine) && !starts(seen, machine) &&
            !cone_of(context, machine.reach).exact && is_small(context, machine))
            look_at(context, machine,
                    cone_of(context, reach_of(context.compiled, context.relevance, machine.seeds, Extent::everything)),
                    false, end_of_work, seen);
}

void see_dropped(const Context &context, const MachineSeen &machine, Behaviour &seen) {
    Structure structure = context.structure;
    for (const auto &[index, asked] : machine.asked) {
        if (asked != Asked::cut)
            continue;
        const StopSeen &stop = context.stops[index];
        structure.assume(stop.variable, Structure::acted);
        structure.let_fall(machine.reach.armatures, fed_supplies(context, machine));
        for (const std::uint32_t armature : machine.power_armatures)
            if (structure.is_out(armature)) {
                const std::string &name = context.compiled.device_names[context.compiled.armatures[armature].device];
                seen.drops.emplace(stop.name, name);
                if (stop.category == 1)
                    seen.drops_at_once.emplace(stop.name, name);
            }
        structure.forget();
    }
}

// Besides of what a machine does.
bool nothing_comes(const Behaviour &after, const Behaviour &before) {
    return before.complete && after.complete && includes(before.findings, after.findings) &&
           includes(after.comes_in, before.comes_in) && includes(after.loads, before.loads) &&
           includes(after.cuts, before.cuts) && includes(before.run_on, after.run_on) &&
           includes(before.overfed, after.overfed) && includes(before.disturbs, after.disturbs) &&
           includes(after.fed_coils, before.fed_coils) && includes(after.kept_on, before.kept_on) &&
           includes(before.across, after.across) && includes(after.drops, before.drops) &&
           includes(before.drops_at_once, after.drops_at_once);
}

// Through what joined two sources that must not be joined a machine may run on the wrong one.
bool parts_sources(const Behaviour &after, const Behaviour &before) {
    return std::any_of(before.findings.begin(), before.findings.end(), [&](const FindingKey &key) {
        return key.first == "one-origin" && !after.findings.contains(key);
    });
}

} // namespace

FindingKey key_of(const Finding &finding) {
    std::vector<std::string> subjects = finding.subjects;
    if (finding.rule == "isolator-clears" && subjects.size() > 2)
        subjects.resize(1); // the list of live nets may shrink
    std::sort(subjects.begin(), subjects.end());
    return {finding.rule, subjects};
}

std::set<FindingKey> open_findings(const Verdict &verdict) {
    std::set<FindingKey> keys;
    for (const Finding &finding : verdict.findings)
        if (finding.status != Status::note && finding.status != Status::waived)
            keys.insert(key_of(finding));
    return keys;
}

Behaviour behaviour_of(const Circuit &circuit, const CheckOptions &options, const Behaviour *before) {
    Behaviour seen;
    const Context context(circuit, options);
    const std::vector<MachineSeen> machines = machines_of(context);
    const std::size_t end_of_work =
        network_work() + (context.compiled.variables.size() <= few_variables ? most_work_on_few : most_trial_work);
    for (std::size_t m = 0; m < machines.size() && seen.complete; ++m)
        look_at(context, machines[m], cone_of(context, machines[m].reach), before == nullptr, end_of_work, seen);
    if (!seen.complete)
        return seen; // no need to know more
    for (const MachineSeen &machine : machines)
        see_dropped(context, machine, seen);
    for (const MachineSeen &machine : machines)
        for (const std::uint32_t variable : machine.own_starts)
            seen.own_starts.emplace(context.name(variable), machine.name);
    for (std::uint32_t v = 0; v < context.compiled.variables.size(); ++v)
        if (context.compiled.variables[v].kind == Variable::Kind::actuator && !context.bridged_by(v).empty())
            seen.bridging.insert(context.name(v));
    for (const Armature &armature : context.compiled.armatures)
        if (std::none_of(machines.begin(), machines.end(),
                         [&](const MachineSeen &machine) { return machine.reached_by(armature.variable); }) &&
            can_come_in(context, armature))
            seen.comes_in.insert(context.compiled.device_names[armature.device]);
    seen.fed_coils.insert(seen.comes_in.begin(), seen.comes_in.end());
    const Verdict verdict = judge(context, machines);
    seen.findings = open_findings(verdict);
    for (const MatrixCell &cell : verdict.matrix)
        if (cell.found == Found::cuts && cell.asked != Asked::keep)
            seen.cuts.emplace(cell.stop, cell.machine);
    for (const LoadSeen &load : context.compiled.loads)
        see_load(context, load, seen);
    seen.across = across_supplies(context);
    if (before && nothing_comes(seen, *before))
        look_further(context, machines, *before, seen);
    return seen;
}

std::size_t in_order(const Behaviour &after, const Behaviour &before) {
    std::set<std::string> ran, machines;
    for (const auto &[machine, mode] : before.runs)
        ran.insert(machine);
    for (const auto &[machine, mode] : after.runs)
        machines.insert(machine);
    for (const Started &start : before.starts)
        if (!ran.contains(start.machine))
            machines.insert(start.machine);
    return machines.size();
}

bool no_worse(const Behaviour &after, const Behaviour &before) {
    return nothing_comes(after, before) && includes(after.runs, before.runs) &&
           includes(after.may_run, before.may_run) &&
           (includes(after.runs_without, before.runs_without) || parts_sources(after, before)) &&
           starts_left(before.starts, after.starts, before, after) &&
           starts_left(before.taps, after.taps, before, after) && includes(after.has_cut, before.has_cut);
}

bool ends_as_told(const Circuit &circuit, const Finding &finding) {
    const std::string &told = finding.witness.ends_in;
    const auto machines = circuit.machines();
    const auto machine =
        std::find_if(machines.begin(), machines.end(), [&](const std::string &each) { return told == each + " runs"; });
    const bool runs = machine != machines.end();
    std::string live; // a net at a pole of the isolator: elsewhere it may be excepted
    if (const auto isolator = circuit.find(finding.subjects[0]))
        for (const Contact &contact : contacts_of(circuit.device(*isolator)))
            for (const std::string &end : {contact.first, contact.second})
                if (const std::string &net = circuit.net_name(*circuit.device(*isolator).net_of(end));
                    contact.sense == ContactSense::pole && told == "net " + net + " live")
                    live = net;
    if (!runs && live.empty())
        return false;
    Replay replay(circuit);
    try {
        for (const std::string &act : finding.witness.acts) {
            if (&act == &finding.witness.acts.back() && runs && is_start_rule(finding.rule) &&
                replay.state(*machine) != "stopped")
                return false; // what runs already is not started
            replay.act(act);
        }
    } catch (const Error &) {
        return false; // an act on something that is not in this part
    }
    return runs ? replay.state(*machine) != "stopped" : replay.live(live);
}

} // namespace stopspan
