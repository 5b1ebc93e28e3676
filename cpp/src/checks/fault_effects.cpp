#include "checks/fault_effects.hpp"

#include "base/parallel.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

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

    std::string text() const {
        const std::string &machine = search_.machine().name;
        if (while_running_ > 0 && blows_ == while_running_)
            return blow_text({blown_.begin(), blown_.end()});
        if (starts_)
            return machine + " starts as soon as nothing holds it off";
        if (!starts_again_)
            return machine + " does not start any more";
        if (while_running_ > 0 && stops_ == while_running_)
            return machine + " stops";
        return {};
    }

private:
    MachineSearch &search_;
    std::set<std::string> blown_;
    std::size_t while_running_ = 0, stops_ = 0, blows_ = 0;
    bool starts_ = false, starts_again_ = false;
};

} // namespace

FaultJudge::FaultJudge(Tools &tools, const std::vector<MachineSeen> &machines, std::size_t most_work)
    : tools_(tools), context_(tools.context), machines_(machines), rows_(std::make_shared<StopRows>(context_)),
      healthy_(std::make_shared<std::vector<Healthy>>(machines.size())), most_work_(most_work) {}

FaultJudge::FaultJudge(Tools &tools, const FaultJudge &other)
    : tools_(tools), context_(tools.context), machines_(other.machines_), rows_(other.rows_), healthy_(other.healthy_),
      most_work_(other.most_work_), bounded_(other.bounded_) {}

FaultJudge::Open FaultJudge::not_proven(const MachineSeen &machine, const StopGroups &groups) {
    Open open;
    const auto proven = [&](std::uint32_t variable) {
        return proves_cut(tools_.structure, context_, machine, variable);
    };
    std::vector<std::uint8_t> proven_group;
    for (const auto &stops : groups.stops)
        proven_group.push_back(proven(context_.stops[stops[0]].variable));
    for (const auto &[stop, group] : groups.group_of)
        if (!proven_group[group])
            open.stops.push_back(context_.stops[stop].variable);
    std::copy_if(machine.overloads.begin(), machine.overloads.end(), std::back_inserter(open.trips),
                 [&](std::uint32_t overload) { return !proven(overload); });
    open.start = !proves_no_start(tools_.structure, context_, machine);
    return open;
}

