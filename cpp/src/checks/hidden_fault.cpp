#include "checks/hidden_fault.hpp"
#include "checks/fault_place.hpp"
#include "checks/fault_targets.hpp"
#include "checks/left_out.hpp"
#include "checks/retelling.hpp"

#include <algorithm>
#include <tuple>
#include <unordered_map>

namespace stopspan {
namespace {

// Evaluations per machine, in network_work(): pairs are many where the structure proves little. First starts and stops
// are tried, then stops alone.
constexpr std::size_t most_start_work = 1'500'000;
constexpr std::size_t most_pair_work = most_start_work + 300'000;

// What only takes acts away is either a loss by itself or none at all.
bool makes_pairs(const Context &context, const Fault &fault) {
    return fault.kind != Fault::Kind::detach && fault.kind != Fault::Kind::blind && !is_of_stop(context, fault);
}

// What faults of machines wired alike do is judged of one of these machines and told of the others.
class LikeFaults {
public:
    LikeFaults(FaultJudge &judge, FaultJudge::Of what)
        : judge_(judge), what_(what), context_(judge.context()), alike_(judge.alike()) {}

    /// The same for all that do the same; none: others like it are not known.
    std::uint32_t number_of(const Fault &fault, std::uint32_t machine) {
        const auto place = alike_.has_like(machine) ? place_of(fault, context_, *alike_.around(machine)) : std::nullopt;
        if (!place)
            return none;
        const auto next = static_cast<std::uint32_t>(numbers_.size());
        return numbers_.try_emplace({alike_.first(machine), *place}, next).first->second;
    }
    bool never_runs(std::uint32_t machine) { return judge_.never_runs(alike_.first(machine)); }
    bool hides(const Fault &fault, std::uint32_t number, std::uint32_t machine) {
        if (number == none)
            return judge_.hides(fault, machine);
        const auto [known, fresh] = hides_.try_emplace(number, false);
        if (fresh)
            known->second = judge_.hides(fault, machine);
        return known->second;
    }
    /// What two faults take away; nothing when that would take too long.
    /// @param starts_left  becomes true where only lost stops were tried
    std::optional<FaultEffect> lost(const std::array<Fault, 2> &both, std::pair<std::uint32_t, std::uint32_t> numbers,
                                    std::uint32_t index, std::size_t start_of_work, bool &starts_left) {
        const MachineSeen &machine = judge_.machines()[index];
        const auto judged = [&]() -> std::optional<FaultEffect> {
            const std::size_t work = network_work() - start_of_work;
            FaultJudge::Of what = asked_of(both);
            starts_left = what == FaultJudge::Of::everything && work > most_start_work;
            if (work > most_pair_work)
                return std::nullopt;
            return judge_.lost(both, index, starts_left ? FaultJudge::Of::stops : what);
        };
        if (numbers.first == none || numbers.second == none)
            return judged();
        const std::tuple both_in_order{numbers.first, numbers.second, both[1].later};
        const auto known = lost_.find(both_in_order);
        if (known == lost_.end()) {
            std::optional<FaultEffect> effect = judged();
            std::optional<Retelling> &told = lost_[both_in_order];
            if (starts_left)
                starts_left_.insert(both_in_order);
            if (effect)
                told.emplace(vocabularies_.try_emplace(index, context_, *alike_.around(index)).first->second, machine,
                             both, *effect);
            return effect;
        }
        starts_left = starts_left_.contains(both_in_order);
        if (!known->second)
            return std::nullopt;
        auto effect = known->second->of(context_, machine, *alike_.around(index), both);
        return effect ? effect : judged();
    }

private:
    // What only parts conductors starts little, and there are many such pairs: of these stops alone.
    FaultJudge::Of asked_of(const std::array<Fault, 2> &both) const {
        return std::any_of(both.begin(), both.end(), only_parts) ? FaultJudge::Of::stops : what_;
    }

