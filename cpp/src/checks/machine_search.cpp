#include "checks/machine_search.hpp"

#include "base/words.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// A timer that starts itself again would run out for ever.
constexpr int most_delays = 16;

// Sets of states that the same acts may lead to: past this many it is not asked any more whether something surely
// fails.
constexpr std::size_t most_sets = 2000;

Cone make_cone(const Context &context, const MachineSeen &machine, Extent extent, std::span<const Fault> faults) {
    const auto cut = [&](const Reach &reach) {
        std::vector<std::uint32_t> standing;
        for (const Fault &fault : faults)
            for (const std::uint32_t net : nets_of(context.circuit, context.compiled, fault))
                standing.push_back(net);
        Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach, Simplify::and_rows, standing);
        for (const Fault &fault : faults)
            add_fault(cone, context.circuit, context.compiled, fault);
        return cone;
    };
    return cut(reach_with(context, machine, faults, extent));
}

} // namespace

std::string mode_text(Mode mode) {
    return std::string(mode == Mode::stopped ? "" : to_text(mode));
}

bool may_be_excused(const Context &context, const std::string &rule, const std::string &subject) {
    const auto device = rule == "own-start" ? context.circuit.find(subject) : std::nullopt;
    return device && context.circuit.device(*device).kind == DeviceKind::timer;
}

std::size_t connected_variables(const Context &context, const MachineSeen &machine) {
    return reach_of(context.compiled, context.relevance, machine.seeds, Extent::everything).variables.size();
}

bool is_small(const Context &context, const MachineSeen &machine) {
    return connected_variables(context, machine) <= small_circuit;
}

Extent first_extent(const Context &context, const MachineSeen &machine) {
    return is_small(context, machine) ? Extent::everything : Extent::feed;
}

Reach reach_with(const Context &context, const MachineSeen &machine, std::span<const Fault> faults, Extent extent) {
    Seeds seeds = machine.seeds;
    bool all_there = extent == Extent::feed;
    for (const Fault &fault : faults)
        for (const std::uint32_t net : {fault.a, fault.b})
            if (net != none && !context.relevance.is_pole_net(net)) {
                seeds.nets.push_back(net);
                all_there &= std::binary_search(machine.reach.nets.begin(), machine.reach.nets.end(), net);
            }
    return all_there ? machine.reach : reach_of(context.compiled, context.relevance, seeds, extent);
}

std::string act_text(const ActorInfo &actor, Variable::Kind kind, bool opening) {
    const std::string &name = actor.designation;
    switch (kind) {
    case Variable::Kind::overload:
        return (opening ? "trip " : actor.automatic ? "cool " : "reset ") + name;
    case Variable::Kind::fuse:
        return (opening ? "blow " : "replace ") + name;
    case Variable::Kind::isolator:
        return (opening ? "open " : "close ") + name;
    default:
        break;
    }
    switch (actor.action) {
    case Action::latching:
        return (opening ? "latch " : "unlatch ") + name;
    case Action::maintained:
        return "turn " + name + (opening ? " on" : " off");
    default:
        return (opening ? "hold " : "free ") + name;
    }
}

MachineSearch::MachineSearch(const Context &context, const MachineSeen &machine, Extent extent,
                             std::span<const Fault> faults)
    : context_(context), machine_(machine), cone_(make_cone(context, machine, extent, faults)),
      cone_machine_(machine.index) {
    for (const auto &members : cone_.members)
        seen_.variables.insert(seen_.variables.end(), members.begin(), members.end());
    std::sort(seen_.variables.begin(), seen_.variables.end());
}

std::string MachineSearch::size_text() const {
    std::vector<std::string_view> names;
    for (const ActorInfo &actor : cone_.actors)
        if (std::find(names.begin(), names.end(), actor.designation) == names.end())
            names.push_back(actor.designation);
    return std::to_string(cone_.circuit.variables.size()) + " things with positions: " + listed(names);
}

