#include "checks/judge.hpp"
#include "checks/repairs/parts.hpp"

#include <algorithm>

// What a change must not make worse.

namespace stopspan {
namespace {

constexpr std::size_t trial_budget = 6'000; // states per search of a trial

bool is_stop_or_overload(const Circuit &circuit, const std::string &name) {
    const auto id = circuit.find(name);
    return id && (circuit.device(*id).kind == DeviceKind::overload ||
                  (is_actuator(circuit.device(*id).kind) && role_of(circuit.device(*id)) == Role::stop));
}

bool is_subset(const std::set<std::string> &some, const std::set<std::string> &all) {
    return std::includes(all.begin(), all.end(), some.begin(), some.end());
}

} // namespace

Behaviour RepairParts::trial(const Circuit &circuit, const Behaviour *before) const {
    return behaviour_of(circuit, options_for(circuit, {}), before);
}

std::set<FindingKey> RepairParts::found_by(const std::string &rule, const Circuit &circuit) const {
    const CheckOptions options = options_for(circuit, {rule});
    const Context context(circuit, options);
    return open_findings(judge(context, machines_of(context)));
}

const std::set<FindingKey> &RepairParts::found_in(const RepairPart &part, const std::string &rule) const {
    if (rule != "earth-fault")
        return part.before.findings;
    if (!part.to_earth)
        part.to_earth = found_by(rule, part.circuit);
    return *part.to_earth;
}

std::optional<std::set<FindingKey>> RepairParts::still_to_earth(const Circuit &changed, const RepairPart &part) const {
    if (!context_.wants("earth-fault"))
        return std::set<FindingKey>();
    auto now = found_by("earth-fault", changed);
    const auto &before = found_in(part, "earth-fault");
    if (!std::includes(before.begin(), before.end(), now.begin(), now.end()))
        return std::nullopt;
    return now;
}

bool RepairParts::faults_no_worse(const Circuit &changed, const RepairPart &part,
                                  const std::vector<std::string> &rules) const {
    return std::all_of(rules.begin(), rules.end(), [&](const std::string &rule) {
        const std::vector<LostToFaults> now = lost_by_faults(rule, changed, part.circuit);
        if (now.empty())
            return true;
        const auto [known, unasked] = part.by_faults.try_emplace(rule);
        const std::vector<LostToFaults> &before = known->second;
        if (unasked)
            known->second = lost_by_faults(rule, part.circuit, part.circuit);
        return std::all_of(now.begin(), now.end(), [&](LostToFaults after) {
            // What did not hold before is no loss now.
            const std::set<std::string> all = after.subjects;
            const bool any = std::erase_if(after.subjects, [&](const std::string &name) {
                                 return failed_before(name, all, part.before.findings);
                             }) > 0;
            if (any && is_subset(after.subjects, machine_names_))
                return true;
            return std::any_of(before.begin(), before.end(), [&](const LostToFaults &each) {
                return each.faults == after.faults && is_subset(after.subjects, each.subjects);
            });
        });
    });
}

bool RepairParts::failed_before(const std::string &name, const std::set<std::string> &with,
                                const std::set<FindingKey> &findings) const {
    return !machine_names_.contains(name) && std::any_of(findings.begin(), findings.end(), [&](const FindingKey &key) {
        const auto &[rule, subjects] = key;
        return (rule == "stop-cuts" || rule == "stop-beats-start" || rule == "overload-cuts") &&
               std::find(subjects.begin(), subjects.end(), name) != subjects.end() &&
               std::all_of(subjects.begin(), subjects.end(),
                           [&](const std::string &each) { return with.contains(each); });
    });
}

bool RepairParts::no_worse_fed_back(const std::vector<Change> &changes) const {
    const auto adds_devices = [](const Change &change) {
        return change.kind == Change::Kind::start_relay_added || change.kind == Change::Kind::device_doubled ||
               change.kind == Change::Kind::line_parted || change.kind == Change::Kind::row_added;
    };
    if (context_.circuit.devices().size() > most_devices || std::none_of(changes.begin(), changes.end(), adds_devices))
        return true;
    Circuit changed = context_.circuit;
    for (const Change &change : changes)
        apply(changed, change);
    const CheckOptions options = options_for(changed, {});
    const Context context(changed, options);
    const std::set<FindingKey> now = open_findings(judge(context, machines_of(context)));
    const std::set<FindingKey> &before = known_of(options.rules);
    return std::includes(before.begin(), before.end(), now.begin(), now.end());
}

const std::set<FindingKey> &RepairParts::known_of(const std::vector<std::string> &rules) const {
    if (std::all_of(rules.begin(), rules.end(), [&](const std::string &rule) { return context_.wants(rule); }))
        return known_findings_;
    if (!known_besides_) {
        CheckOptions options = options_for(context_.circuit, rules);
        options.state_budget = context_.options.state_budget; // as if it had been asked
        const Context context(context_.circuit, options);
        known_besides_ = open_findings(judge(context, machines_of(context)));
    }
    return *known_besides_;
}

std::vector<std::string> RepairParts::rules_of_targets() const {
    std::vector<std::string> rules;
    for (const auto &[rule, least] :
         {std::pair{"single-fault", Target::single_fault}, {"hidden-fault", Target::accumulated_faults}})
        if (context_.wants(rule) &&
            std::any_of(machines_.begin(), machines_.end(), [&, least = least](const MachineSeen &machine) {
                return context_.targets.strictest_of(machine.name) >= least;
            }))
            rules.emplace_back(rule);
    return rules;
}

// @param part  what is not in there is no loss
std::vector<LostToFaults> RepairParts::lost_by_faults(const std::string &rule, const Circuit &circuit,
                                                      const Circuit &part) const {
    const CheckOptions options = options_for(circuit, {rule});
    const Context context(circuit, options);
    std::vector<LostToFaults> all;
    for (const Finding &finding : judge(context, machines_of(context)).findings) {
        if (finding.status == Status::note)
            continue;
        std::multiset<std::string> verbs;
        for (const std::string &act : finding.witness.acts)
            if (is_fault(act))
                verbs.insert(act.substr(0, act.find(' ') + 1));
        LostToFaults lost;
        for (const std::string &verb : verbs)
            lost.faults += verb;
        for (const std::string &subject : finding.subjects)
            if (machine_names_.contains(subject) || is_stop_or_overload(part, subject))
                lost.subjects.insert(subject);
        all.push_back(std::move(lost));
    }
    return all;
}

CheckOptions RepairParts::options_for(const Circuit &circuit, std::vector<std::string> rules) const {
    CheckOptions options;
    options.state_budget = std::min(trial_budget, context_.options.state_budget);
    options.rules = std::move(rules);
    if (options.rules.empty()) // faults cost much more than all else: see still_to_earth(), faults_no_worse()
        for (const RuleInfo &rule : stopspan::rules())
            if (context_.wants(rule.id) && rule.id.find("-fault") == std::string_view::npos)
                options.rules.emplace_back(rule.id);
    if (options.rules.empty()) // only faults are asked about, and a rule is needed
        options.rules = {"stop-cuts"};
    options.limits = context_.options.limits;
    options.fault_exclusions = context_.options.fault_exclusions;
    const auto machines = circuit.machines();
    options.asked.emplace();
    for (const auto &[target, cells] : context_.asked)
        if (circuit.find(target) || std::find(machines.begin(), machines.end(), target) != machines.end())
            for (const auto &[stop, asked] : cells)
                if (circuit.find(context_.stops[stop].name))
                    options.asked->push_back({context_.stops[stop].name, target, asked,
                                              context_.targets.of(target, context_.stops[stop].name)});
    return options;
}
} // namespace stopspan
