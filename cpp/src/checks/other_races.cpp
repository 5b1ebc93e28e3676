#include "checks/machine_check.hpp"

#include <algorithm>

namespace stopspan {

// Relays that act on no machine (signals, lamps) can race and chatter all the same.
Decided decide_other_races(Tools &tools, const std::vector<MachineSeen> &machines) {
    const Context &context = tools.context;
    Decided decided;
    if (!context.wants("contact-race") && !context.wants("chatter"))
        return decided;
    std::vector<std::uint8_t> covered(context.compiled.armatures.size(), 0);
    for (const MachineSeen &machine : machines)
        for (const std::uint32_t armature : machine.reach.armatures)
            covered[armature] = 1;
    for (std::uint32_t i = 0; i < covered.size(); ++i) {
        if (covered[i])
            continue;
        const Reach reach =
            reach_of(context.compiled, context.relevance,
                     {.nets = asking_nets(context.compiled.armatures[i]), .power = {}, .loads = {}}, Extent::feed);
        covered[i] = 1;
        for (const std::uint32_t armature : reach.armatures)
            covered[armature] = 1;
        const std::string &name = context.compiled.device_names[context.compiled.armatures[i].device];
        bool race = false, chatter = false, complete = true;
        std::vector<std::string> acts;
        if (!proves_no_race(context, reach)) {
            const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
            Exploration exploration(cone);
            complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
                if (race || chatter || t.two_held || !(t.settled.race || t.settled.chatter))
                    return;
                race = t.settled.race;
                chatter = t.settled.chatter;
                acts = exploration.acts_to(t.from, t.act);
            });
            race |= exploration.cold_start().race;
            chatter |= exploration.cold_start().chatter;
        }
        for (const auto &[rule, found] :
             {std::pair{std::string("contact-race"), race}, {std::string("chatter"), chatter}}) {
            if (!context.wants(rule))
                continue;
            if (!found && complete) {
                decided.count(rule, "holds");
                continue;
            }
            decided.add({.rule = rule,
                         .status = found ? Status::fails : Status::undecided,
                         .subjects = {name},
                         .text = found ? (rule == "chatter" ? name + " or what it acts with never comes to rest."
                                                            : "what " + name + " does depends on contact timing.")
                                       : "Not decided for " + name + ".",
                         .witness = {acts, {}, ""},
                         .repair = {},
                         .source = source_of(rule)});
        }
    }
    return decided;
}

} // namespace stopspan
