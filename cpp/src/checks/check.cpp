#include "stopspan/check.hpp"

#include "base/parallel.hpp"
#include "checks/fault_effects.hpp"
#include "checks/judge.hpp"
#include "checks/machine_check.hpp"
#include "checks/plain_witness.hpp"
#include "checks/repair.hpp"
#include "checks/rules_used.hpp"
#include "checks/stop_reach.hpp"
#include "checks/waivers.hpp"

#include <algorithm>
#include <mutex>

namespace stopspan {
namespace {

std::size_t order_of(const std::string &rule) {
    const auto table = rules();
    return static_cast<std::size_t>(
        std::find_if(table.begin(), table.end(), [&](const RuleInfo &info) { return info.id == rule; }) -
        table.begin());
}

bool by_rule(const Finding &a, const Finding &b) {
    return order_of(a.rule) < order_of(b.rule);
}

void take(Decided &all, Decided decided) {
    for (const Decided::Count &each : decided.counts)
        all.count(each.rule, each.status, each.times);
    std::move(decided.findings.begin(), decided.findings.end(), std::back_inserter(all.findings));
    std::move(decided.cells.begin(), decided.cells.end(), std::back_inserter(all.cells));
    std::move(decided.not_checked.begin(), decided.not_checked.end(), std::back_inserter(all.not_checked));
}

// All but the cells.
void add(Verdict &verdict, Decided decided) {
    for (const Decided::Count &each : decided.counts)
        verdict.counts[std::string(each.rule)][std::string(each.status)] += each.times;
    std::move(decided.findings.begin(), decided.findings.end(), std::back_inserter(verdict.findings));
    std::move(decided.not_checked.begin(), decided.not_checked.end(), std::back_inserter(verdict.not_checked));
    std::move(decided.walks.begin(), decided.walks.end(), std::back_inserter(verdict.walks));
}

// Machines are decided one by one, and results keep the order of machines.
std::vector<Decided> decide_machines(const Context &context, const std::vector<MachineSeen> &machines) {
    std::vector<Decided> results(machines.size());
    const std::vector<std::vector<std::uint32_t>> proven_cuts = prove_cuts(context, machines);
    std::size_t done = 0;
    std::mutex talking;
    in_parallel(machines.size(), context.options.threads, [&] {
        return [&, tools = Tools(context)](std::size_t i) mutable {
            results[i] = decide_machine(tools, machines[i], proven_cuts[i]);
            if (context.options.progress) {
                const std::scoped_lock lock(talking);
                context.options.progress(++done, machines.size());
            }
        };
    });
    return results;
}

// Nothing said of nothing is no proof.
Decided nothing_to_prove() {
    Decided decided;
    decided.add({.rule = "stop-cuts",
                 .status = Status::undecided,
                 .subjects = {},
                 .text = "There is no motor and no drive in the circuit: nothing can be proven.",
                 .witness = {},
                 .repair = {},
                 .source = source_of("stop-cuts")});
    return decided;
}

void list_not_checked(const Context &context, Verdict &verdict) {
    auto &list = verdict.not_checked;
    std::vector<std::uint8_t> asked(context.stops.size(), 0);
    for (const auto &[target, cells] : context.asked)
        for (const auto &[stop, what] : cells)
            asked[stop] |= what != Asked::free;
    for (std::uint32_t i = 0; i < context.stops.size(); ++i)
        if (!asked[i])
            list.push_back("stop device " + context.stops[i].name + ": nothing is asked of it");
    for (const RuleInfo &info : rules())
        if (!context.wants(info.id))
            list.push_back("rule " + std::string(info.id) + ": not asked for");
    if (std::any_of(context.targets.begin(), context.targets.end(), [&](const auto &machine) {
            return context.strictest_target_of(machine.first) == Target::accumulated_faults;
        }))
        list.push_back("target accumulated-faults: of second faults only lost stops are decided, not lost trips and "
                       "starts, and no third faults");
    list.push_back("rule stop-time: not part of this version");
    for (const std::string_view beyond : {"mechanics and run-down", "risk assessment", "electromagnetic compatibility",
                                          "real hardware and its condition"})
        list.push_back(std::string(beyond) + ": not modelled");
}

} // namespace

Verdict judge(const Context &context, const std::vector<MachineSeen> &machines) {
    Decided all;
    {
        std::vector<Decided> results = decide_machines(context, machines);
        std::size_t cells = 0;
        for (const Decided &decided : results)
            cells += decided.cells.size();
        all.cells.reserve(cells);
        for (Decided &decided : results)
            take(all, std::move(decided));
    }
    Tools tools(context);
    take(all, decide_loads(tools));
    take(all, decide_interlocks(tools, machines));
    take(all, decide_isolators(tools, machines));
    take(all, decide_other_races(tools, machines));
    if (context.wants("one-origin"))
        take(all, decide_one_origin(tools));
    if (context.wants("coil-volts"))
        take(all, decide_coil_volts(tools));
    if (context.wants("earthed-side"))
        take(all, decide_earthed_side(context));
    if (context.wants("earth-fault") || context.wants("single-fault") || context.wants("hidden-fault")) {
        FaultJudge judge(tools, machines);
        if (context.wants("earth-fault"))
            take(all, decide_earth_faults(judge));
        if (context.wants("single-fault"))
            take(all, decide_single_faults(judge));
        if (context.wants("hidden-fault"))
            take(all, decide_hidden_faults(judge));
    }
    if (machines.empty() && context.compiled.loads.empty())
        take(all, nothing_to_prove());

    Verdict verdict;
    verdict.matrix = std::move(all.cells);
    add(verdict, std::move(all));
    std::stable_sort(verdict.findings.begin(), verdict.findings.end(), by_rule);
    // The same race is seen from every machine it acts on.
    std::vector<Finding> once;
    for (Finding &finding : verdict.findings) {
        const bool again = (finding.rule == "contact-race" || finding.rule == "chatter") &&
                           std::any_of(once.begin(), once.end(), [&](const Finding &other) {
                               return other.rule == finding.rule && other.subjects == finding.subjects;
                           });
        if (again)
            --verdict.counts[finding.rule][std::string(to_text(finding.status))];
        else
            once.push_back(std::move(finding));
    }
    verdict.findings = std::move(once);
    return verdict;
}

Verdict check(const Circuit &circuit, const CheckOptions &options) {
    const Context context(circuit, options);
    const std::vector<MachineSeen> machines = machines_of(context);
    Verdict verdict = judge(context, machines);
    tell_plainly(context, machines, verdict);
    if (options.repairs)
        find_repairs(context, machines, verdict);
    if (context.wants("stop-reach"))
        add(verdict, decide_stop_reach(context, verdict));
    apply_waivers(context, verdict);
    std::stable_sort(verdict.findings.begin(), verdict.findings.end(), by_rule);
    tell_rules(context, verdict);
    list_not_checked(context, verdict);
    return verdict;
}

} // namespace stopspan
