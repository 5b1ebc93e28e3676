#include "stopspan/check.hpp"

#include "base/parallel.hpp"
#include "base/words.hpp"
#include "checks/control_line.hpp"
#include "checks/fault_effects.hpp"
#include "checks/fault_list.hpp"
#include "checks/judge.hpp"
#include "checks/outcome_retelling.hpp"
#include "checks/plain_witness.hpp"
#include "checks/repairs/repair.hpp"
#include "checks/rules_used.hpp"
#include "checks/stop_reach.hpp"
#include "checks/stop_time.hpp"
#include "checks/waivers.hpp"

#include <algorithm>
#include <mutex>
#include <numeric>

namespace stopspan {
namespace {

bool by_rule(const Finding &a, const Finding &b) {
    return place_of_rule(a.rule) < place_of_rule(b.rule);
}

/// What was decided, put together, with the share each came from.
class Together {
public:
    /// @param first_device  share of the first device
    Together(Shares *shares, std::size_t first_device, std::size_t devices)
        : shares_(shares), first_device_(first_device) {
        if (!shares_)
            return;
        shares_->cells.assign(first_device + devices, 0);
        shares_->counts.assign(first_device + devices, {});
        shares_->indivisible = false;
    }

    void take(Decided decided, std::size_t share) {
        const auto share_of = [&](std::uint32_t device) {
            return static_cast<std::uint32_t>(device == none ? share : first_device_ + device);
        };
        for (const Decided::Count &each : decided.counts) {
            all_.count(each.rule, each.status, each.times);
            if (shares_)
                shares_->counts[share_of(each.device)].push_back(each);
        }
        if (shares_) {
            shares_->cells[share] += decided.cells.size();
            shares_->indivisible |= decided.indivisible;
            for (std::size_t i = 0; i < decided.findings.size(); ++i) {
                const Order &order = decided.orders[i];
                from_.push_back(share_of(decided.devices[i]));
                places_.push_back({place_of_rule(decided.findings[i].rule), order.phase,
                                   order.device == none ? from_.back() : share_of(order.device), order.detail});
            }
        }
        std::move(decided.findings.begin(), decided.findings.end(), std::back_inserter(all_.findings));
        std::move(decided.cells.begin(), decided.cells.end(), std::back_inserter(all_.cells));
        std::move(decided.not_checked.begin(), decided.not_checked.end(), std::back_inserter(all_.not_checked));
    }
    void tell_not_checked(std::string line) { all_.not_checked.push_back(std::move(line)); }
    void expect_cells(std::size_t count) { all_.cells.reserve(count); }