void MachineSearch::prepare() {
    exploration_.emplace(cone_);
    races_.emplace(*exploration_);
    if (wanted_)
        exploration_->only([&](const Act &act) {
            return act.variable == none ||
                   wanted_(act, cone_.circuit.variables[act.variable].kind, cone_.actors[act.variable]);
        });
}

bool MachineSearch::run(std::size_t state_budget, const std::function<bool(const Facts &)> &enough) {
    prepare();
    std::size_t asked_at = 0;
    const bool complete = exploration_->run(state_budget, [&](const Exploration::Transition &t) {
        judge_stop_cuts(*this, t);
        judge_stop_spares(*this, t);
        judge_stop_beats_start(*this, t);
        judge_starts(*this, t);
        judge_timers(*this, t);
        judge_overload_cuts(*this, t);
        judge_races(*this, t);
        if (t.settled.unknown)
            pass_over_starts_from_outside(t);
        if (watch_)
            watch_(t);
        if (enough && recorded_ != asked_at) {
            asked_at = recorded_;
            if (enough(facts_))
                exploration_->stop();
        }
    });
    judge_cold_start();
    for (const auto &[stop, acts] : run_on_)
        if (const auto fact = facts_.find({"stop-cuts", stop}); fact != facts_.end() && fact->second.way == 1)
            fact->second.runs_on = acts;
    if (complete)
        excuse_timed_starts();
    return complete;
}

// Where it depends on what is outside whether a coil pulls in, something done there may start the machine.
void MachineSearch::pass_over_starts_from_outside(const Exploration::Transition &t) {
    for (const std::uint32_t node : t.to) {
        if (glimpse(node).runs != Tri::off || !supply_healthy(cone_.circuit, state(node)) || start_held(state(node)))
            continue;
        const Settled &alone = exploration_->settler().settle(state(node));
        if (std::any_of(alone.ends.begin(), alone.ends.end(),
                        [&](const State &end) { return glimpse(end).runs != Tri::off; }))
            for (const std::string_view rule : start_rules)
                pass_over(std::string(rule), {});
    }
}

void MachineSearch::excuse_timed_starts() {
    for (const Armature &timer : cone_.circuit.armatures)
        if (timer.timed != none)
            for (const State &end : exploration_->cold_start().ends)
                if (end[timer.variable] != 0)
                    timers_[timer.timed] = {.by_itself = true, .after = {}, .ways = {}};
    const std::set<std::uint32_t> excused = commanded(timers_);
    for (const auto &[timed, seen] : timers_) {
        const auto fact =
            facts_.find({"own-start", context_.compiled.device_names[cone_.circuit.variables[timed].device]});
        if (fact == facts_.end())
            continue;
        if (excused.contains(timed))
            delayed_starts_.insert(facts_.extract(fact));
        else
            tell_timed_start(seen, timed, fact->second);
    }
}

// Where it takes the fault for the timer to come in by itself: a start given brings it in, too, mostly by fewer acts,
// but that is not what is wrong.
void MachineSearch::tell_timed_start(const TimerSeen &timer, std::uint32_t timed, Fact &fact) {
    if (timer.ways.empty() || fault_is_to_come(timer.ways.front().to))
        return;
    const std::vector<Act> &acts = exploration_->acts();
    const auto elapse = std::find_if(
        acts.begin(), acts.end(), [&](const Act &act) { return act.kind == ActKind::elapse && act.variable == timed; });
    for (const auto &[from, act, to] : timer.ways) {
        if (elapse == acts.end() || glimpse(to).runs != Tri::off || !allowed(*elapse, cone_.circuit, state(to)))
            continue;
        const Settled settled = perform(exploration_->settler(), state(to), *elapse);
        const bool sure = exploration_->nodes()[from].sure && exploration_->nodes()[to].sure;
        if ((fact.sure && !sure) || !std::all_of(settled.ends.begin(), settled.ends.end(),
                                                 [&](const State &end) { return glimpse(end).runs == Tri::on; }))
            continue;
        std::vector<std::uint32_t> way = way_to(from);
        way.insert(way.end(), {act, static_cast<std::uint32_t>(elapse - acts.begin())});
        fact.acts = told(way, 1, none);
        return;
    }
}

