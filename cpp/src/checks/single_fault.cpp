#include "checks/fault_effects.hpp"

namespace stopspan {

// What each fault of one part takes away. A list of what remains, not of mistakes: one contactor, one row of contacts
// always has such faults.
Decided decide_single_faults(FaultJudge &judge) {
    const std::string rule = "single-fault";
    Decided decided;
    for (const auto &[one, effect] : judge.singles()) {
        if (!effect.undecided.empty())
            decided.add({.rule = rule,
                         .status = Status::note,
                         .subjects = judge.subjects(one.fault, effect),
                         .text = "Not decided what '" + one.fault.text + "' does to " + judge.names(effect.undecided) +
                                 " within " + std::to_string(judge.context().options.state_budget) + " states.",
                         .witness = {},
                         .repair = {},
                         .source = source_of(rule)});
        if (effect.losses.empty()) {
            decided.count(rule, "holds", effect.undecided.empty());
            continue;
        }
        const Loss &worst = worst_of(effect);
        decided.add({.rule = rule,
                     .status = Status::note,
                     .subjects = judge.subjects(one.fault, effect),
                     .text = "With the fault '" + one.fault.text + "' " + judge.consequences(effect) + "; " +
                             (effect.noticed.empty() ? "nothing shows it before." : effect.noticed + "."),
                     .witness = {worst.fact.acts, worst.path, worst.fact.ends_in},
                     .repair = {},
                     .source = source_of(rule)});
    }
    return decided;
}

} // namespace stopspan
