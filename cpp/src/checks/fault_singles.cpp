#include "base/parallel.hpp"
#include "checks/fault_place.hpp"
#include "checks/retelling.hpp"
#include "checks/second_overload.hpp"

#include <algorithm>

// Every fault of a list, on every machine it may matter to.

namespace stopspan {

const AlikeMachines &FaultJudge::alike() {
    if (!alike_)
        alike_ = std::make_unique<const AlikeMachines>(context_, machines_);
    return *alike_;
}

std::vector<FaultEffect> FaultJudge::effects_of(const std::vector<FaultCase> &cases) {
    const AlikeMachines &alike = this->alike();
    std::vector<std::vector<std::uint32_t>> cases_of(machines_.size());
    for (std::uint32_t i = 0; i < cases.size(); ++i)
        for (const std::uint32_t machine : cases[i].machines)
            cases_of[machine].push_back(i);
    std::vector<std::uint32_t> firsts, others;
    for (std::uint32_t machine = 0; machine < machines_.size(); ++machine)
        (alike.first(machine) == machine ? firsts : others).push_back(machine);
    std::vector<std::map<FaultPlace, Retelling>> told(machines_.size()); // of machines that others are like
    // Of a machine that is proven nothing is lost by a wire less.
    const auto outlasts = [&](std::uint32_t machine, const Fault &fault) {
        return only_parts(fault) && (*healthy_)[machine].proven;
    };
    std::vector<std::vector<FaultEffect>> effects(machines_.size());
    judge_alike(
        firsts, cases, cases_of, [](std::uint32_t, const Fault &) { return std::nullopt; }, effects);
    on_each(firsts, [&](FaultJudge &, std::uint32_t machine) {
        if (!alike.has_like(machine))
            return;
        const Vocabulary vocabulary(context_, *alike.around(machine));
        for (std::size_t k = 0; k < cases_of[machine].size(); ++k) {
            const Fault &fault = cases[cases_of[machine][k]].fault;
            if (outlasts(machine, fault))
                continue;
            if (const auto place = place_of(fault, context_, *alike.around(machine)))
                told[machine].try_emplace(*place, vocabulary, machines_[machine], std::span(&fault, 1),
                                          effects[machine][k]);
        }
    });
    judge_alike(
        others, cases, cases_of,
        [&](std::uint32_t machine, const Fault &fault) -> std::optional<FaultEffect> {
            const MachineSurroundings &around = *alike.around(machine);
            const std::uint32_t first = alike.first(machine);
            if (outlasts(first, fault))
                return FaultEffect{};
            const auto place = place_of(fault, context_, around);
            const auto like = place ? told[first].find(*place) : told[first].end();
            return like == told[first].end() ? std::nullopt
                                             : like->second.of(context_, machines_[machine], around, {&fault, 1});
        },
        effects);
    std::vector<FaultEffect> of_all(cases.size());
    in_parallel(cases.size(), context_.options.threads, [&] {
        return [&](std::size_t i) {
            for (const std::uint32_t machine : cases[i].machines) {
                const auto &own = cases_of[machine];
                const auto k = std::lower_bound(own.begin(), own.end(), i) - own.begin();
                of_all[i].add(std::move(effects[machine][static_cast<std::size_t>(k)]));
            }
        };
    });
    return of_all;
}

const std::vector<std::pair<FaultCase, FaultEffect>> &FaultJudge::singles() {
    if (singles_)
        return *singles_;
    bounded_ = true;
    FaultList list = single_faults(context_, machines_);
    left_out_ = std::move(list.left_out);
    std::vector<FaultEffect> effects = effects_of(list.cases);
    singles_.emplace();
    for (std::size_t i = 0; i < effects.size(); ++i)
        singles_->emplace_back(std::move(list.cases[i]), std::move(effects[i]));
    return *singles_;
}

std::vector<std::pair<FaultCase, FaultEffect>> FaultJudge::take_faults_of_stops() {
    std::vector<std::pair<FaultCase, FaultEffect>> taken;
    if (singles_)
        for (auto &each : *singles_)
            if (is_of_stop(context_, each.first.fault))
                taken.emplace_back(std::move(each.first), without_second_trips(*this, std::move(each.second)));
    return taken;
}

bool FaultJudge::at_bounds() const {
    return std::any_of(healthy_->begin(), healthy_->end(),
                       [&](const Healthy &one) { return is_at_bounds(context_, one.work, most_work_); });
}

} // namespace stopspan