    Verdict verdict() {
        std::vector<std::size_t> order(all_.findings.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(),
                         [&](std::size_t a, std::size_t b) { return by_rule(all_.findings[a], all_.findings[b]); });
        Verdict verdict;
        verdict.matrix = std::move(all_.cells);
        for (const Decided::Count &each : all_.counts)
            verdict.counts[std::string(each.rule)][std::string(each.status)] += each.times;
        verdict.not_checked = std::move(all_.not_checked);
        if (shares_) {
            shares_->of_finding.clear();
            shares_->places.clear();
        }
        // The same race is seen from every machine it acts on.
        std::vector<Finding> &once = verdict.findings;
        for (const std::size_t i : order) {
            Finding &finding = all_.findings[i];
            const bool again = (finding.rule == "contact-race" || finding.rule == "chatter") &&
                               std::any_of(once.begin(), once.end(), [&](const Finding &other) {
                                   return other.rule == finding.rule && other.subjects == finding.subjects;
                               });
            if (again) {
                --verdict.counts[finding.rule][std::string(to_text(finding.status))];
                if (shares_)
                    for (Decided::Count &each : shares_->counts[from_[i]])
                        each.times -= each.rule == finding.rule && each.status == to_text(finding.status);
                continue;
            }
            once.push_back(std::move(finding));
            if (shares_) {
                shares_->of_finding.push_back(from_[i]);
                shares_->places.push_back(places_[i]);
            }
        }
        return verdict;
    }

private:
    Decided all_;
    std::vector<std::uint32_t> from_;   ///< per finding: its share
    std::vector<Shares::Place> places_; ///< per finding
    Shares *shares_;
    std::size_t first_device_;
};

// All but the cells. What is of no device is of the share that has all the rest.
void add(Verdict &verdict, Decided decided, Shares *shares, std::size_t rest) {
    const auto share_of = [&](std::uint32_t device) {
        return static_cast<std::uint32_t>(device == none ? rest : rest + 1 + device);
    };
    for (const Decided::Count &each : decided.counts) {
        verdict.counts[std::string(each.rule)][std::string(each.status)] += each.times;
        if (shares)
            shares->counts[share_of(each.device)].push_back(each);
    }
    if (shares)
        for (std::size_t i = 0; i < decided.findings.size(); ++i) {
            shares->of_finding.push_back(share_of(decided.devices[i]));
            shares->places.push_back({place_of_rule(decided.findings[i].rule), 0, shares->of_finding.back(), 0});
        }
    std::move(decided.findings.begin(), decided.findings.end(), std::back_inserter(verdict.findings));
    std::move(decided.not_checked.begin(), decided.not_checked.end(), std::back_inserter(verdict.not_checked));
    std::move(decided.walks.begin(), decided.walks.end(), std::back_inserter(verdict.walks));
}

void sort_by_rule(std::vector<Finding> &findings, Shares *shares) {
    if (!shares || std::is_sorted(findings.begin(), findings.end(), by_rule)) {
        std::stable_sort(findings.begin(), findings.end(), by_rule);
        return;
    }
    std::vector<std::size_t> order(findings.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return by_rule(findings[a], findings[b]); });
    const auto in_order = [&](auto &list) {
        std::remove_reference_t<decltype(list)> sorted;
        for (const std::size_t i : order)
            sorted.push_back(std::move(list[i]));
        list = std::move(sorted);
    };
    in_order(findings);
    in_order(shares->of_finding);
    in_order(shares->places);
}

// Machines are decided one by one, and results keep the order of machines.
std::vector<Decided> decide_machines(const Context &context, const std::vector<MachineSeen> &machines) {
    std::vector<Decided> results(machines.size());
    const std::vector<std::vector<std::uint32_t>> proven_cuts = prove_cuts(context, machines);
    std::size_t done = 0;
    std::mutex talking;
    in_parallel(machines.size(), context.options.threads, [&] {
        return [&, tools = Tools(context), before = OutcomesBefore(context)](std::size_t i) mutable {
            results[i] = decide_machine(tools, before, machines[i], proven_cuts[i]);
            if (context.options.progress) {
                const std::scoped_lock lock(talking);
                context.options.progress(++done, machines.size());
            }
        };
    });
    return results;
}

void take_machines(Together &all, const std::vector<MachineSeen> &machines, std::vector<Decided> results,
                   Shares *shares) {
    std::size_t cells = 0;
    for (const Decided &decided : results)
        cells += decided.cells.size();
    all.expect_cells(cells);
    if (shares) {
        shares->fed_back_left.assign(results.size(), 0);
        shares->ask_past_lines = false;
    }
    std::vector<std::string> left;
    for (std::size_t m = 0; m < results.size(); ++m) {
        if (results[m].fed_back_left)
            left.push_back(machines[m].name);
        if (shares) {
            shares->fed_back_left[m] = results[m].fed_back_left;
            shares->ask_past_lines |= results[m].asks_past_lines;
        }
        all.take(std::move(results[m]), m);
    }
    if (!left.empty())
        all.tell_not_checked(fed_back_left_text(left));
}

// Nothing said of nothing is no proof.
Decided nothing_to_prove() {
    Decided decided;
    decided.add({.rule = "stop-cuts",
                 .status = Status::undecided,
                 .subjects = {},
                 .text = "There is no motor and no drive in the circuit: nothing can be proven."});
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
    if (context.targets.strictest() == Target::accumulated_faults)
        list.emplace_back("target accumulated-faults: no third faults are tried");
    if (context.wants("hidden-fault"))
        list.emplace_back("second faults, starts: not tried where one of the two is a wire that comes off or a contact "
                          "that stays open; lost stops are");
    if ((context.wants("single-fault") || context.wants("hidden-fault")) && control_circuits(context).size() > 1)
        list.emplace_back("shorts between conductors of different control circuits, as where one stop acts on several: "
                          "not tried");
    if (std::any_of(context.compiled.motors.begin(), context.compiled.motors.end(),
                    [](const MotorSeen &motor) { return motor.waits; }))
        list.emplace_back("drives that wait when power returns, and when their safe torque off lets go: a setting of "
                          "each drive, taken as declared");
    for (const std::string_view beyond : {"mechanics and run-down", "risk assessment", "electromagnetic compatibility",
                                          "real hardware and its condition"})
        list.push_back(std::string(beyond) + ": not modelled");
    if (!context.small() && any_short(verdict))
        list.emplace_back(taken_by_shorts);
}

} // namespace