// What a timer starts before any fault is there is as it is without faults.
bool MachineSearch::fault_is_to_come(std::uint32_t node) const {
    const auto &faults = cone_.circuit.faults;
    return !faults.empty() && std::all_of(faults.begin(), faults.end(), [&](const FaultSeen &fault) {
        return !fault.comes_and_goes && state(node)[fault.variable] == 0;
    });
}

Glimpse MachineSearch::glimpse(std::uint32_t node) {
    if (glimpses_.size() <= node)
        glimpses_.resize(exploration_->nodes().size());
    if (!glimpses_[node]) {
        glimpses_[node] = glimpse(State(state(node)));
        seen_.ever_runs |= glimpses_[node]->runs != Tri::off;
        if (glimpses_[node]->runs == Tri::on)
            seen_.modes.insert(glimpses_[node]->mode);
    }
    return *glimpses_[node];
}

Glimpse MachineSearch::glimpse(State state) {
    Network &network = exploration_->settler().network();
    network.evaluate(state);
    const MotorState seen = observe_machine(cone_.circuit, cone_machine_, state, network);
    Glimpse glimpse{seen.runs, seen.mode, StillFed::no};
    if (seen.runs == Tri::off)
        for (const MotorSeen &motor : cone_.circuit.motors)
            if (motor.machine == cone_machine_) {
                const StillFed fed = still_fed(cone_.circuit, motor, state, network);
                if (fed == StillFed::through_contactor || glimpse.fed == StillFed::no)
                    glimpse.fed = fed;
            }
    return glimpse;
}

bool MachineSearch::drifts(std::uint32_t node) {
    if (!exact() && supply_healthy(cone_.circuit, state(node)))
        return false;
    const Tri before = glimpse(node).runs;
    const Settled &alone = exploration_->settler().settle(state(node));
    return std::any_of(alone.ends.begin(), alone.ends.end(),
                       [&](const State &end) { return glimpse(end).runs != before; });
}

std::vector<State> MachineSearch::after_delays(const State &state) {
    std::vector<State> at{state};
    for (int round = 0; round < most_delays; ++round) {
        std::vector<State> next;
        bool any = false;
        for (const State &from : at) {
            State changed = from;
            bool runs = false;
            for (const Armature &armature : cone_.circuit.armatures)
                if (armature.timed != none && (from[armature.variable] == 0) == (from[armature.timed] == 1)) {
                    changed[armature.timed] = !changed[armature.timed];
                    runs = true;
                }
            any |= runs;
            if (!runs) {
                next.push_back(from);
                continue;
            }
            const Settled &settled = exploration_->settler().settle(changed);
            next.insert(next.end(), settled.ends.begin(), settled.ends.end());
        }
        std::sort(next.begin(), next.end());
        next.erase(std::unique(next.begin(), next.end()), next.end());
        at = std::move(next);
        if (!any)
            break;
    }
    return at;
}

Found joint(Found a, Found b, Asked asked) {
    if (a == b)
        return a;
    // Asked to cut, one state in which it does not is what counts; else it does both.
    return asked == Asked::cut && (a == Found::spares || b == Found::spares) ? Found::spares : Found::maybe;
}

bool MachineSearch::start_held(const State &state, std::uint32_t except) const {
    for (std::uint32_t v = 0; v < state.size(); ++v)
        if (v != except && state[v] != 0 && exploration_->is_momentary_variable(v) &&
            cone_.actors[v].role != Role::stop && !cone_.circuit.frozen(v, state))
            return true;
    return false;
}