FaultJudge::Healthy &FaultJudge::healthy(std::uint32_t index) {
    Healthy &one = (*healthy_)[index];
    if (std::exchange(one.known, true))
        return one;
    const MachineSeen &machine = machines_[index];
    one.proven = not_proven(machine, StopGroups(*rows_, context_, machine, {})).nothing();
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
        const Fact acts_on_nothing{Status::fails, {}, {}, {}, 0, true};
        for (const auto &[stop, asked] : machine.asked)
            if (asked == Asked::cut && !search.reaches(context_.stops[stop].variable))
                one.failing[{"stop-cuts", context_.stops[stop].name}] = acts_on_nothing;
        for (const std::uint32_t overload : machine.overloads)
            if (!search.reaches(overload))
                one.failing[{"overload-cuts", context_.name(overload)}] = acts_on_nothing;
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
    if (none_found() && search.ever_runs() && !search.exact())
        search_again(Extent::everything);
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

// A stop, or a trip, that does nothing any more: the machine goes on as before.
void FaultJudge::act_taken_away(const Fault &fault, std::uint32_t index, FaultEffect &effect) {
    const std::uint32_t variable = context_.compiled.variable_of[fault.device];
    const Variable::Kind kind = context_.compiled.variables[variable].kind;
    const std::string &name = context_.name(variable);
    const std::string act = act_text(context_.actors[variable], kind, true);
    // What acts no more is at rest: a machine that runs only while this very device is acted on does not run any more.
    const auto goes_on = [&](const FaultTrial::Acts &run) {
        const auto last = std::find(run.rbegin(), run.rend(), act).base();
        return last == run.begin() ||
               std::find(last, run.end(), act_text(context_.actors[variable], kind, false)) != run.end();
    };
    const Healthy &before = healthy(index);
    bool any = false;
    // @returns whether it is lost for sure
    const auto loses = [&](const std::string &rule, const Ways &ways) {
        if (before.fails_anyway(rule, name))
            return false;
        for (const bool surely : {true, false}) {
            const auto &those = surely ? ways.surely : ways.perhaps;
            const auto run = std::find_if(those.begin(), those.end(), goes_on);
            if (run == those.end())
                continue;
            const std::string ends_in = machines_[index].name + (surely ? " runs" : " may run");
            Fact fact{surely ? Status::fails : Status::maybe, *run, ends_in, {}, 0, surely};
            fact.acts.push_back(fault.text);
            fact.acts.push_back(act);
            effect.losses.push_back({index, rule, name, std::move(fact), {}});
            any = true;
            return surely;
        }
        return false;
    };
    const bool trip = kind == Variable::Kind::overload;
    if (!loses(trip ? "overload-cuts" : "stop-cuts", before.runs))
        (void)loses(trip ? "overload-cuts" : "stop-beats-start", before.held_runs);
    if (!any && !before.all_runs_looked_for)
        effect.undecided.push_back(index);
}

void FaultJudge::search(std::span<const Fault> faults, const MachineSeen &machine, const Open &open, bool only_stops,
                        FaultEffect &effect) {
    Healthy &before = healthy(machine.index);
    if (bounded_ && before.work > most_work_) {
        effect.undecided.push_back(machine.index);
        return;
    }
    const std::size_t work_before = network_work();
    MachineSearch search(context_, machine, first_extent(context_, machine), faults);
    Noticing noticing(search);
    search.watch([&](const Exploration::Transition &t) {
        noticing.see(t);
        if (bounded_ && before.work + network_work() - work_before > most_work_)
            search.exploration().stop();
    });
    WitnessRun whole(context_, reach_with(context_, machine, faults, Extent::everything), faults);
    const auto asked = [&](const std::string &rule, const std::string &subject) {
        return (only_stops ? is_stop_rule(rule) : can_be_lost(rule)) && before.held(rule, subject);
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
                   return is_start_rule(fact.first.first) && asked(fact.first.first, fact.first.second) &&
                          fact.second.status == Status::fails && fact.second.sure;
               }));
    };
    Seen seen = see(search, faults, machine, whole, nothing_else_fails, asked, all_lost);
    if (bounded_)
        before.work += network_work() - work_before;
    bool lost = false;
    for (auto &[key, fact] : seen.shown) {
        const FaultTrial::Acts &acts = fact.acts;
        if (std::none_of(faults.begin(), faults.end(), [&](const Fault &fault) {
                return std::find(acts.begin(), acts.end(), fault.text) != acts.end();
            }))
            continue; // it takes no fault to do that
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
    if (lost && effect.noticed.empty())
        effect.noticed = seen.complete ? noticing.text() : trial_with(faults, machine, wider).noticed();
}

FaultEffect FaultJudge::effect_on(const Fault &fault, std::uint32_t machine) {
    FaultEffect effect;
    const std::uint32_t variable = fault.device == none ? none : context_.compiled.variable_of[fault.device];
    const bool stop = variable != none && context_.stop_of[variable] != none;
    if (fault.kind == Fault::Kind::detach || fault.kind == Fault::Kind::blind ||
        (fault.kind == Fault::Kind::jam && stop))
        act_taken_away(fault, machine, effect);
    else
        judge({&fault, 1}, machines_[machine], false, effect);
    return effect;
}

namespace {

void add(FaultEffect &all, FaultEffect one) {
    std::move(one.losses.begin(), one.losses.end(), std::back_inserter(all.losses));
    all.undecided.insert(all.undecided.end(), one.undecided.begin(), one.undecided.end());
    all.incomplete.insert(all.incomplete.end(), one.incomplete.begin(), one.incomplete.end());
    if (all.noticed.empty())
        all.noticed = std::move(one.noticed);
}

} // namespace

FaultEffect FaultJudge::effect_of(const FaultCase &one) {
    FaultEffect all;
    for (const std::uint32_t machine : one.machines)
        add(all, effect_on(one.fault, machine));
    return all;
}