bool any_short(const Verdict &verdict) {
    const auto counts = verdict.counts.find("interlock-holds");
    return counts != verdict.counts.end() &&
           std::any_of(counts->second.begin(), counts->second.end(), [](const auto &each) {
               return each.first != "holds" && each.first != "note" && each.second > 0;
           });
}

std::string fed_back_left_text(const std::vector<std::string> &machines) {
    return "what other circuits do to a line that is lost, behind a blown fuse or past a load: not all of it tried "
           "for " +
           listed_in_short(machines);
}

std::uint32_t place_of_rule(std::string_view rule) {
    const auto table = rules();
    return static_cast<std::uint32_t>(
        std::find_if(table.begin(), table.end(), [&](const RuleInfo &info) { return info.id == rule; }) -
        table.begin());
}

Verdict judge(const Context &context, const std::vector<MachineSeen> &machines, Shares *shares) {
    const std::vector<LoadSeen> &loads = context.compiled.loads;
    const std::size_t rest = machines.size() + loads.size();
    Together all(shares, rest + 1, context.circuit.devices().size());
    take_machines(all, machines, decide_machines(context, machines), shares);
    Tools tools(context);
    for (std::size_t l = 0; l < loads.size(); ++l)
        all.take(decide_load(tools, loads[l]), machines.size() + l);
    const auto take = [&](Decided decided) { all.take(std::move(decided), rest); };
    take(decide_interlocks(tools, machines));
    take(decide_isolators(tools, machines));
    take(decide_other_races(tools, machines));
    if (context.wants("one-origin"))
        take(decide_one_origin(tools, shares ? &shares->contacts_fed : nullptr));
    if (context.wants("coil-volts"))
        take(decide_coil_volts(tools));
    if (context.wants("earthed-side"))
        take(decide_earthed_side(context));
    if (context.wants("earth-fault") || context.wants("single-fault") || context.wants("hidden-fault")) {
        FaultJudge judge(tools, machines);
        if (context.wants("earth-fault"))
            take(decide_earth_faults(judge));
        if (context.wants("single-fault"))
            take(decide_single_faults(judge));
        if (context.wants("hidden-fault"))
            take(decide_hidden_faults(judge));
        if (shares && context.wants("single-fault"))
            shares->stop_faults = judge.take_faults_of_stops();
    }
    if (machines.empty() && loads.empty())
        take(nothing_to_prove());
    return all.verdict();
}

Verdict check(const Context &context, Shares *shares) {
    const std::vector<MachineSeen> machines = machines_of(context);
    Verdict verdict = judge(context, machines, shares);
    const std::vector<PlainWork> plain = tell_plainly(context, machines, verdict);
    if (shares) {
        shares->plain.assign(shares->counts.size(), {});
        for (std::size_t i = 0; i < plain.size(); ++i)
            shares->plain[shares->of_finding[i]] += plain[i];
    }
    if (context.options.repairs)
        find_repairs(context, machines, verdict);
    weigh_control_lines(context, machines, verdict);
    const std::size_t rest = machines.size() + context.compiled.loads.size();
    if (context.wants("stop-reach") && !context.compiled.cut_out) // it asks of all stops
        add(verdict,
            decide_stop_reach(
                context.options.plan, [&](std::string_view name) { return context.limit(name); }, verdict.matrix),
            shares, rest);
    if (context.wants("stop-time")) {
        Tools tools(context);
        add(verdict, decide_stop_time(tools, machines), shares, rest);
    }
    apply_waivers(context, verdict);
    sort_by_rule(verdict.findings, shares);
    tell_rules(context, verdict);
    list_not_checked(context, verdict);
    return verdict;
}

Verdict check(const Circuit &circuit, const CheckOptions &options) {
    return check(Context(circuit, options), nullptr);
}

} // namespace stopspan