bool MachineSearch::is_stop(std::uint32_t variable, bool cutting) const {
    return std::any_of(cone_.members[variable].begin(), cone_.members[variable].end(), [&](std::uint32_t member) {
        const std::uint32_t stop = context_.stop_of[member];
        return stop != none && (!cutting || asked_of(machine_.asked, stop) == Asked::cut);
    });
}

bool MachineSearch::stop_actuated(const State &state, bool cutting) const {
    for (std::uint32_t v = 0; v < state.size(); ++v)
        if (state[v] != 0 && cone_.circuit.variables[v].kind == Variable::Kind::actuator && is_stop(v, cutting))
            return true;
    return false;
}

bool MachineSearch::has_drive() const {
    return std::any_of(machine_.motors.begin(), machine_.motors.end(),
                       [](const MotorSeen *motor) { return motor->kind == DeviceKind::drive; });
}

bool MachineSearch::momentary_held(const State &state, std::uint32_t except) const {
    const bool healthy = supply_healthy(cone_.circuit, state); // else no fuse has blown, too
    for (std::uint32_t v = 0; v < state.size(); ++v)
        if (v != except && state[v] != 0 && !cone_.circuit.frozen(v, state) &&
            (healthy ? cone_.held : cone_.held_unless_blown)[v])
            return true;
    return false;
}

std::vector<std::uint32_t> MachineSearch::way_to(std::uint32_t node) const {
    std::vector<std::uint32_t> way;
    for (; exploration_->nodes()[node].parent != none; node = exploration_->nodes()[node].parent)
        way.push_back(exploration_->nodes()[node].act);
    std::reverse(way.begin(), way.end());
    return way;
}

std::vector<std::string> MachineSearch::acts_to(std::uint32_t node, std::uint32_t last_act,
                                                std::uint32_t member) const {
    std::vector<std::uint32_t> way_there = way_to(node);
    if (last_act != none)
        way_there.push_back(last_act);
    return told(way_there, last_act == none ? 0 : 1, member); // the last act is the one judged
}

std::vector<std::string> MachineSearch::told(const std::vector<std::uint32_t> &way_there, std::size_t untouched,
                                             std::uint32_t member) const {
    const auto &acts = exploration_->acts();
    std::vector<std::string> texts;
    for (const std::uint32_t index : way_there) {
        const Act &one = acts[index];
        const bool stands_for_others = member != none && one.variable != none && cone_.members[one.variable].size() > 1;
        if (!stands_for_others || std::find(cone_.members[one.variable].begin(), cone_.members[one.variable].end(),
                                            member) == cone_.members[one.variable].end()) {
            texts.push_back(one.text);
            continue;
        }
        ActorInfo actor = context_.actors[member];
        actor.automatic =
            context_.circuit.devices()[context_.compiled.variables[member].device].word("reset") == "automatic";
        const bool opening = one.kind == ActKind::press || one.kind == ActKind::trip || one.kind == ActKind::blow;
        texts.push_back(act_text(actor, context_.compiled.variables[member].kind, opening));
    }
    return with_taps(texts, untouched);
}

std::optional<std::vector<std::string>> MachineSearch::shortest_run(Tri runs, bool held) {
    for (const bool sure : {true, false})
        for (const bool stops_at_rest : {true, false})
            for (std::uint32_t node = 0; node < exploration_->nodes().size(); ++node)
                if (exploration_->nodes()[node].sure == sure && glimpse(node).runs == runs &&
                    (held || !start_held(state(node))) && !(stops_at_rest && stop_actuated(state(node))))
                    return acts_to(node, none, none);
    return std::nullopt;
}

