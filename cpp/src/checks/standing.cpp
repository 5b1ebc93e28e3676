#include "checks/standing.hpp"

#include "checks/judge.hpp"
#include "checks/owners.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// Whatever rules say follows, machine by machine, load by load and device by device, from what can act on these, and
// the rest of the verdict from nothing else. What is put together from many parts is told by StopsSeen; stop-reach
// looks at the matrix alone.
//
// A fault is judged machine by machine, of those that the fault's place can act on, by what can act on them with the
// fault put in. A short to earth or across a source leads no further than earth and the poles, where groups end. So
// what it does follows from the group that its place is in, and of a stop device from the groups of the machines that
// it must cut. Where a count of all faults, or the work that all repairs may take, decides what is told, the whole is
// asked.
bool by_part(const Context &context) {
    const bool faults = context.wants("single-fault") || context.wants("hidden-fault") || context.wants("earth-fault");
    return !(faults && (context.options.repairs || !context.exclusions.empty()));
}

// Per machine the same number for those of one group.
std::vector<std::uint32_t> groups_of_machines(const Context &context, const Influence &influence) {
    std::vector<std::uint32_t> group_of(context.circuit.devices().size(), none), of_machine;
    for (std::uint32_t m = 0; m < context.compiled.machines.size(); ++m) {
        const std::uint32_t motor = context.compiled.motors[context.lookup.motors_of[m][0]].device;
        if (group_of[motor] == none) {
            const auto group = influence.around(context.circuit, {{}, {motor}}, context.circuit.devices().size());
            for (const std::uint32_t device : group->devices)
                group_of[device] = m;
        }
        of_machine.push_back(group_of[motor]);
    }
    return of_machine;
}

} // namespace

Register::Register(const Circuit &circuit, const CheckOptions &options) {
    for (std::uint32_t d = 0; d < circuit.devices().size(); ++d) {
        const Device &device = circuit.devices()[d];
        if (!is_actuator(device.kind))
            continue;
        if (is_stop_device(device))
            stops.push_back(d);
        else if (const auto of = machine_of(device); !of.empty())
            starts_of[std::string(of)].push_back(d);
    }
    if (options.asked)
        for (std::uint32_t i = 0; i < options.asked->size(); ++i)
            asked_of[(*options.asked)[i].machine].push_back(i);
}

bool any_open(const Verdict &verdict) {
    return std::any_of(verdict.findings.begin(), verdict.findings.end(), [](const Finding &finding) {
        return finding.status == Status::fails || finding.status == Status::maybe;
    });
}

Standing checked(Circuit circuit, const CheckOptions &options) {
    Standing made;
    made.circuit = std::move(circuit);
    const Context context(made.circuit, options);
    made.verdict = check(context, &made.shares);
    const std::size_t machines = context.compiled.machines.size(), loads = context.compiled.loads.size();
    made.decided = machines + loads;
    made.reach = context.wants("stop-reach");
    made.weighs_wires = context.wants("coil-volts");
    made.first_device = machines + loads + 1;
    for (const PlainWork &each : made.shares.plain)
        made.plain += each;
    made.divisible = !context.small() && by_part(context) && options.waivers.empty() && options.control_lines.empty() &&
                     machines + loads > 0 && !(options.repairs && any_open(made.verdict)) &&
                     !made.shares.ask_past_lines && !made.shares.indivisible && made.plain.within_bounds();
    if (made.divisible) {
        made.crossings = crossings_of(made.circuit, context.compiled);
        made.divisible = !made.crossings.odd;
    }
    if (!made.divisible)
        return made;
    made.findings = LooseFindings(made.shares);
    made.influence.emplace(made.circuit);
    made.known.emplace(made.circuit, options);
    for (std::uint32_t m = 0; m < machines; ++m)
        made.known->machine.emplace(context.compiled.machines[m], m);
    for (std::uint32_t l = 0; l < loads; ++l)
        made.known->load.emplace(context.compiled.loads[l].device, static_cast<std::uint32_t>(machines + l));
    made.whole = {frequency_hz(made.circuit), context.every_cell, context.variables, {}};
    for (const StopSeen &stop : context.stops)
        made.whole.contacts_of_stops.emplace(stop.name, context.contacts_of(stop.variable));
    made.stops.emplace(context, made.shares, groups_of_machines(context, *made.influence));
    for (const MatrixCell &cell : made.verdict.matrix)
        ++made.cells_of[cell.stop];
    return made;
}

} // namespace stopspan