const std::vector<std::pair<FaultCase, FaultEffect>> &FaultJudge::singles() {
    if (singles_)
        return *singles_;
    bounded_ = true;
    FaultList list = single_faults(context_, machines_);
    left_out_ = std::move(list.left_out);
    std::vector<std::vector<std::uint32_t>> cases_of(machines_.size());
    for (std::uint32_t i = 0; i < list.cases.size(); ++i)
        for (const std::uint32_t machine : list.cases[i].machines)
            cases_of[machine].push_back(i);
    std::vector<std::vector<FaultEffect>> effects(machines_.size()); // per machine, of its cases
    in_parallel(machines_.size(), context_.options.threads, [&] {
        return [&, tools = std::make_unique<Tools>(context_)](std::size_t machine) mutable {
            FaultJudge beside(*tools, *this);
            for (const std::uint32_t i : cases_of[machine])
                effects[machine].push_back(beside.effect_on(list.cases[i].fault, static_cast<std::uint32_t>(machine)));
        };
    });
    singles_.emplace();
    for (FaultCase &one : list.cases)
        singles_->emplace_back(std::move(one), FaultEffect{});
    for (std::size_t machine = 0; machine < effects.size(); ++machine) // in the order of each fault's machines
        for (std::size_t k = 0; k < effects[machine].size(); ++k)
            add((*singles_)[cases_of[machine][k]].second, std::move(effects[machine][k]));
    return *singles_;
}

FaultEffect FaultJudge::lost(std::span<const Fault> faults, std::uint32_t machine, Of what) {
    FaultEffect effect;
    judge(faults, machines_[machine], what == Of::stops, effect);
    return effect;
}

std::pair<const std::vector<FaultTrial::Acts> &, FaultTrial::Runs> FaultJudge::Healthy::ways() const {
    if (!runs.surely.empty())
        return {runs.surely, FaultTrial::Runs::freely};
    if (!held_runs.surely.empty())
        return {held_runs.surely, FaultTrial::Runs::while_held};
    return {!runs.perhaps.empty() ? runs.perhaps : held_runs.perhaps, FaultTrial::Runs::perhaps};
}

bool FaultJudge::hides(const Fault &fault, std::uint32_t index) {
    if (healthy(index).ways().first.empty())
        return true; // it never runs: it shows nothing
    std::optional<FaultTrial> wider;
    return !trial_with({&fault, 1}, machines_[index], wider).shows();
}

bool FaultJudge::never_runs(std::uint32_t machine) {
    const Healthy &before = healthy(machine);
    return before.all_runs_looked_for && before.ways().first.empty();
}

bool FaultJudge::surely_stops(std::uint32_t stop, std::uint32_t index) {
    if (proves_cut(tools_.structure, context_, machines_[index], context_.stops[stop].variable))
        return true;
    const Healthy &one = healthy(index);
    const std::string &name = context_.stops[stop].name;
    return one.complete && one.held("stop-cuts", name) && one.held("stop-beats-start", name);
}

bool FaultJudge::shows(const Fault &fault, std::uint32_t index) {
    return !healthy(index).runs.surely.empty() && !hides(fault, index);
}

bool FaultJudge::shows_once_used(const Fault &fault, std::uint32_t index, std::uint32_t stop) {
    return !healthy(index).runs.surely.empty() && trial(index).put({&fault, 1}) &&
           trial(index).shows_once_used(context_.stops[stop].variable);
}

FaultTrial &FaultJudge::trial(std::uint32_t index) {
    Healthy &before = healthy(index);
    if (!before.trial) {
        const auto [runs, how] = before.ways();
        before.trial = std::make_unique<FaultTrial>(context_, machines_[index], runs, how);
    }
    return *before.trial;
}

bool FaultJudge::can_be_tried(std::span<const Fault> faults, const Healthy &before) {
    return !before.runs.surely.empty() && std::none_of(faults.begin(), faults.end(), [](const Fault &fault) {
        return fault.kind == Fault::Kind::jam;
    });
}

// @param wider  made where the faults join something else to the machine
FaultTrial &FaultJudge::trial_with(std::span<const Fault> faults, const MachineSeen &machine,
                                   std::optional<FaultTrial> &wider) {
    if (trial(machine.index).put(faults))
        return trial(machine.index);
    const auto [runs, how] = healthy(machine.index).ways();
    return wider.emplace(context_, machine, runs, how, faults);
}

void FaultJudge::judge(std::span<const Fault> faults, const MachineSeen &machine, bool only_stops,
                       FaultEffect &effect) {
    Healthy &before = healthy(machine.index);
    // A wire less gives no coil a way to a source that it did not have.
    if (before.proven && std::all_of(faults.begin(), faults.end(), only_parts))
        return;
    const StopGroups groups(*rows_, context_, machine, faults);
    if (groups.faults_like_these.empty() || before.runs_by_stops) {
        (void)judge(faults, machine, groups, only_stops, effect);
        return;
    }
    const auto known = before.judged.find({groups.faults_like_these, only_stops});
    if (known != before.judged.end())
        if (auto as = as_judged(known->second, faults, machine, groups)) {
            effect = std::move(*as);
            return;
        }
    Judged judged{{}, groups.stops, {}, judge(faults, machine, groups, only_stops, effect)};
    for (const Fault &fault : faults)
        judged.faults.push_back(fault.text);
    judged.effect = effect;
    if (known == before.judged.end())
        before.judged.emplace(std::pair{groups.faults_like_these, only_stops}, std::move(judged));
}

