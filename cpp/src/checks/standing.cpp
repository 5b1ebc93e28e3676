#include "checks/standing.hpp"

#include "checks/judge.hpp"

#include <algorithm>
#include <array>

namespace stopspan {
namespace {

// What these say of a machine, load or device follows from what can act on it, and the rest of the verdict from nothing
// else.
constexpr std::array<std::string_view, 14> rules_by_part{
    "stop-cuts",   "stop-spares",  "stop-beats-start", "power-return",    "release-return",
    "trip-return", "own-start",    "overload-cuts",    "interlock-holds", "isolator-clears",
    "coil-volts",  "contact-race", "chatter",          "earthed-side"};

bool by_part(const Context &context) {
    const auto divisible = [](std::string_view rule) {
        return std::find(rules_by_part.begin(), rules_by_part.end(), rule) != rules_by_part.end();
    };
    const auto table = rules();
    return std::all_of(table.begin(), table.end(),
                       [&](const RuleInfo &rule) { return divisible(rule.id) || !context.wants(rule.id); });
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
    made.weighs_wires = context.wants("coil-volts");
    made.first_device = machines + loads + 1;
    for (const PlainWork &each : made.shares.plain)
        made.plain += each;
    made.divisible = !context.small() && by_part(context) && options.waivers.empty() && options.control_lines.empty() &&
                     machines + loads > 0 && !(options.repairs && any_open(made.verdict)) &&
                     !made.shares.ask_past_lines && made.plain.within_bounds();
    if (made.divisible) {
        made.crossings = crossings_of(made.circuit, context.compiled);
        made.divisible = !made.crossings.odd;
    }
    if (!made.divisible)
        return made;
    made.influence.emplace(made.circuit);
    made.known.emplace(made.circuit, options);
    for (std::uint32_t m = 0; m < machines; ++m)
        made.known->machine.emplace(context.compiled.machines[m], m);
    for (std::uint32_t l = 0; l < loads; ++l)
        made.known->load.emplace(context.compiled.loads[l].device, static_cast<std::uint32_t>(machines + l));
    made.whole = {frequency_hz(made.circuit), context.every_cell, context.variables};
    for (const MatrixCell &cell : made.verdict.matrix)
        ++made.cells_of[cell.stop];
    return made;
}

} // namespace stopspan
