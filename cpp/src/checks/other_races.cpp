#include "checks/machine_check.hpp"

#include <algorithm>

namespace stopspan {
namespace {

struct Searched {
    std::map<std::string, Fact> facts; // by rule
    std::set<std::string> unconfirmed; // rules: of a part seen, which the whole circuit does not show
    bool complete = true, exact = true;
};

Searched search(const Context &context, const Reach &reach) {
    Searched result;
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
    Exploration exploration(cone);
    RaceWatch races(exploration);
    result.complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        for (const RaceSeen &seen : races.see(t)) {
            if (seen.fed_back)
                continue; // it acts on no machine
            if (seen.status() == Status::undecided)
                result.unconfirmed.insert(seen.rule);
            else if (seen.status() == Status::fails && !result.facts.contains(seen.rule))
                result.facts[seen.rule] = {Status::fails, exploration.acts_to(t.from, t.act), seen.ends_in(), "",
                                           seen.dwells.empty() ? 0 : 1};
        }
    });
    for (const RaceSeen &seen : races.see_cold_start())
        result.facts[seen.rule] = {Status::fails, {}, seen.ends_in(), "", 0};
    result.exact = cone.exact;
    return result;
}

Searched in_every_order(const OrdersOfMoving &orders) {
    Searched result;
    result.unconfirmed = orders.more;
    for (const auto &[race, acts] : orders.races) {
        const auto known = result.facts.find(race.rule);
        if (race.status() == Status::fails && (known == result.facts.end() || acts.size() < known->second.acts.size()))
            result.facts[race.rule] = {Status::fails, acts, race.ends_in(), "", 0};
    }
    return result;
}

void confirm(Tools &tools, const Seeds &seeds, Searched &found) {
    for (const auto &[rule, fact] : found.facts)
        if (!shows(tools.witness_run(seeds).run(fact.acts), rule, fact.way == 1))
            found.unconfirmed.insert(rule);
    for (const std::string &rule : found.unconfirmed)
        found.facts.erase(rule);
}

} // namespace

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
        const Seeds seeds{.nets = asking_nets(context.compiled.armatures[i]), .power = {}, .loads = {}};
        const Reach reach = reach_of(context.compiled, context.relevance, seeds, Extent::feed);
        covered[i] = 1;
        for (const std::uint32_t armature : reach.armatures)
            covered[armature] = 1;
        decided.device = context.compiled.armatures[i].device;
        const std::string &name = context.compiled.device_names[decided.device];
        Searched found;
        if (context.small() || !proves_no_race(context, reach)) {
            const auto everything = [&] {
                return reach_of(context.compiled, context.relevance, seeds, Extent::everything);
            };
            const auto &orders = tools.every_order_of_moving(reach.armatures);
            found = orders ? in_every_order(*orders) : search(context, context.small() ? everything() : reach);
            confirm(tools, seeds, found);
            if (!found.exact && (!found.complete || !found.unconfirmed.empty())) {
                found = search(context, everything());
                confirm(tools, seeds, found);
            }
        }
        for (const std::string rule : {"contact-race", "chatter"}) {
            if (!context.wants(rule))
                continue;
            const auto fact = found.facts.find(rule);
            if (fact == found.facts.end() && found.complete && !found.unconfirmed.contains(rule)) {
                decided.count(rule, "holds");
                continue;
            }
            Finding finding{
                .rule = rule, .status = Status::undecided, .subjects = {name}, .text = "Not decided for " + name + "."};
            if (fact != found.facts.end()) {
                finding.status = Status::fails;
                finding.text = rule == "chatter" ? name + " or what it acts with never comes to rest."
                                                 : "What " + name + " does depends on contact timing.";
                finding.witness = {fact->second.acts, {}, fact->second.ends_in};
            }
            decided.add(std::move(finding));
        }
    }
    return decided;
}

} // namespace stopspan
