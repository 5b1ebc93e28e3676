#include "checks/fault_effects.hpp"
#include "checks/feeding.hpp"
#include "checks/search_in_sets.hpp"
#include "switching/feeding_poles.hpp"

#include <algorithm>
#include <numeric>
#include <optional>

namespace stopspan {
namespace {

// Without a wire that all of it hangs on a machine stands still, whatever is done: nothing is left to lose.
// @param whole  all that is connected, with the faults put in
bool runs_no_more(std::span<const Fault> faults, const MachineSeen &machine, const Cone &whole) {
    const Compiled &circuit = whole.circuit;
    const auto stuck = [](const FaultSeen &fault) { return fault.frozen != none; };
    if (!whole.exact || circuit.faults.size() != faults.size() ||
        std::none_of(faults.begin(), faults.end(), only_parts) ||
        std::any_of(circuit.faults.begin(), circuit.faults.end(), stuck))
        return false;
    Structure structure(circuit);
    std::vector<std::uint8_t> positions(circuit.variables.size(), Structure::free);
    const auto put = [&](std::uint32_t variable, std::uint8_t position) {
        structure.assume(variable, position);
        positions[variable] = position;
    };
    for (std::size_t i = 0; i < faults.size(); ++i)
        if (only_parts(faults[i]))
            put(circuit.faults[i].variable, Structure::acted);
    const auto stands_still = [&] {
        return std::all_of(circuit.motors.begin(), circuit.motors.end(), [&](const MotorSeen &motor) {
            return motor.machine != machine.index || structure.power(motor) == Structure::Power::off;
        });
    };
    std::vector<std::uint32_t> in(circuit.armatures.size());
    std::iota(in.begin(), in.end(), 0U);
    for (bool again = true; again;) {
        structure.let_fall(in);
        if (stands_still())
            return true;
        std::erase_if(in, [&](std::uint32_t index) {
            if (structure.is_out(index))
                put(circuit.armatures[index].variable, Structure::rest);
            return structure.is_out(index);
        });
        const FeedingPoles poles(circuit, positions);
        again = false;
        for (const std::uint32_t index : in)
            if (const Armature &armature = circuit.armatures[index];
                armature.kind == Armature::Kind::coil && poles.nothing_between(armature.a1, armature.a2)) {
                put(armature.variable, Structure::rest);
                if (armature.timed != none && !armature.off_delay)
                    put(armature.timed, Structure::rest);
                again = true;
            }
    }
    return false;
}

// What a fault can take away: a stop, a trip, the certainty that nothing starts by itself.
bool is_stop_rule(const std::string &rule) {
    return rule == "stop-cuts" || rule == "stop-beats-start";
}
bool can_be_lost(const std::string &rule) {
    return is_stop_rule(rule) || rule == "overload-cuts" || is_start_rule(rule);
}

// Of a machine that is proven only ways to run it are looked for: the first are found soon, and devices held together
// in every way are many.
constexpr std::size_t most_states_for_runs = 10'000;

bool counts(Status status) {
    return status == Status::fails || status == Status::maybe;
}

// A fuse that blows and a line that is lost by themselves are faults, too: not one more at the same time.
void nothing_else_fails(MachineSearch &search) {
    search.only([&circuit = search.cone().circuit](const Act &act, Variable::Kind, const ActorInfo &) {
        return act.kind != ActKind::blow && !takes_one_pole(act, circuit);
    });
}

// How a fault shows by itself, from all it was seen to do.
class Noticing {
public:
    explicit Noticing(MachineSearch &search) : search_(search) {}

    void see(const Exploration::Transition &t) {
        const Act &act = search_.act(t);
        const Compiled &circuit = search_.cone().circuit;
        const State &from = search_.state(t.from);
        const bool happens = act.kind == ActKind::fail;
        if (!happens && std::none_of(circuit.faults.begin(), circuit.faults.end(),
                                     [&](const FaultSeen &fault) { return from[fault.variable] != 0; }))
            return;
        const bool ran = search_.glimpse(t.from).runs == Tri::on;
        bool all_off = true, all_on = true, all_blow = true;
        for (const std::uint32_t end : t.to) {
            const Tri now = search_.glimpse(end).runs;
            all_off &= now == Tri::off;
            all_on &= now == Tri::on;
            bool blows = false;
            for (std::uint32_t v = 0; v < from.size(); ++v)
                if (circuit.variables[v].kind == Variable::Kind::fuse && from[v] == 0 && search_.state(end)[v] != 0) {
                    blows = true;
                    blown_.insert(search_.cone().actors[v].designation);
                }
            all_blow &= blows;
        }
        if (!happens) {
            starts_again_ |= search_.glimpse(t.from).runs == Tri::off && !all_off;
            return;
        }
        if (!supply_healthy(circuit, from))
            return;
        if (ran) {
            ++while_running_;
            stops_ += all_off;
            blows_ += all_blow;
        } else if (search_.glimpse(t.from).runs == Tri::off && !search_.start_held(from)) {
            starts_ |= all_on;
        }
    }

