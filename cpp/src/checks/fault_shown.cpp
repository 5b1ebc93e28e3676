#include "checks/fault_effects.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

void rename(std::vector<std::string> &acts, const std::map<std::string, std::string> &renamed) {
    for (std::string &act : acts)
        if (const auto other = renamed.find(act); other != renamed.end())
            act = other->second;
}

} // namespace

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
    const bool trip = kind == Variable::Kind::overload;
    // Past a held button that itself feeds the motor no trip stops it: none is lost.
    const auto stops = [&](FaultTrial::Acts run) {
        WitnessRun &whole = tools_.witness_run(machines_[index].seeds);
        run.push_back(act);
        return !trip || whole.runs(index, whole.run(run)) != Tri::on;
    };
    bool any = false;
    // @returns whether it is lost for sure
    const auto loses = [&](const std::string &rule, const Ways &ways) {
        if (before.fails_anyway(rule, name))
            return false;
        for (const bool surely : {true, false}) {
            const auto &those = surely ? ways.surely : ways.perhaps;
            const auto run = std::find_if(those.begin(), those.end(),
                                          [&](const FaultTrial::Acts &acts) { return goes_on(acts) && stops(acts); });
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
    if (!loses(trip ? "overload-cuts" : "stop-cuts", before.runs))
        (void)loses(trip ? "overload-cuts" : "stop-beats-start", before.held_runs);
    if (!before.fails_anyway("stop-cuts", name) && context_.stop_of[variable] != none)
        for (auto [key, fact] : before.delayed_starts) { // it outlives the stop
            fact.acts.insert(fact.acts.end() - 1, {fault.text, act});
            effect.losses.push_back({index, key.first, key.second, std::move(fact), {}});
            any = true;
        }
    if (!any && !before.all_runs_looked_for)
        effect.undecided.push_back(index);
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

WitnessRun &FaultJudge::whole_with(std::span<const Fault> faults, const MachineSeen &machine,
                                   std::optional<WitnessRun> &wider) {
    Healthy &before = healthy(machine.index);
    if (std::none_of(faults.begin(), faults.end(), only_parts)) {
        if (!before.whole)
            before.whole =
                std::make_unique<WitnessRun>(context_, reach_with(context_, machine, {}, Extent::everything));
        if (before.whole->put(faults))
            return *before.whole;
    }
    return wider.emplace(context_, reach_with(context_, machine, faults, Extent::everything), faults);
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

// What was found of the first stop of a group is so of all of it; the others' first stops stand for their groups there
// and here.
std::optional<FaultEffect> FaultJudge::as_judged(const Judged &like, std::span<const Fault> faults,
                                                 const MachineSeen &machine, const StopGroups &groups) {
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
    std::optional<WitnessRun> wider;
    WitnessRun *whole = like.searched ? &whole_with(faults, machine, wider) : nullptr;
    std::vector<std::pair<std::uint32_t, Loss>> found;                    // with the stop that is lost
    std::map<std::vector<std::string>, std::vector<std::string>> path_of; // what goes one way there goes one way here
    const auto add = [&](const Loss &loss, const std::string &subject, const Renamed &acts, std::uint32_t stop) {
        Loss as = loss;
        as.subject = subject;
        rename(as.fact.acts, acts);
        rename(as.fact.runs_on, acts);
        const auto [path, fresh] = path_of.try_emplace(loss.path);
        if (fresh && whole) {
            const WitnessRun::Result end = whole->run(as.fact.acts);
            const State *failing = nullptr;
            if (!confirmed(as.fact, as.rule, machine, *whole, end, &failing))
                return false;
            if (failing)
                path->second = whole->holding_path(*failing, machine.power_armatures, machine.seeds.power[0]);
        }
        as.path = path->second;
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
    if (!found.empty() && effect.noticed.how == Noticed::How::nowhere)
        effect.noticed = trial.noticed();
    std::move(found.begin(), found.end(), std::back_inserter(effect.losses));
    return true;
}

} // namespace stopspan