// What is done to one stop, done to another.
FaultJudge::Renamed FaultJudge::acts_of(std::uint32_t from, std::uint32_t to) const {
    const StopSeen &a = context_.stops[from], &b = context_.stops[to];
    Renamed acts{{"tap " + a.name, "tap " + b.name}};
    for (const bool on : {true, false})
        acts[act_text(context_.actors[a.variable], context_.compiled.variables[a.variable].kind, on)] =
            act_text(context_.actors[b.variable], context_.compiled.variables[b.variable].kind, on);
    return acts;
}

namespace {

void rename(std::vector<std::string> &acts, const std::map<std::string, std::string> &renamed) {
    for (std::string &act : acts)
        if (const auto other = renamed.find(act); other != renamed.end())
            act = other->second;
}

} // namespace

// What was found of the first stop of a group is so of all of it; the others' first stops stand for their groups there
// and here.
std::optional<FaultEffect> FaultJudge::as_judged(const Judged &like, std::span<const Fault> faults,
                                                 const MachineSeen &machine, const StopGroups &groups) const {
    FaultEffect effect{{}, like.effect.undecided, like.effect.noticed, like.effect.incomplete};
    if (like.effect.losses.empty())
        return effect;
    Renamed firsts;
    std::map<std::string, std::uint32_t> first_of; // by name: group
    std::set<std::string> others;
    for (std::uint32_t group = 0; group < groups.stops.size(); ++group) {
        const std::uint32_t first = like.stops[group][0];
        firsts.merge(acts_of(first, groups.stops[group][0]));
        first_of[context_.stops[first].name] = group;
        for (const std::uint32_t stop : like.stops[group])
            if (stop != first)
                others.insert(context_.stops[stop].name);
    }
    for (std::size_t i = 0; i < faults.size(); ++i)
        firsts[like.faults[i]] = faults[i].text;
    std::optional<WitnessRun> whole;
    if (like.searched)
        whole.emplace(context_, reach_with(context_, machine, faults, Extent::everything), faults);
    std::vector<std::pair<std::uint32_t, Loss>> found; // with the stop that is lost
    const auto add = [&](const Loss &loss, const std::string &subject, const Renamed &acts, std::uint32_t stop) {
        Loss as = loss;
        as.subject = subject;
        rename(as.fact.acts, acts);
        rename(as.fact.runs_on, acts);
        if (whole) {
            const WitnessRun::Result end = whole->run(as.fact.acts);
            const State *failing = nullptr;
            if (!confirmed(as.fact, as.rule, machine, *whole, end, &failing))
                return false;
            as.path = failing ? whole->holding_path(*failing, machine.power_armatures, machine.seeds.power[0])
                              : std::vector<std::string>();
        }
        found.emplace_back(loss.rule == "stop-cuts" ? stop : none, std::move(as));
        return true;
    };
    for (const Loss &loss : like.effect.losses) {
        if (others.contains(loss.subject))
            continue;
        const auto group = first_of.find(loss.subject);
        if (group == first_of.end()) {
            const auto fault = firsts.find(loss.subject);
            if (!add(loss, fault == firsts.end() ? loss.subject : fault->second, firsts, none))
                return std::nullopt;
            continue;
        }
        for (const std::uint32_t stop : groups.stops[group->second]) {
            Renamed acts = acts_of(like.stops[group->second][0], stop);
            acts.insert(firsts.begin(), firsts.end());
            if (!add(loss, context_.stops[stop].name, acts, stop))
                return std::nullopt;
        }
    }
    // In the order in which they are found one by one.
    std::stable_sort(found.begin(), found.end(), [&](const auto &a, const auto &b) {
        return like.searched ? std::tie(a.second.rule, a.second.subject) < std::tie(b.second.rule, b.second.subject)
                             : a.first < b.first;
    });
    for (auto &[stop, loss] : found)
        effect.losses.push_back(std::move(loss));
    return effect;
}