    Noticed seen() const {
        const std::string &machine = search_.machine().name;
        if (while_running_ > 0 && blows_ == while_running_)
            return {Noticed::How::fuses_blow, machine, {blown_.begin(), blown_.end()}};
        if (starts_)
            return {Noticed::How::starts, machine};
        if (!starts_again_)
            return {Noticed::How::starts_no_more, machine};
        if (while_running_ > 0 && stops_ == while_running_)
            return {Noticed::How::stops, machine};
        return {};
    }

private:
    MachineSearch &search_;
    std::set<std::string> blown_;
    std::size_t while_running_ = 0, stops_ = 0, blows_ = 0;
    bool starts_ = false, starts_again_ = false;
};

} // namespace

FaultJudge::Healthy &FaultJudge::healthy(std::uint32_t index) {
    Healthy &one = (*healthy_)[index];
    if (std::exchange(one.known, true))
        return one;
    const MachineSeen &machine = machines_[index];
    one.proven = not_proven(machine, StopGroups(*rows_, context_, machine, {}), false, Lines::may_be_lost).nothing();
    WitnessRun &whole = tools_.witness_run(machine.seeds);
    const auto by_moves = [](MachineSearch &search) {
        search.only([](const Act &, Variable::Kind kind, const ActorInfo &actor) {
            return kind == Variable::Kind::timed || (kind == Variable::Kind::actuator && actor.role != Role::stop);
        });
    };
    MachineSearch search(context_, machine, first_extent(context_, machine));
    if (one.proven) { // only how it comes to run is to be found
        by_moves(search);
        one.all_runs_looked_for = search.run(std::min(context_.options.state_budget, most_states_for_runs));
    } else {
        Seen seen = see(
            search, {}, machine, whole, [](MachineSearch &) {},
            [](const std::string &rule, const std::string &) { return can_be_lost(rule); }, {});
        one.complete = one.all_runs_looked_for = seen.complete;
        one.doubtful = std::move(seen.doubtful);
        one.failing = std::move(seen.shown);
        for (auto [key, fact] : search.delayed_starts()) {
            const State *failing = nullptr;
            if (!counts(fact.status) || !confirmed(fact, key.first, machine, whole, whole.run(fact.acts), &failing))
                continue;
            if (fact.status == Status::fails && shown(fact, key.first, machine, whole) != Shown::in_all)
                fact.status = Status::maybe;
            one.delayed_starts.emplace(key, std::move(fact));
        }
    }
    find_runs(one, machine, search, whole);
    const auto search_again = [&](Extent extent) {
        MachineSearch again(context_, machine, extent);
        if (extent == Extent::everything)
            by_moves(again);
        one.all_runs_looked_for = again.run(context_.options.state_budget);
        find_runs(one, machine, again, whole);
    };
    std::set<std::string> acts_of_stops;
    for (const auto &[stop, asked] : machine.asked)
        if (asked == Asked::cut)
            for (const auto &[act, same] : acts_of(stop, stop))
                acts_of_stops.insert(act);
    const auto none_found = [&] { return one.runs.none() && one.held_runs.none(); };
    if (none_found() && one.proven) // it may take more than hands: a source lost and brought back
        search_again(Extent::feed);
    if (none_found() && search.seen().ever_runs && !search.exact())
        search_again(Extent::everything);
    // Of a machine that only runs while its start is held no stop is asked to end that: one that stands in none of its
    // circuits ends nothing else, either.
    const bool only_held = one.runs.none() && !one.held_runs.none();
    const auto matters = [&](std::uint32_t variable) { return one.proven || search.seen().reaches(variable); };
    const Fact acts_on_nothing{Status::fails, {}, {}, {}, 0, true};
    for (const auto &[stop, asked] : machine.asked)
        if (const std::uint32_t variable = context_.stops[stop].variable;
            asked == Asked::cut && !(only_held ? machine.reached_by(variable) : matters(variable)))
            one.failing[{"stop-cuts", context_.stops[stop].name}] = acts_on_nothing;
    for (const std::uint32_t overload : machine.overloads)
        if (!matters(overload))
            one.failing[{"overload-cuts", context_.name(overload)}] = acts_on_nothing;
    for (const Ways *ways : {&one.runs, &one.held_runs})
        for (const auto *those : {&ways->surely, &ways->perhaps})
            for (const FaultTrial::Acts &acts : *those)
                one.runs_by_stops |= std::any_of(acts.begin(), acts.end(),
                                                 [&](const std::string &act) { return acts_of_stops.contains(act); });
    return one;
}

// What a part seems to do the whole may not do; of several states that acts lead to only one may be it.
void FaultJudge::find_runs(Healthy &one, const MachineSeen &machine, MachineSearch &search, WitnessRun &whole) {
    const auto take = [&](Ways &ways, const FaultTrial::Acts &acts) {
        const Tri runs = whole.runs(machine.index, whole.run(acts));
        if (runs != Tri::off)
            (runs == Tri::on ? ways.surely : ways.perhaps).push_back(acts);
    };
    for (const FaultTrial::Acts &acts : search.ways_to_run())
        take(one.runs, acts);
    if (const auto acts = search.shortest_run(Tri::maybe))
        take(one.runs, *acts);
    for (const Tri runs : {Tri::on, Tri::maybe})
        if (const auto acts = search.shortest_run(runs, true))
            take(one.held_runs, *acts);
}

// What a part shows and the whole does not may still be so after other acts: what hangs on the part counted as unknown.
// What the part was found to do right stands.
FaultJudge::Seen FaultJudge::see(MachineSearch &search, std::span<const Fault> faults, const MachineSeen &machine,
                                 WitnessRun &whole, const std::function<void(MachineSearch &)> &limit,
                                 const std::function<bool(const std::string &, const std::string &)> &asked,
                                 const std::function<bool(const Facts &)> &enough) {
    Seen seen;
    const auto take = [&](const Facts &facts) {
        for (const auto &[key, fact] : facts) {
            if (!counts(fact.status) || !asked(key.first, key.second) || seen.shown.contains(key))
                continue;
            const WitnessRun::Result end = whole.run(fact.acts);
            const State *failing = nullptr;
            if (!confirmed(fact, key.first, machine, whole, end, &failing)) {
                seen.doubtful.insert(key);
                continue;
            }
            seen.doubtful.erase(key);
            seen.shown.emplace(key, fact);
            if (failing && !faults.empty())
                seen.paths.emplace(key, whole.holding_path(*failing, machine.power_armatures, machine.seeds.power[0]));
        }
    };
    limit(search);
    if (!faults.empty() && search.variables() > small_circuit)
        if (const auto in_sets = search_in_sets(search)) {
            take(in_sets->facts);
            if (seen.doubtful.empty()) {
                seen.complete = true;
                seen.noticed = in_sets->noticed;
                return seen;
            }
            seen = {};
        }
    seen.complete = search.run(context_.options.state_budget, enough);
    take(search.facts());
    if (!seen.complete && !seen.doubtful.empty() && enough && enough(search.facts())) {
        seen.complete = search.run(context_.options.state_budget);
        take(search.facts());
    }
    if (search.exact() || seen.doubtful.empty() || !seen.complete)
        return seen;
    const std::set<Key> doubtful = seen.doubtful;
    MachineSearch wider(context_, machine, Extent::everything, faults);
    limit(wider);
    const double ratio = static_cast<double>(search.variables()) / static_cast<double>(wider.variables());
    const bool all = wider.run(
        static_cast<std::size_t>(static_cast<double>(context_.options.state_budget) * std::min(1.0, ratio * ratio)),
        [&](const Facts &facts) {
            return std::all_of(doubtful.begin(), doubtful.end(), [&](const Key &key) { return facts.contains(key); });
        });
    take(wider.facts());
    if (all)
        seen.doubtful.clear();
    return seen;
}

void FaultJudge::search(std::span<const Fault> faults, const MachineSeen &machine, const Open &open, bool only_stops,
                        FaultEffect &effect) {
    Healthy &before = healthy(machine.index);
    if (bounded_ && before.work > most_work_) {
        effect.undecided.push_back(machine.index);
        return;
    }
    const std::size_t work_before = network_work();
    std::optional<WitnessRun> wider_whole;
    WitnessRun &whole = whole_with(faults, machine, wider_whole);
    const auto still_runs = [&](const FaultTrial::Acts &way) {
        FaultTrial::Acts acts;
        for (const Fault &fault : faults)
            acts.push_back(fault.text);
        acts.insert(acts.end(), way.begin(), way.end());
        return whole.runs(machine.index, whole.run(acts)) != Tri::off;
    };
    const auto &ways = before.ways().first;
    if (std::none_of(ways.begin(), ways.end(), still_runs) && runs_no_more(faults, machine, whole.cone()))
        return;
    MachineSearch search(context_, machine, first_extent(context_, machine), faults);
    Noticing noticing(search);
    search.watch([&](const Exploration::Transition &t) {
        noticing.see(t);
        if (bounded_ && before.work + network_work() - work_before > most_work_)
            search.exploration().stop();
    });
    const auto asked = [&](const std::string &rule, const std::string &subject) {
        return (only_stops ? is_stop_rule(rule) : can_be_lost(rule)) && before.held(rule, subject);
    };
    const auto takes_a_fault = [&](const Fact &fact) {
        return std::any_of(faults.begin(), faults.end(), [&](const Fault &fault) {
            return std::find(fact.acts.begin(), fact.acts.end(), fault.text) != fact.acts.end();
        });
    };
    // Once all that the structure leaves open is surely lost there is no more to see.
    const auto lost_surely = [&](const Facts &facts, const std::string &rule, std::uint32_t variable) {
        const auto found = facts.find({rule, context_.name(variable)});
        return !asked(rule, context_.name(variable)) ||
               (found != facts.end() && found->second.status == Status::fails && found->second.sure);
    };
    const bool tried = can_be_tried(faults, before); // how it shows is known without
    const auto all_lost = [&](const Facts &facts) {
        return tried &&
               std::all_of(open.stops.begin(), open.stops.end(),
                           [&](std::uint32_t stop) { return lost_surely(facts, "stop-cuts", stop); }) &&
               std::all_of(open.trips.begin(), open.trips.end(),
                           [&](std::uint32_t trip) { return lost_surely(facts, "overload-cuts", trip); }) &&
               (!open.start || std::any_of(facts.begin(), facts.end(), [&](const auto &fact) {
                   const auto &[rule, subject] = fact.first;
                   return is_start_rule(rule) && asked(rule, subject) && fact.second.status == Status::fails &&
                          fact.second.sure && takes_a_fault(fact.second) && !may_be_excused(context_, rule, subject);
               }));
    };
    Seen seen = see(search, faults, machine, whole, nothing_else_fails, asked, all_lost);
    if (bounded_)
        before.work += network_work() - work_before;
    bool lost = false;
    for (auto &[key, fact] : seen.shown) {
        if (!takes_a_fault(fact) || (!seen.complete && may_be_excused(context_, key.first, key.second)))
            continue; // it is so without one, or perhaps no start of its own
        if (fact.status == Status::fails && shown(fact, key.first, machine, whole) != Shown::in_all)
            fact.status = Status::maybe;
        effect.losses.push_back({machine.index, key.first, key.second, fact, std::move(seen.paths[key])});
        lost = true;
    }
    if (!lost && !(seen.complete && before.complete && seen.doubtful.empty()))
        effect.undecided.push_back(machine.index);
    else if (!((seen.complete && before.complete) || all_lost(search.facts())) || !seen.doubtful.empty())
        effect.incomplete.push_back(machine.index);
    std::optional<FaultTrial> wider;
    if (lost && effect.noticed.how == Noticed::How::nowhere)
        effect.noticed = seen.noticed    ? *seen.noticed
                         : seen.complete ? noticing.seen()
                                         : trial_with(faults, machine, wider).noticed();
}

// A fault in what only hangs on the machine's circuit can do no more than join the nets that it hangs on, now and then.
// That is asked once for all such faults, and takes no other machine's devices.
bool FaultJudge::hangs_harmless(std::span<const Fault> faults, const MachineSeen &machine) {
    const Fault &fault = faults[0];
    if (faults.size() != 1 || !joins_nets(fault))
        return false;
    Healthy &before = healthy(machine.index);
    if (!before.full_volts)
        before.full_volts = FarReach(context_, tools_.structure, machine.seeds, &machine).fed_by_contacts_only();
    if (!*before.full_volts) // what hangs may draw them down
        return false;
    if (!before.hanging)
        before.hanging.emplace(context_, machine);
    Fault joins{fault.kind, none, none, none, {}, fault.text, true};
    bool hangs = false;
    for (const auto &[net, own] : {std::pair{fault.a, &joins.a}, {fault.b, &joins.b}}) {
        if (net == none)
            continue;
        const std::set<std::uint32_t> &leads_to = before.hanging->of(net);
        if (leads_to.size() != 1 || leads_to.contains(Hanging::feed))
            return false;
        *own = *leads_to.begin();
        hangs |= *own != net;
    }
    if (!hangs || !before.complete)
        return false;
    const auto [answer, fresh] = before.harmless.try_emplace({joins.a, joins.b}, false);
    if (fresh) {
        MachineSearch search(context_, machine, first_extent(context_, machine), {&joins, 1});
        nothing_else_fails(search);
        const bool complete = search.run(context_.options.state_budget);
        answer->second = complete && std::none_of(search.facts().begin(), search.facts().end(), [&](const auto &seen) {
                             return counts(seen.second.status) && can_be_lost(seen.first.first) &&
                                    before.held(seen.first.first, seen.first.second);
                         });
    }
    return answer->second;
}

} // namespace stopspan
