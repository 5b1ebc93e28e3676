#include "checks/hidden_fault.hpp"
#include "checks/fault_targets.hpp"
#include "checks/left_out.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// Evaluations per machine, in network_work(): pairs are many where the structure proves little.
constexpr std::size_t most_work = 300'000;

// What only takes acts away is either a loss by itself or none at all; a start jammed on hides nowhere.
bool pairs(const Fault &fault) {
    return fault.kind != Fault::Kind::detach && fault.kind != Fault::Kind::blind && fault.kind != Fault::Kind::jam;
}

} // namespace

HiddenPairs hidden_pairs(FaultJudge &judge, const std::function<bool(std::uint32_t machine)> &wanted) {
    const auto &singles = judge.singles();
    struct OfMachine {
        std::vector<std::uint32_t> hidden, harmless; ///< indices into singles
    };
    std::vector<OfMachine> machines(judge.machines().size());
    std::set<std::pair<std::uint32_t, std::uint32_t>> shorts;
    for (const auto &[one, effect] : singles)
        if (one.fault.kind == Fault::Kind::bridge)
            shorts.emplace(one.fault.a, one.fault.b);
    for (std::uint32_t i = 0; i < singles.size(); ++i) {
        const FaultCase &one = singles[i].first;
        const FaultEffect &effect = singles[i].second;
        // A contact that stays closed is as good as a short across it.
        if (one.fault.kind == Fault::Kind::stays_closed && shorts.contains(std::minmax(one.fault.a, one.fault.b)))
            continue;
        if (!pairs(one.fault) || !effect.losses.empty() || !effect.undecided.empty() ||
            std::none_of(one.machines.begin(), one.machines.end(), wanted))
            continue;
        const bool hides = std::all_of(one.machines.begin(), one.machines.end(),
                                       [&](std::uint32_t machine) { return judge.hides(one.fault, machine); });
        for (const std::uint32_t machine : one.machines) {
            if (judge.never_runs(machine))
                continue; // nothing to lose
            machines[machine].harmless.push_back(i);
            if (hides)
                machines[machine].hidden.push_back(i);
        }
    }
    HiddenPairs found;
    found.left.resize(machines.size());
    for (std::uint32_t machine = 0; machine < machines.size(); ++machine) {
        if (!wanted(machine))
            continue;
        std::set<std::pair<std::uint32_t, std::uint32_t>> tried;
        const std::size_t end_of_work = network_work() + most_work;
        for (const std::uint32_t first : machines[machine].hidden)
            for (const std::uint32_t second : machines[machine].harmless) {
                if (first == second || !tried.insert(std::minmax(first, second)).second)
                    continue;
                if (network_work() > end_of_work) {
                    ++found.left[machine];
                    continue;
                }
                const std::array<Fault, 2> both{singles[first].first.fault, singles[second].first.fault};
                FaultEffect effect = judge.lost(both, machine, FaultJudge::Of::stops);
                if (effect.losses.empty() && effect.undecided.empty()) {
                    ++found.harmless;
                    continue;
                }
                FaultEffect &all = found.lost[{first, second}];
                std::move(effect.losses.begin(), effect.losses.end(), std::back_inserter(all.losses));
                all.undecided.insert(all.undecided.end(), effect.undecided.begin(), effect.undecided.end());
                all.incomplete.insert(all.incomplete.end(), effect.incomplete.begin(), effect.incomplete.end());
            }
    }
    return found;
}

// A fault that takes nothing away and shows nowhere, and then a second one: do stops outlive both?
Decided decide_hidden_faults(FaultJudge &judge) {
    const std::string rule = "hidden-fault";
    Decided decided;
    const FaultTargets targets(judge, Target::accumulated_faults);
    const auto &singles = judge.singles();
    if (!judge.context().wants("single-fault")) // which tells it else
        decided.not_checked = told_left_out(judge.context(), "single-fault", judge.left_out());
    const HiddenPairs found = hidden_pairs(judge, [](std::uint32_t) { return true; });
    decided.count(rule, "holds", found.harmless);
    for (std::uint32_t machine = 0; machine < found.left.size(); ++machine)
        if (const std::size_t left = found.left[machine]; left > 0)
            decided.add({.rule = rule,
                         .status = targets.holds_for(machine) ? Status::undecided : Status::note,
                         .subjects = {judge.machines()[machine].name},
                         .text = "Of the pairs of faults of which the first shows nowhere at " +
                                 judge.machines()[machine].name + ", " + std::to_string(left) +
                                 " were not tried: they would take too long."});
    for (const auto &[pair, effect] : found.lost) {
        const Fault &first = singles[pair.first].first.fault, &second = singles[pair.second].first.fault;
        std::vector<std::string> subjects = judge.subjects(first, {});
        for (const std::string &name : judge.subjects(second, effect))
            if (std::find(subjects.begin(), subjects.end(), name) == subjects.end())
                subjects.push_back(name);
        const FaultEffect counted = targets.counted(effect);
        const bool lost = !effect.losses.empty(), fails = !counted.losses.empty();
        Status status = counted.undecided.empty() ? Status::note : Status::undecided;
        Witness witness;
        if (lost) {
            const Loss &worst = worst_of(fails ? counted : effect);
            witness = {worst.fact.acts, worst.path, worst.fact.ends_in};
            if (fails && worst.fact.status == Status::fails)
                status = Status::fails;
            else if (fails && status == Status::note)
                status = worst.fact.status;
        }
        decided.add({.rule = rule,
                     .status = status,
                     .subjects = subjects,
                     .text = "The fault '" + first.text + "' shows nowhere; with '" + second.text + "' as well " +
                             (lost ? judge.consequences(effect) + "." + targets.sentence(effect)
                                   : "it is not decided what stops " + judge.names(effect.undecided) + "."),
                     .witness = witness});
    }
    return decided;
}

} // namespace stopspan
