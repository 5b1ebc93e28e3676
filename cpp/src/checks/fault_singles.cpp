#include "base/parallel.hpp"
#include "checks/retelling.hpp"

// Every single fault, on every machine it may matter to.

namespace stopspan {
namespace {

/// Where a fault is, told without names: faults of one place in machines wired alike do the same.
using Place = std::tuple<Fault::Kind, std::uint32_t, std::uint32_t, std::uint32_t>;

// Nothing where some of it is not around the machine, and for what comes off a terminal: which one its net does not
// tell.
std::optional<Place> place_of(const Fault &fault, const Context &context, const MachineSurroundings &around) {
    if (only_parts(fault))
        return std::nullopt;
    const auto known = [](std::uint32_t what, std::uint32_t number) { return what == none || number != none; };
    const std::uint32_t variable = fault.device == none ? none : context.compiled.variable_of[fault.device];
    const std::uint32_t device = variable == none ? none : around.number_of_variable(variable);
    const std::uint32_t a = fault.a == none ? none : around.number_of_net(fault.a);
    const std::uint32_t b = fault.b == none ? none : around.number_of_net(fault.b);
    if (!known(fault.device, device) || !known(fault.a, a) || !known(fault.b, b))
        return std::nullopt;
    return Place{fault.kind, device, std::min(a, b), std::max(a, b)};
}

} // namespace

std::vector<std::vector<FaultEffect>> FaultJudge::effects_of(const std::vector<FaultCase> &cases,
                                                             const std::vector<std::vector<std::uint32_t>> &cases_of) {
    const AlikeMachines alike(context_, machines_);
    std::vector<std::uint32_t> firsts, others;
    std::vector<std::map<Place, Retelling>> told(machines_.size()); // of machines that others are like
    std::vector<std::uint8_t> has_like(machines_.size(), 0);
    for (std::uint32_t machine = 0; machine < machines_.size(); ++machine) {
        (alike.first(machine) == machine ? firsts : others).push_back(machine);
        has_like[alike.first(machine)] |= alike.first(machine) != machine;
    }
    std::vector<std::vector<FaultEffect>> effects(machines_.size());
    judge_alike(
        firsts, cases, cases_of, [](std::uint32_t, const Fault &) { return std::nullopt; }, effects);
    on_each(firsts, [&](FaultJudge &, std::uint32_t machine) {
        if (!has_like[machine])
            return;
        const Vocabulary vocabulary(context_, *alike.around(machine));
        for (std::size_t k = 0; k < cases_of[machine].size(); ++k) {
            const Fault &fault = cases[cases_of[machine][k]].fault;
            if (const auto place = place_of(fault, context_, *alike.around(machine)))
                told[machine].try_emplace(*place, vocabulary, machines_[machine], fault, effects[machine][k]);
        }
    });
    judge_alike(
        others, cases, cases_of,
        [&](std::uint32_t machine, const Fault &fault) -> std::optional<FaultEffect> {
            const MachineSurroundings &around = *alike.around(machine);
            const std::uint32_t first = alike.first(machine);
            const auto place = place_of(fault, context_, around);
            const auto like = place ? told[first].find(*place) : told[first].end();
            std::optional<FaultEffect> effect;
            if (like != told[first].end())
                effect = like->second.of(context_, machines_[machine], around, fault);
            else if (only_parts(fault) && (*healthy_)[first].proven)
                effect.emplace(); // of a machine that is proven nothing is lost by a wire less
            return effect;
        },
        effects);
    return effects;
}

const std::vector<std::pair<FaultCase, FaultEffect>> &FaultJudge::singles() {
    if (singles_)
        return *singles_;
    bounded_ = true;
    FaultList list = single_faults(context_, machines_);
    left_out_ = std::move(list.left_out);
    std::vector<std::vector<std::uint32_t>> cases_of(machines_.size());
    for (std::uint32_t i = 0; i < list.cases.size(); ++i)
        for (const std::uint32_t machine : list.cases[i].machines)
            cases_of[machine].push_back(i);
    std::vector<std::vector<FaultEffect>> effects = effects_of(list.cases, cases_of);
    singles_.emplace();
    for (FaultCase &one : list.cases)
        singles_->emplace_back(std::move(one), FaultEffect{});
    for (std::size_t machine = 0; machine < effects.size(); ++machine) // in the order of each fault's machines
        for (std::size_t k = 0; k < effects[machine].size(); ++k)
            (*singles_)[cases_of[machine][k]].second.add(std::move(effects[machine][k]));
    return *singles_;
}

} // namespace stopspan