std::vector<std::vector<std::string>> MachineSearch::ways_to_run() {
    std::vector<std::vector<std::string>> ways;
    std::set<Mode> met, met_with_stops_at_rest;
    for (const bool sure : {true, false})
        for (std::uint32_t node = 0; node < exploration_->nodes().size(); ++node) {
            const Glimpse seen = glimpse(node);
            if (exploration_->nodes()[node].sure != sure || seen.runs != Tri::on || start_held(state(node)))
                continue;
            const bool first_at_rest = !stop_actuated(state(node)) && met_with_stops_at_rest.insert(seen.mode).second;
            if (met.insert(seen.mode).second || first_at_rest)
                ways.push_back(acts_to(node, none, none));
        }
    return ways;
}

void MachineSearch::judge_cold_start() {
    for (const RaceSeen &seen : races_->see_cold_start())
        facts_[{seen.rule, seen.subject()}] = {Status::fails, {}, seen.ends_in(), "", 0, true};
}

void MachineSearch::record(const std::string &rule, const std::string &subject, Status status,
                           const Exploration::Transition &t, std::string ends_in, std::uint32_t member, Mode mode,
                           int way) {
    if (act(t).kind == ActKind::elapse && is_start_rule(rule) && fault_is_to_come(t.from))
        return;
    const auto key = std::pair{rule, subject};
    const auto known = facts_.find(key);
    const bool sure = exploration_->nodes()[t.from].sure;
    if (status == Status::fails) {
        Failing &failing = failing_[key];
        if (sure)
            failing.surely = true;
        if (!failing.surely)
            failing.seen.try_emplace({t.from, t.act}, Failing::Seen{ends_in, mode, way, member});
    }
    const bool surer = sure && status == Status::fails && known != facts_.end() && !known->second.sure &&
                       known->second.status == status && !surely_.contains(key);
    if (known != facts_.end() && severity(known->second.status) >= severity(status) && !surer)
        return;
    Fact fact{status, {}, std::move(ends_in), mode_text(mode), way, sure};
    fact.acts = acts_to(t.from, t.act, member);
    (surer ? surely_ : facts_)[key] = std::move(fact);
    ++recorded_;
}

const Fact *MachineSearch::surely(const std::pair<std::string, std::string> &key) {
    if (const auto found = surely_.find(key); found != surely_.end())
        return &found->second;
    const auto failing = failing_.find(key);
    if (failing == failing_.end())
        return nullptr;
    exploration_->run_sets(most_sets, [&](const std::vector<std::uint32_t> &nodes, std::uint32_t act,
                                          const std::vector<std::uint32_t> &way_there) {
        const auto &seen = failing->second.seen;
        const auto first = seen.find({nodes[0], act});
        if (first == seen.end())
            return false;
        for (const std::uint32_t node : nodes)
            if (const auto other = seen.find({node, act});
                other == seen.end() || other->second.way != first->second.way)
                return false;
        std::vector<std::uint32_t> way = way_there;
        way.push_back(act);
        const Failing::Seen &one = first->second;
        surely_[key] = {Status::fails, told(way, 1, one.member), one.ends_in, mode_text(one.mode), one.way, true};
        return true;
    });
    const auto found = surely_.find(key);
    return found == surely_.end() ? nullptr : &found->second;
}

void MachineSearch::saw_stop(std::uint32_t stop, Mode mode, Found found) {
    const auto [entry, fresh] = seen_.found[stop].try_emplace(mode, found);
    if (!fresh)
        entry->second = joint(entry->second, found, asked_of(machine_.asked, stop));
}

void MachineSearch::saw_cut(std::uint32_t stop, std::uint32_t from) {
    if (seen_.ever_cut.contains(stop) || stop_actuated(state(from)))
        return;
    const Settled &alone = exploration_->settler().settle(state(from));
    const bool may_stop_itself = std::any_of(alone.ends.begin(), alone.ends.end(), [&](const State &end) {
        const Glimpse after = glimpse(end);
        return after.runs == Tri::off && after.fed != StillFed::through_contactor;
    });
    if (!may_stop_itself)
        seen_.ever_cut.insert(stop);
}

} // namespace stopspan