bool FaultJudge::judge(std::span<const Fault> faults, const MachineSeen &machine, const StopGroups &groups,
                       bool only_stops, FaultEffect &effect) {
    Structure &structure = tools_.structure;
    for (const Fault &fault : faults)
        switch (fault.kind) {
        case Fault::Kind::earth:
            structure.suppose_joined(fault.a, context_.compiled.earth);
            break;
        case Fault::Kind::bridge:
        case Fault::Kind::stays_closed:
            structure.suppose_joined(fault.a, fault.b);
            break;
        case Fault::Kind::broken:
        case Fault::Kind::stays_open:
            break;
        default:
            structure.suppose(context_.compiled.variable_of[fault.device], Structure::acted);
            break;
        }
    Open open = not_proven(machine, groups);
    structure.suppose_nothing();
    if (only_stops) {
        open.trips.clear();
        open.start = false;
    }
    for (const auto &[variables, rule] : {std::pair{&open.stops, "stop-cuts"}, {&open.trips, "overload-cuts"}})
        std::erase_if(*variables, [&, rule = rule](std::uint32_t variable) {
            return healthy(machine.index).fails_anyway(rule, context_.name(variable));
        });
    if (open.nothing() || hangs_harmless(faults, machine) || all_shown(faults, machine, groups, open, effect))
        return false;
    search(faults, machine, open, only_stops, effect);
    return true;
}

// A fault in what only hangs on the machine's circuit can do no more than join the nets that it hangs on, now and then.
// That is asked once for all such faults, and takes no other machine's devices.
bool FaultJudge::hangs_harmless(std::span<const Fault> faults, const MachineSeen &machine) {
    const Fault &fault = faults[0];
    if (faults.size() != 1 || !joins_nets(fault))
        return false;
    Healthy &before = healthy(machine.index);
    if (!before.hanging)
        before.hanging.emplace(context_, machine);
    Fault joins{fault.kind, none, none, none, {}, fault.text, true};
    bool hangs = false;
    for (const auto &[net, own] : {std::pair{fault.a, &joins.a}, {fault.b, &joins.b}}) {
        if (net == none)
            continue;
        const std::set<std::uint32_t> &leads_to = before.hanging->of(net);
        if (leads_to.size() != 1)
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

bool FaultJudge::all_shown(std::span<const Fault> faults, const MachineSeen &machine, const StopGroups &groups,
                           const Open &open, FaultEffect &effect) {
    const Healthy &before = healthy(machine.index);
    // One of several overloads need not carry the current of the way the machine runs in.
    if (!can_be_tried(faults, before) || (!open.trips.empty() && machine.overloads.size() > 1))
        return false;
    std::optional<FaultTrial> wider;
    FaultTrial &trial = trial_with(faults, machine, wider);
    std::vector<Loss> found;
    const auto test = [&](const std::string &rule, const std::string &subject, std::optional<Fact> seen) {
        if (seen)
            found.push_back({machine.index, rule, subject, std::move(*seen), {}});
        return seen.has_value();
    };
    std::map<std::uint32_t, Fact> of_group; // of its first stop
    for (const std::uint32_t variable : open.stops) {
        const std::uint32_t stop = context_.stop_of[variable], group = groups.group_of.at(stop);
        const auto first = of_group.find(group);
        std::optional<Fact> seen;
        if (first == of_group.end() || before.runs_by_stops) {
            seen = trial.outlives(variable);
            if (seen)
                of_group.emplace(group, *seen);
        } else {
            seen = first->second;
            rename(seen->acts, acts_of(groups.stops[group][0], stop));
        }
        if (!test("stop-cuts", context_.name(variable), std::move(seen)))
            return false;
    }
    for (const std::uint32_t variable : open.trips)
        if (!test("overload-cuts", context_.name(variable), trial.outlives(variable)))
            return false;
    const bool starts_anyway = std::any_of(before.failing.begin(), before.failing.end(),
                                           [](const auto &seen) { return is_start_rule(seen.first.first); });
    if (open.start && (starts_anyway || !test("own-start", faults.back().text, trial.starts())))
        return false;
    if (!found.empty() && effect.noticed.empty())
        effect.noticed = trial.noticed();
    std::move(found.begin(), found.end(), std::back_inserter(effect.losses));
    return true;
}

} // namespace stopspan
