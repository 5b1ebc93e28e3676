#include "checks/fault_effects.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

// What all faults of a machine together may take: so much per state of the budget of one search, but not less than
// this.
constexpr std::size_t work_per_state = 500, least_work = 2'000'000;

} // namespace

FaultJudge::FaultJudge(Tools &tools, const std::vector<MachineSeen> &machines)
    : FaultJudge(tools, machines, std::max(least_work, work_per_state * tools.context.options.state_budget)) {}

FaultJudge::FaultJudge(Tools &tools, const std::vector<MachineSeen> &machines, std::size_t most_work)
    : tools_(tools), context_(tools.context), machines_(machines),
      words_(context_.compiled.machines, context_.compiled.device_names, &context_.compiled.net_names),
      rows_(std::make_shared<StopRows>(context_)), healthy_(std::make_shared<std::vector<Healthy>>(machines.size())),
      most_work_(most_work) {}

FaultJudge::FaultJudge(Tools &tools, const FaultJudge &other)
    : tools_(tools), context_(tools.context), machines_(other.machines_), words_(other.words_), rows_(other.rows_),
      healthy_(other.healthy_), most_work_(other.most_work_), bounded_(other.bounded_) {}

FaultJudge::Open FaultJudge::not_proven(const MachineSeen &machine, const StopGroups &groups, bool only_stops,
                                        Lines lines) {
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
    if (only_stops)
        return open;
    std::copy_if(machine.overloads.begin(), machine.overloads.end(), std::back_inserter(open.trips),
                 [&](std::uint32_t overload) { return !proven(overload); });
    open.start = !proves_no_start(tools_.structure, context_, machine, lines);
    return open;
}

void FaultEffect::add(FaultEffect other) {
    std::move(other.losses.begin(), other.losses.end(), std::back_inserter(losses));
    undecided.insert(undecided.end(), other.undecided.begin(), other.undecided.end());
    incomplete.insert(incomplete.end(), other.incomplete.begin(), other.incomplete.end());
    if (noticed.how == Noticed::How::nowhere)
        noticed = std::move(other.noticed);
}

bool FaultJudge::takes_an_act_away(const Fault &fault) const {
    const std::uint32_t variable = fault.device == none ? none : context_.compiled.variable_of[fault.device];
    const bool stop = variable != none && context_.stop_of[variable] != none;
    return fault.kind == Fault::Kind::detach || fault.kind == Fault::Kind::blind ||
           (fault.kind == Fault::Kind::jam && stop);
}

std::optional<FaultEffect> FaultJudge::effect_by_structure(const Fault &fault, std::uint32_t index,
                                                           std::string &like_these) {
    if (takes_an_act_away(fault))
        return effect_on(fault, index);
    const MachineSeen &machine = machines_[index];
    if (healthy(index).proven && only_parts(fault))
        return FaultEffect{};
    const std::span<const Fault> alone(&fault, 1);
    StopGroups groups(*rows_, context_, machine, alone);
    if (left_open(alone, machine, groups, false).nothing())
        return FaultEffect{};
    like_these = std::move(groups.faults_like_these);
    return std::nullopt;
}

FaultEffect FaultJudge::effect_on(const Fault &fault, std::uint32_t machine) {
    FaultEffect effect;
    if (takes_an_act_away(fault))
        act_taken_away(fault, machine, effect);
    else
        judge({&fault, 1}, machines_[machine], false, effect);
    return effect;
}

FaultEffect FaultJudge::effect_of(const FaultCase &one) {
    FaultEffect all;
    for (const std::uint32_t machine : one.machines)
        all.add(effect_on(one.fault, machine));
    return all;
}

FaultEffect FaultJudge::lost(std::span<const Fault> faults, std::uint32_t machine, Of what) {
    FaultEffect effect;
    judge(faults, machines_[machine], what == Of::stops, effect);
    return effect;
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

bool FaultJudge::surely_trips(std::uint32_t overload, std::uint32_t index) {
    const MachineSeen &machine = machines_[index];
    if (proves_cut(tools_.structure, context_, machine, overload))
        return true;
    const Healthy &one = healthy(index);
    return std::find(machine.overloads.begin(), machine.overloads.end(), overload) != machine.overloads.end() &&
           one.complete && one.held("overload-cuts", context_.name(overload));
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

// Supposes that what stands at the terminal may have come off.
// @returns whether that is of the machine's power circuit, or a coil there, or a source
bool FaultJudge::parts_power(const Fault &fault, const MachineSeen &machine) {
    const Compiled &compiled = context_.compiled;
    const Device &device = context_.circuit.devices()[fault.device];
    bool of_contact = false, in_power = false;
    for (const std::uint32_t i : context_.lookup.switches_at[device.net_of(fault.terminal)->value]) {
        const Switch &one = compiled.switches[i];
        if (one.device != fault.device)
            continue;
        if (const auto [a, b] = ends_at(device, one, fault.terminal); !a && !b)
            continue;
        tools_.structure.suppose_loose(one);
        of_contact = true;
        in_power |= std::binary_search(machine.power_switches.begin(), machine.power_switches.end(), i);
    }
    if (of_contact)
        return in_power;
    const auto of_the_device = [&](const auto &one) { return one.device == fault.device; };
    return std::any_of(compiled.sources.begin(), compiled.sources.end(), of_the_device) ||
           std::any_of(machine.motors.begin(), machine.motors.end(),
                       [&](const MotorSeen *motor) { return of_the_device(*motor); }) ||
           std::any_of(machine.power_armatures.begin(), machine.power_armatures.end(),
                       [&](std::uint32_t armature) { return of_the_device(compiled.armatures[armature]); });
}

FaultJudge::Open FaultJudge::left_open(std::span<const Fault> faults, const MachineSeen &machine,
                                       const StopGroups &groups, bool only_stops) {
    Structure &structure = tools_.structure;
    bool in_power = false;
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
            in_power |= parts_power(fault, machine);
            break;
        default:
            structure.suppose(context_.compiled.variable_of[fault.device], Structure::acted);
            break;
        }
    Open open = not_proven(machine, groups, only_stops, Lines::whole); // a line lost by itself is a fault, too
    structure.suppose_nothing();
    open.start |= in_power && !only_stops; // a contactor that is in may no longer mean that it runs
    for (const auto &[variables, rule] : {std::pair{&open.stops, "stop-cuts"}, {&open.trips, "overload-cuts"}})
        std::erase_if(*variables, [&, rule = rule](std::uint32_t variable) {
            return healthy(machine.index).fails_anyway(rule, context_.name(variable));
        });
    return open;
}

bool FaultJudge::judge(std::span<const Fault> faults, const MachineSeen &machine, const StopGroups &groups,
                       bool only_stops, FaultEffect &effect) {
    const Open open = left_open(faults, machine, groups, only_stops);
    if (open.nothing() || hangs_harmless(faults, machine) || all_shown(faults, machine, groups, open, effect))
        return false;
    search(faults, machine, open, only_stops, effect);
    return true;
}

} // namespace stopspan