    FaultJudge &judge_;
    FaultJudge::Of what_;
    const Context &context_;
    const AlikeMachines &alike_;
    std::map<std::pair<std::uint32_t, FaultPlace>, std::uint32_t> numbers_; ///< by the first machine of those alike
    std::map<std::uint32_t, bool> hides_;
    std::map<std::uint32_t, Vocabulary> vocabularies_; ///< by machine
    /// Nothing of a pair that would take too long: so it would again.
    std::map<std::tuple<std::uint32_t, std::uint32_t, bool>, std::optional<Retelling>> lost_;
    std::set<std::tuple<std::uint32_t, std::uint32_t, bool>> starts_left_; ///< pairs in order
};

// Where a first fault shows that does not by itself.
class ShownAt {
public:
    explicit ShownAt(FaultJudge &judge) : judge_(judge) {
        const auto &stops = judge.context().stops;
        for (std::uint32_t i = 0; i < stops.size(); ++i)
            stop_called_.emplace(stops[i].name, i);
    }
    /// @param effect  of it and a second one
    std::string where(std::uint32_t single, const FaultEffect &effect) {
        for (const Loss &loss : effect.losses)
            if (const auto stop = stop_called_.find(loss.subject); stop != stop_called_.end()) {
                const auto [known, fresh] = once_used_.try_emplace({single, loss.machine, stop->second}, false);
                if (fresh)
                    known->second =
                        judge_.shows_once_used(judge_.singles()[single].first.fault, loss.machine, stop->second);
                if (known->second)
                    return "only once " + loss.subject + " was used";
            }
        return "nowhere";
    }

private:
    FaultJudge &judge_;
    std::unordered_map<std::string_view, std::uint32_t> stop_called_;
    std::map<std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>, bool> once_used_; ///< single, machine, stop
};

} // namespace

HiddenPairs hidden_pairs(FaultJudge &judge, FaultJudge::Of what,
                         const std::function<bool(std::uint32_t machine)> &wanted) {
    const auto &singles = judge.singles();
    struct Single {
        std::uint32_t index;  ///< into singles
        std::uint32_t number; ///< of LikeFaults
    };
    struct OfMachine {
        std::vector<Single> hidden, harmless;
    };
    LikeFaults like(judge, what);
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
        if (!makes_pairs(judge.context(), one.fault) || !effect.losses.empty() || !effect.undecided.empty() ||
            std::none_of(one.machines.begin(), one.machines.end(), wanted))
            continue;
        std::vector<std::uint32_t> numbers;
        for (const std::uint32_t machine : one.machines)
            numbers.push_back(like.number_of(one.fault, machine));
        bool hides = true;
        for (std::size_t k = 0; k < numbers.size() && hides; ++k)
            hides = like.hides(one.fault, numbers[k], one.machines[k]);
        for (std::size_t k = 0; k < numbers.size(); ++k) {
            const std::uint32_t machine = one.machines[k];
            if (like.never_runs(machine))
                continue; // nothing to lose
            machines[machine].harmless.push_back({i, numbers[k]});
            if (hides)
                machines[machine].hidden.push_back({i, numbers[k]});
        }
    }
    HiddenPairs found;
    found.left.resize(machines.size());
    found.starts_left.resize(machines.size());
    found.harmless.resize(machines.size());
    for (std::uint32_t machine = 0; machine < machines.size(); ++machine) {
        if (!wanted(machine))
            continue;
        std::set<std::pair<std::uint32_t, std::uint32_t>> tried;
        const std::size_t start_of_work = network_work();
        std::set<std::uint32_t> hidden;
        for (const Single &first : machines[machine].hidden)
            hidden.insert(first.index);
        for (const Single &first : machines[machine].hidden)
            for (const Single &second : machines[machine].harmless) {
                if (first.index == second.index || !tried.insert(std::minmax(first.index, second.index)).second)
                    continue;
                std::array<Fault, 2> both{singles[first.index].first.fault, singles[second.index].first.fault};
                both[1].later = !hidden.contains(second.index); // it would not go unnoticed before the first
                bool starts_left = false;
                std::optional<FaultEffect> effect =
                    like.lost(both, {first.number, second.number}, machine, start_of_work, starts_left);
                found.starts_left[machine] += effect && starts_left;
                if (!effect)
                    ++found.left[machine];
                else if (effect->losses.empty() && effect->undecided.empty())
                    ++found.harmless[machine];
                else
                    found.lost[{first.index, second.index}].add(std::move(*effect));
            }
        found.at_bounds |= is_at_bounds(judge.context(), network_work() - start_of_work, most_start_work);
    }
    return found;
}

// A fault that takes nothing away and shows nowhere, and then a second one: do stops outlive both, and does nothing
// start?
Decided decide_hidden_faults(FaultJudge &judge) {
    const std::string rule = "hidden-fault";
    Decided decided;
    const FaultTargets targets(judge.context().targets, judge.words().machines(), Target::accumulated_faults);
    const auto &singles = judge.singles();
    if (!judge.context().wants("single-fault")) // which tells it else
        decided.not_checked = told_left_out(judge.context(), "single-fault", judge.left_out());
    const HiddenPairs found = hidden_pairs(judge, FaultJudge::Of::everything, [](std::uint32_t) { return true; });
    decided.indivisible = found.at_bounds || judge.at_bounds();
    for (std::uint32_t machine = 0; machine < found.left.size(); ++machine) {
        decided.device = judge.machines()[machine].motors[0]->device;
        decided.count(rule, "holds", found.harmless[machine]);
    }
    decided.device = none;
    for (std::uint32_t machine = 0; machine < found.left.size(); ++machine) {
        const std::string &name = judge.machines()[machine].name;
        const std::string pairs = "Of the pairs of faults of which the first shows nowhere at " + name + ", ";
        const auto tell = [&](Status status, const std::string &text) {
            decided.add({.rule = rule, .status = status, .subjects = {name}, .text = text});
        };
        if (const std::size_t left = found.left[machine]; left > 0)
            tell(targets.holds_for(machine) ? Status::undecided : Status::note,
                 pairs + std::to_string(left) + " were not tried: they would take too long.");
        if (const std::size_t left = found.starts_left[machine]; left > 0)
            tell(Status::note, pairs + "whether they start it was not tried of " + std::to_string(left) +
                                   ": it would take too long. Whether they take stops away was.");
    }
    ShownAt shown(judge);
    for (const auto &[pair, effect] : found.lost) {
        decided.device = singles[pair.first].first.device;
        decided.order = singles[pair.first].first.order;
        decided.indivisible |= decided.device == none;
        const Fault &first = singles[pair.first].first.fault, &second = singles[pair.second].first.fault;
        std::vector<std::string> subjects = judge.words().subjects(first, {});
        for (const std::string &name : judge.words().subjects(second, effect))
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
        decided.add(
            {.rule = rule,
             .status = status,
             .subjects = subjects,
             .text = "The fault '" + first.text + "' shows " + shown.where(pair.first, effect) + "; with '" +
                     second.text + "' as well " +
                     (lost ? judge.words().consequences(effect) + "." + targets.sentence(effect)
                           : "it is not decided what they do to " + judge.words().names(effect.undecided) + "."),
             .witness = witness});
    }
    return decided;
}

} // namespace stopspan
