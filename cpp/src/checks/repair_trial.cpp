#include "checks/repair_trial.hpp"

#include "stopspan/error.hpp"
#include "stopspan/replay.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::size_t most_work = 30'000; // in network_work(), to look at what works
constexpr std::size_t most_delays = 4;    // timers that run out one after the other before a machine starts

void look_at(const Context &context, const MachineSeen &machine, bool own_starts_only, std::size_t end_of_work,
             Behaviour &seen) {
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, machine.reach);
    Exploration exploration(cone);
    std::vector<std::optional<MotorState>> known;
    const auto look = [&](std::uint32_t node) {
        if (known.size() <= node)
            known.resize(exploration.nodes().size());
        if (!known[node]) {
            State state = exploration.nodes()[node].state;
            exploration.settler().network().evaluate(state);
            known[node] = observe_machine(cone.circuit, machine.index, state, exploration.settler().network());
            if (known[node]->runs == Tri::on && known[node]->mode != Mode::single_phasing &&
                known[node]->mode != Mode::other && exploration.held(state) == 0)
                seen.runs.emplace(machine.name, known[node]->mode);
        }
        return known[node]->runs;
    };
    // Nodes a start leads to, and what letting it go and timers running out lead to from a node.
    std::set<std::pair<std::uint32_t, std::uint32_t>> started;                            // device, node
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::vector<std::uint32_t>> let_go; // device, node
    std::map<std::uint32_t, std::vector<std::uint32_t>> elapsed;
    seen.complete &= exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        const Act &act = exploration.acts()[t.act];
        if (network_work() > end_of_work)
            exploration.stop();
        if (act.kind == ActKind::elapse)
            elapsed.try_emplace(t.from, t.to);
        if (act.kind == ActKind::press || act.kind == ActKind::release)
            for (const std::uint32_t member : cone.members[act.variable]) {
                if ((own_starts_only && !machine.is_own_start(member)) || context.actors[member].role == Role::jog)
                    continue;
                if (act.kind == ActKind::release)
                    let_go.try_emplace({member, t.from}, t.to);
                else if (look(t.from) == Tri::off && exploration.held(exploration.nodes()[t.from].state) == 0)
                    for (const std::uint32_t end : t.to)
                        started.emplace(member, end);
            }
        if ((act.kind != ActKind::press && act.kind != ActKind::release) ||
            std::any_of(t.to.begin(), t.to.end(), [&](std::uint32_t end) { return look(end) != Tri::on; }))
            return;
        if (act.kind == ActKind::release) {
            for (const std::uint32_t member : cone.members[act.variable])
                if (look(t.from) == Tri::on && context.actors[member].role == Role::jog)
                    seen.run_on.emplace(context.name(member), machine.name);
            return;
        }
        if (look(t.from) != Tri::off)
            return;
        for (const std::uint32_t member : cone.members[act.variable])
            if (!own_starts_only || machine.is_own_start(member))
                seen.starts.emplace(context.name(member), machine.name);
    });
    for (const auto &[member, pressed] : started) {
        const auto free = let_go.find({member, pressed});
        if (free == let_go.end())
            continue;
        std::vector<std::uint32_t> ends = free->second;
        for (std::size_t delays = 0; delays <= most_delays && !ends.empty(); ++delays) {
            if (std::all_of(ends.begin(), ends.end(), [&](std::uint32_t end) { return look(end) == Tri::on; })) {
                seen.taps.emplace(context.name(member), machine.name);
                break;
            }
            const auto next = elapsed.find(ends[0]);
            ends = next == elapsed.end() ? std::vector<std::uint32_t>() : next->second;
        }
    }
}

bool can_be_on(const Context &context, const LoadSeen &load) {
    const Seeds seeds{.nets = {load.a, load.b}, .power = {}, .loads = context.lookup.impedances_of[load.device]};
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance,
                               reach_of(context.compiled, context.relevance, seeds, Extent::feed));
    const auto inside = std::find_if(cone.circuit.loads.begin(), cone.circuit.loads.end(),
                                     [&](const LoadSeen &each) { return each.device == load.device; });
    if (inside == cone.circuit.loads.end())
        return false;
    Exploration exploration(cone);
    bool on = false;
    exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        State state = exploration.nodes()[t.from].state;
        exploration.settler().network().evaluate(state);
        on = observe(*inside, exploration.settler().network()) == Tri::on;
        if (on)
            exploration.stop();
    });
    return on;
}

template <class T>
bool includes(const std::set<T> &all, const std::set<T> &some) {
    return std::includes(all.begin(), all.end(), some.begin(), some.end());
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

Behaviour behaviour_of(const Circuit &circuit, const CheckOptions &options, bool own_starts_only) {
    Behaviour seen;
    const Context context(circuit, options);
    const std::size_t end_of_work = network_work() + most_work;
    for (std::uint32_t m = 0; m < context.compiled.machines.size() && seen.complete; ++m)
        look_at(context, MachineSeen(context, m), own_starts_only, end_of_work, seen);
    if (!seen.complete)
        return seen; // no need to know more
    const Verdict verdict = check(circuit, options);
    seen.findings = open_findings(verdict);
    for (const MatrixCell &cell : verdict.matrix)
        if (cell.found == Found::cuts && cell.asked != Asked::keep)
            seen.cuts.emplace(cell.stop, cell.machine);
    for (const LoadSeen &load : context.compiled.loads)
        if (load.kept && can_be_on(context, load))
            seen.loads.insert(context.compiled.device_names[load.device]);
    return seen;
}

std::size_t in_order(const Behaviour &after, const Behaviour &before) {
    std::set<std::string> ran, machines;
    for (const auto &[machine, mode] : before.runs)
        ran.insert(machine);
    for (const auto &[machine, mode] : after.runs)
        machines.insert(machine);
    for (const auto &[device, machine] : before.starts)
        if (!ran.contains(machine))
            machines.insert(machine);
    return machines.size();
}

bool no_worse(const Behaviour &after, const Behaviour &before) {
    return before.complete && after.complete && includes(before.findings, after.findings) &&
           includes(after.runs, before.runs) && includes(after.starts, before.starts) &&
           includes(after.taps, before.taps) && includes(after.loads, before.loads) &&
           includes(after.cuts, before.cuts) && includes(before.run_on, after.run_on);
}

bool ends_as_told(const Circuit &circuit, const Finding &finding) {
    const std::string &told = finding.witness.ends_in;
    Replay replay(circuit);
    try {
        for (const std::string &act : finding.witness.acts)
            replay.act(act);
    } catch (const Error &) {
        return false; // an act on something that is not in this part
    }
    for (const std::string &machine : circuit.machines())
        if (told == machine + " runs")
            return replay.state(machine) != "stopped";
    for (const std::string &net : circuit.nets())
        if (told == "net " + net + " live")
            return replay.live(net);
    return false;
}

} // namespace stopspan
