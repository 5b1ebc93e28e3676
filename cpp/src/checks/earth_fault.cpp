#include "checks/fault_effects.hpp"
#include "checks/left_out.hpp"

namespace stopspan {

// One earth fault on any net of a control circuit, before or while running, loses no stop and starts nothing.
Decided decide_earth_faults(FaultJudge &judge) {
    const std::string rule = "earth-fault";
    Decided decided;
    const FaultList faults = earth_faults(judge.context(), judge.machines());
    decided.not_checked = told_left_out(judge.context(), rule, faults.left_out);
    for (const FaultCase &one : faults.cases) {
        const FaultEffect effect = judge.effect_of(one);
        const auto add = [&](Status status, const std::string &text, const Witness &witness) {
            decided.add({.rule = rule,
                         .status = status,
                         .subjects = judge.subjects(one.fault, effect),
                         .text = text,
                         .witness = witness,
                         .repair = {},
                         .source = source_of(rule)});
        };
        const std::string &net = judge.context().compiled.net_names[one.fault.a];
        if (!effect.undecided.empty())
            add(Status::undecided,
                "Not decided what an earth fault at " + net + " does to " + judge.names(effect.undecided) + " within " +
                    std::to_string(judge.context().options.state_budget) + " states.",
                {});
        if (effect.losses.empty()) {
            decided.count(rule, "holds", effect.undecided.empty());
            continue;
        }
        const Loss &worst = worst_of(effect);
        add(worst.fact.status,
            "With an earth fault at " + net + " " + judge.consequences(effect) + "; " + noticed_text(effect),
            {worst.fact.acts, worst.path, worst.fact.ends_in});
    }
    return decided;
}

} // namespace stopspan
