#include "base/parallel.hpp"
#include "checks/machine_search.hpp"
#include "checks/retelling.hpp"

#include <algorithm>
#include <mutex>

// What one fault does to one machine is so of all faults and machines that are their like: where many machines hang on
// each other, as interlocked ones, most are.

namespace stopspan {
namespace {

// A larger part of the circuit takes longer to put into words than most faults take to be judged.
constexpr std::size_t most_around = 500; // things with positions

} // namespace

void FaultJudge::on_each(const std::vector<std::uint32_t> &machines,
                         const std::function<void(FaultJudge &beside, std::uint32_t machine)> &work) {
    in_parallel(machines.size(), context_.options.threads, [&] {
        return [&, tools = std::make_unique<Tools>(context_)](std::size_t k) mutable {
            FaultJudge beside(*tools, *this);
            work(beside, machines[k]);
        };
    });
}

void FaultJudge::judge_alike(
    const std::vector<std::uint32_t> &machines, const std::vector<FaultCase> &cases,
    const std::vector<std::vector<std::uint32_t>> &cases_of,
    const std::function<std::optional<FaultEffect>(std::uint32_t machine, const Fault &fault)> &known,
    std::vector<std::vector<FaultEffect>> &effects) {
    struct Left {
        std::size_t at;             ///< of the machine's cases
        std::string like_these;     ///< as StopGroups has it
        bool others_first = false;  ///< the machine has another of these before
        std::uint32_t words = none; ///< which: the same for all that are alike
        std::optional<MachineSurroundings> around;
        std::pair<std::uint32_t, std::size_t> like; ///< machine and which of its cases left, the first alike
    };
    std::vector<std::vector<Left>> left(machines_.size());
    std::map<std::vector<std::uint64_t>, std::uint32_t> words_met; // numbered as they come
    std::mutex meeting;
    const bool by_itself = context_.small();
    const std::vector<std::uint32_t> makes = makes_of(context_.circuit);
    const auto fault_at = [&](std::uint32_t machine, std::size_t at) -> const Fault & {
        return cases[cases_of[machine][at]].fault;
    };
    on_each(machines, [&](FaultJudge &beside, std::uint32_t machine) {
        effects[machine].resize(cases_of[machine].size());
        std::set<std::string> met;
        std::optional<bool> can_be_told;
        for (std::size_t at = 0; at < cases_of[machine].size(); ++at) {
            const Fault &fault = fault_at(machine, at);
            std::optional<FaultEffect> effect = known(machine, fault);
            std::string like_these;
            if (!effect)
                effect = beside.effect_by_structure(fault, machine, like_these);
            if (effect) {
                effects[machine][at] = std::move(*effect);
                continue;
            }
            Left &one = left[machine].emplace_back();
            one.at = at;
            one.others_first = !like_these.empty() && !met.insert(like_these).second;
            one.like_these = std::move(like_these);
            if (by_itself || one.others_first || only_parts(fault))
                continue;
            if (!can_be_told)
                can_be_told = connected_variables(context_, machines_[machine]) <= most_around;
            if (!*can_be_told)
                continue;
            one.around.emplace(context_, machines_[machine], makes, *rows_, fault);
            auto words = one.around->take_words();
            const std::lock_guard lock(meeting);
            one.words =
                words_met.try_emplace(std::move(words), static_cast<std::uint32_t>(words_met.size())).first->second;
        }
    });
    std::map<std::uint32_t, std::pair<std::uint32_t, std::size_t>> first_with;
    for (const std::uint32_t machine : machines)
        for (std::size_t k = 0; k < left[machine].size(); ++k) {
            Left &one = left[machine][k];
            one.like = {machine, k};
            if (one.words != none)
                one.like = first_with.try_emplace(one.words, one.like).first->second;
        }
    on_each(machines, [&](FaultJudge &beside, std::uint32_t machine) {
        for (std::size_t k = 0; k < left[machine].size(); ++k)
            if (const Left &one = left[machine][k]; one.like == std::pair{machine, k} && !one.others_first)
                effects[machine][one.at] = beside.effect_on(fault_at(machine, one.at), machine);
    });
    on_each(machines, [&](FaultJudge &beside, std::uint32_t machine) {
        for (std::size_t k = 0; k < left[machine].size(); ++k) {
            const Left &one = left[machine][k];
            const Fault &fault = fault_at(machine, one.at);
            if (one.others_first)
                effects[machine][one.at] = beside.effect_on(fault, machine);
            if (one.like == std::pair{machine, k})
                continue;
            const auto &[like, which] = one.like;
            const Left &first = left[like][which];
            const FaultEffect &found = effects[like][first.at];
            std::optional<FaultEffect> effect;
            if (found.undecided.empty()) { // else it may have been that machine's other faults that took so long
                const Retelling told(Vocabulary(context_, *first.around), machines_[like],
                                     {&fault_at(like, first.at), 1}, found, Retelling::Paths::left);
                effect = beside.as_alike(told, *one.around, fault, machine);
            }
            if (effect)
                beside.keep_judged(fault, machine, one.like_these, *effect);
            effects[machine][one.at] = effect ? std::move(*effect) : beside.effect_on(fault, machine);
        }
    });
}

// For those that part the same rows of stops.
void FaultJudge::keep_judged(const Fault &fault, std::uint32_t machine, const std::string &like_these,
                             const FaultEffect &effect) {
    if (like_these.empty() || healthy(machine).runs_by_stops)
        return;
    const std::span<const Fault> alone(&fault, 1);
    healthy(machine).judged.try_emplace({like_these, false},
                                        Judged{{fault.text},
                                               StopGroups(*rows_, context_, machines_[machine], alone).stops,
                                               effect,
                                               in_order_of_names(effect.losses)});
}

std::optional<FaultEffect> FaultJudge::as_alike(const Retelling &like, const MachineSurroundings &around,
                                                const Fault &fault, std::uint32_t index) {
    const MachineSeen &machine = machines_[index];
    std::optional<FaultEffect> effect = like.of(context_, machine, around, {&fault, 1});
    if (!effect || effect->losses.empty())
        return effect;
    std::optional<WitnessRun> wider;
    WitnessRun &whole = whole_with({&fault, 1}, machine, wider);
    std::map<std::vector<std::string>, std::vector<std::string>> path_of; // what goes one way there goes one way here
    for (Loss &loss : effect->losses) {
        const auto [path, fresh] = path_of.try_emplace(loss.path);
        if (fresh) {
            const WitnessRun::Result end = whole.run(loss.fact.acts);
            const State *failing = nullptr;
            if (!confirmed(loss.fact, loss.rule, machine, whole, end, &failing))
                return std::nullopt;
            if (failing && !loss.path.empty())
                path->second = whole.holding_path(*failing, machine.power_armatures, machine.seeds.power[0]);
        }
        loss.path = path->second;
    }
    return effect;
}

} // namespace stopspan
