#include "checks/floating_supplies.hpp"

#include "checks/fault_list.hpp"

#include <algorithm>

namespace stopspan {
namespace {

enum class Through { conductors, contacts_and_loads };

// Marks every net that can be reached from these; a fuse is a conductor. Never on through earth.
void spread(const Context &context, std::vector<std::uint32_t> from, Through through, std::vector<std::uint8_t> &met) {
    const Compiled &compiled = context.compiled;
    const auto arrive = [&](std::uint32_t net) {
        if (!std::exchange(met[net], std::uint8_t{1}) && net != compiled.earth)
            from.push_back(net);
    };
    for (const std::uint32_t net : from)
        met[net] = 1;
    while (!from.empty()) {
        const std::uint32_t net = from.back();
        from.pop_back();
        for (const std::uint32_t i : context.lookup.switches_at[net]) {
            const Switch &one = compiled.switches[i];
            if (through == Through::contacts_and_loads || one.variable == none ||
                compiled.variables[one.variable].kind == Variable::Kind::fuse)
                arrive(one.a == net ? one.b : one.a);
        }
        if (through == Through::contacts_and_loads)
            for (const std::uint32_t i : context.lookup.impedances_at[net])
                arrive(compiled.impedances[i].a == net ? compiled.impedances[i].b : compiled.impedances[i].a);
    }
}

std::vector<std::uint32_t> pole_nets(const Source &source) {
    std::vector<std::uint32_t> nets;
    for (const Source::Pole &pole : source.poles)
        if (pole.net != none)
            nets.push_back(pole.net);
    return nets;
}

} // namespace

std::vector<FloatingSupply> floating_supplies(const Context &context) {
    const Compiled &compiled = context.compiled;
    std::set<std::uint32_t> control;
    for (const ControlCircuit &circuit : control_circuits(context)) {
        control.insert(circuit.nets.begin(), circuit.nets.end());
        control.insert(circuit.borders.begin(), circuit.borders.end());
    }
    std::vector<FloatingSupply> supplies;
    std::vector<std::uint8_t> seen(compiled.sources.size(), 0);
    for (std::uint32_t s = 0; s < compiled.sources.size(); ++s) {
        if (seen[s])
            continue;
        std::vector<std::uint8_t> joined(compiled.net_count, 0), wired(compiled.net_count, 0);
        spread(context, pole_nets(compiled.sources[s]), Through::contacts_and_loads, joined);
        FloatingSupply supply;
        bool earthed = false;
        std::set<std::uint32_t> nets;
        for (std::uint32_t other = s; other < compiled.sources.size(); ++other) {
            const std::vector<std::uint32_t> poles = pole_nets(compiled.sources[other]);
            if (std::none_of(poles.begin(), poles.end(), [&](std::uint32_t net) { return joined[net] != 0; }))
                continue;
            seen[other] = 1;
            supply.sources.push_back(other);
            nets.insert(poles.begin(), poles.end());
            spread(context, poles, Through::conductors, wired);
            earthed |= compiled.sources[other].earthed != none;
        }
        if (earthed || wired[compiled.earth])
            continue;
        for (const std::uint32_t net : control)
            if (joined[net] && net != compiled.earth)
                nets.insert(net);
        supply.nets.assign(nets.begin(), nets.end());
        supply.monitored =
            std::any_of(compiled.armatures.begin(), compiled.armatures.end(), [&](const Armature &armature) {
                return armature.kind == Armature::Kind::monitor && armature.a1 != none && wired[armature.a1] &&
                       armature.a2 == compiled.earth;
            });
        supplies.push_back(std::move(supply));
    }
    return supplies;
}

} // namespace stopspan
