#include "checks/fault_targets.hpp"
#include "checks/left_out.hpp"
#include "checks/second_overload.hpp"

namespace stopspan {

// What each fault of one part takes away. Where no target is declared this is a list of what remains, not of mistakes:
// one contactor, one row of contacts always has such faults. Against a target it fails.
Decided decide_single_faults(FaultJudge &judge) {
    const std::string rule = "single-fault";
    Decided decided;
    const FaultTargets targets(judge, Target::single_fault);
    const auto &singles = judge.singles();
    const LeftOut could_be_left_out(judge.context(), every_exclusion());
    const auto repair_of = [&](const Fault &fault) {
        return judge.context().options.repairs ? told_condition(could_be_left_out.by(fault)) : std::string();
    };
    decided.not_checked = told_left_out(judge.context(), rule, judge.left_out());
    for (const auto &[one, all] : singles) {
        const FaultEffect effect = without_second_trips(judge, all);
        const FaultEffect counted = targets.counted(effect);
        if (!effect.undecided.empty())
            decided.add({.rule = rule,
                         .status = counted.undecided.empty() ? Status::note : Status::undecided,
                         .subjects = judge.subjects(one.fault, effect),
                         .text = "Not decided what '" + one.fault.text + "' does to " + judge.names(effect.undecided) +
                                 " within " + std::to_string(judge.context().options.state_budget) + " states."});
        if (effect.losses.empty()) {
            decided.count(rule, "holds", effect.undecided.empty());
            continue;
        }
        const bool fails = !counted.losses.empty();
        const Loss &worst = worst_of(fails ? counted : effect);
        decided.add({.rule = rule,
                     .status = fails ? worst.fact.status : Status::note,
                     .subjects = judge.subjects(one.fault, effect),
                     .text = "With the fault '" + one.fault.text + "' " + judge.consequences(effect) + "; " +
                             noticed_text(effect) + targets.sentence(effect),
                     .witness = {worst.fact.acts, worst.path, worst.fact.ends_in},
                     .repair = repair_of(one.fault)});
    }
    return decided;
}

} // namespace stopspan
