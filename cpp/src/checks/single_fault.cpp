#include "checks/single_fault.hpp"

#include "base/parallel.hpp"
#include "checks/left_out.hpp"
#include "checks/second_overload.hpp"

namespace stopspan {
namespace {

const std::string single_fault_rule = "single-fault";

// Told by one thread at a time.
constexpr std::size_t faults_in_a_block = 64;

} // namespace

void tell_single_fault(const FaultWords &words, const FaultTargets &targets, const FaultCase &one,
                       const FaultEffect &effect, std::size_t state_budget, const std::string &repair,
                       Decided &decided) {
    const FaultEffect counted = targets.counted(effect);
    if (!effect.undecided.empty())
        decided.add({.rule = single_fault_rule,
                     .status = counted.undecided.empty() ? Status::note : Status::undecided,
                     .subjects = words.subjects(one.fault, effect),
                     .text = "Not decided what '" + one.fault.text + "' does to " + words.names(effect.undecided) +
                             " within " + std::to_string(state_budget) + " states."});
    if (effect.losses.empty()) {
        decided.count(single_fault_rule, "holds", effect.undecided.empty());
        return;
    }
    const bool fails = !counted.losses.empty();
    const Loss &worst = worst_of(fails ? counted : effect);
    decided.add({.rule = single_fault_rule,
                 .status = fails ? worst.fact.status : Status::note,
                 .subjects = words.subjects(one.fault, effect),
                 .text = "With the fault '" + one.fault.text + "' " + words.consequences(effect) + "; " +
                         noticed_text(effect) + targets.sentence(effect),
                 .witness = {worst.fact.acts, worst.path, worst.fact.ends_in},
                 .repair = repair});
}

// What each fault of one part takes away. Where no target is declared this is a list of what remains, not of mistakes:
// one contactor, one row of contacts always has such faults. Against a target it fails.
Decided decide_single_faults(FaultJudge &judge) {
    const Context &context = judge.context();
    Decided decided;
    const FaultTargets targets(context.targets, judge.words().machines(), Target::single_fault);
    const auto &singles = judge.singles();
    const LeftOut could_be_left_out(context, every_exclusion());
    decided.not_checked = told_left_out(context, single_fault_rule, judge.left_out());
    std::map<std::size_t, FaultEffect> tripped; // what they do where second overloads may trip
    for (std::size_t i = 0; i < singles.size(); ++i)
        if (loses_trips(singles[i].second))
            tripped.emplace(i, without_second_trips(judge, singles[i].second));
    std::vector<Decided> blocks((singles.size() + faults_in_a_block - 1) / faults_in_a_block);
    in_parallel(blocks.size(), context.options.threads, [&] {
        return [&](std::size_t block) {
            const std::size_t end = std::min(singles.size(), (block + 1) * faults_in_a_block);
            for (std::size_t i = block * faults_in_a_block; i < end; ++i) {
                const auto &[one, all] = singles[i];
                const auto known = tripped.find(i);
                Decided &told = blocks[block];
                told.device = one.device;
                told.order = one.order;
                told.indivisible |= one.device == none;
                tell_single_fault(
                    judge.words(), targets, one, known == tripped.end() ? all : known->second,
                    context.options.state_budget,
                    context.options.repairs ? told_condition(could_be_left_out.by(one.fault)) : std::string(), told);
            }
        };
    });
    for (Decided &told : blocks)
        decided.add(std::move(told));
    decided.indivisible |= judge.at_bounds();
    return decided;
}

} // namespace stopspan
