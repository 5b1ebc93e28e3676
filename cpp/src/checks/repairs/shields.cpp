#include "checks/repairs/shields.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::size_t most_proofs = 5'000; // of one machine each: shorts of a site are many

} // namespace

bool ShieldTrial::harmless(std::uint32_t one, std::uint32_t other) {
    return proven({one}) && proven({other}) && proven({std::min(one, other), std::max(one, other)});
}

bool ShieldTrial::proven(const std::vector<std::uint32_t> &earthed) {
    const auto [known, fresh] = known_.try_emplace(earthed, false);
    if (!fresh)
        return known->second;
    for (const std::uint32_t net : earthed)
        structure_.suppose_joined(net, context_.compiled.earth);
    const auto is_proven = [&](const MachineSeen &machine) {
        const auto cuts = [&](std::uint32_t variable) { return proves_cut(structure_, context_, machine, variable); };
        return ++proofs_ <= most_proofs &&
               std::all_of(machine.asked.begin(), machine.asked.end(),
                           [&](const auto &each) {
                               return each.second != Asked::cut || cuts(context_.stops[each.first].variable);
                           }) &&
               std::all_of(machine.overloads.begin(), machine.overloads.end(), cuts) &&
               proves_no_start(structure_, context_, machine, Lines::whole);
    };
    known->second = std::all_of(machines_.begin(), machines_.end(), [&](const MachineSeen &machine) {
        const auto &nets = machine.reach.nets;
        return std::none_of(earthed.begin(), earthed.end(),
                            [&](std::uint32_t net) { return std::binary_search(nets.begin(), nets.end(), net); }) ||
               is_proven(machine);
    });
    structure_.suppose_nothing();
    return known->second;
}

} // namespace stopspan
