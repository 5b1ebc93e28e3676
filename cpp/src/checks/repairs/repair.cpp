#include "checks/repairs/repair.hpp"

#include "checks/fault_effects.hpp"
#include "checks/judge.hpp"
#include "checks/repairs/outlive.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// None of these grows with the installation.
constexpr std::size_t most_replays = 200; // changes of one kind tried for a finding
constexpr std::size_t few_changes = 2;    // of one kind, tried whatever the others took
// In network_work().
constexpr std::size_t work_per_finding = 250'000;

class Repairer {
public:
    Repairer(RepairParts &parts, Verdict &verdict) : parts_(parts), context_(parts.context()), verdict_(verdict) {}

    void run() {
        for (Finding &finding : verdict_.findings)
            if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.repair.empty() &&
                !is_of_faults(finding))
                repair(finding);
    }

private:
    /// The part with all that a change reaches beyond it, and what it leaves there.
    struct Wider {
        PartPointer part; ///< null: nothing more
        std::set<FindingKey> left;
    };

    void repair(Finding &finding) {
        const FindingKey key = key_of(finding);
        const std::vector<std::string> helpers = parts_.helpers_of(finding);
        const auto shown_by = [&](const PartPointer &part) {
            return part && part->before.complete && parts_.found_in(*part, key.first).contains(key);
        };
        PartPointer part = parts_.part_of(finding, helpers);
        // It may take more than what acts on the machine; a short takes the source from all that it feeds.
        const bool shorted = finding.witness.ends_in == source_shorted;
        if ((!shown_by(part) || shorted) && context_.circuit.devices().size() <= most_devices)
            part = parts_.part_of_all();
        if (!shown_by(part))
            return; // too large
        const bool tells = ends_as_told(part->circuit, finding);
        struct Best {
            Change change;
            std::set<FindingKey> left;
            std::size_t in_order; ///< machines
            Wider wider;
        };
        std::optional<Best> best;
        std::optional<Change::Kind> kind;
        std::size_t end = std::min(network_work() + work_per_finding, parts_.end_of_work());
        std::size_t replays = 0, limit = 0;
        const std::vector<Change> changes = candidates(part->circuit, finding, helpers);
        std::map<Change::Kind, std::size_t> of_kind;
        for (const Change &change : changes)
            ++of_kind[change.kind];
        for (const Change &change : changes) {
            if (kind != change.kind) {
                if (best)
                    break; // a smaller kind of change is better than a larger one that mends more
                kind = change.kind;
                replays = 0;
                limit = network_work() + (end - std::min(end, network_work())) / 2; // the rest is for other kinds
            }
            if (++replays > most_replays || (network_work() > limit && of_kind[change.kind] > few_changes))
                continue;
            Circuit changed = part->circuit;
            apply(changed, change);
            if (tells && ends_as_told(changed, finding))
                continue;
            auto left = mends(changed, key, *part);
            if (!left)
                continue;
            const Behaviour after = parts_.trial(changed, &part->before);
            if (!gone(key, after.findings) || !no_worse(after, part->before))
                continue;
            left->insert(after.findings.begin(), after.findings.end());
            const std::size_t now = in_order(after, part->before);
            const bool better = !best || left->size() < best->left.size() ||
                                (left->size() == best->left.size() && now > best->in_order);
            auto wider = better ? mends_wider(change, key, part) : std::nullopt;
            if (!wider)
                continue;
            const std::size_t work = network_work();
            const auto to_earth = parts_.still_to_earth(changed, *part);
            const bool no_more_lost = to_earth && parts_.faults_no_worse(changed, *part, parts_.rules_of_targets());
            end += network_work() - work; // costs no other candidate its trial
            limit += network_work() - work;
            if (!no_more_lost)
                continue;
            left->insert(to_earth->begin(), to_earth->end());
            best = {change, *left, now, std::move(*wider)};
            if (left->empty() && now == part->circuit.machines().size())
                break;
        }
        if (best) {
            const std::string text = text_of(best->change, context_.circuit);
            tell(text, *part, best->left);
            if (best->wider.part)
                tell(text, *best->wider.part, best->wider.left);
            parts_.remember(best->change);
        }
    }

    // One change often mends several findings.
    void tell(const std::string &text, const RepairPart &part, const std::set<FindingKey> &left) {
        for (Finding &finding : verdict_.findings) {
            const FindingKey key = key_of(finding);
            if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.repair.empty() &&
                parts_.found_in(part, key.first).contains(key) && gone(key, left))
                finding.repair = text;
        }
    }

    // A machine's start that only moves to another occasion is not mended.
    bool gone(const FindingKey &key, const std::set<FindingKey> &left) const {
        if (!is_start_rule(key.first))
            return !left.contains(key);
        return std::none_of(left.begin(), left.end(), [&](const FindingKey &other) {
            return is_start_rule(other.first) &&
                   std::any_of(other.second.begin(), other.second.end(), [&](const std::string &subject) {
                       return parts_.is_machine(subject) &&
                              std::find(key.second.begin(), key.second.end(), subject) != key.second.end();
                   });
        });
    }

    // The claim that failed, that rule alone: most changes that get so far end here.
    // @returns what is left of that rule
    std::optional<std::set<FindingKey>> mends(const Circuit &changed, const FindingKey &key,
                                              const RepairPart &part) const {
        auto now = parts_.found_by(key.first, changed);
        const auto &before = parts_.found_in(part, key.first);
        if (now.contains(key) || !std::includes(before.begin(), before.end(), now.begin(), now.end()))
            return std::nullopt;
        return now;
    }

    std::optional<Wider> mends_wider(const Change &change, const FindingKey &key, const PartPointer &part) {
        const PartPointer wide = parts_.with_all_influenced(touched_nets(change, part->circuit), part);
        if (wide == part)
            return Wider{};
        if (!wide || !fits(wide->circuit, change))
            return std::nullopt;
        Circuit changed = wide->circuit;
        apply(changed, change);
        const Behaviour after = parts_.trial(changed, &wide->before);
        Behaviour before = wide->before;
        before.findings.insert(parts_.known_findings().begin(), parts_.known_findings().end());
        if (!gone(key, after.findings) || !no_worse(after, before))
            return std::nullopt;
        const auto to_earth = parts_.still_to_earth(changed, *wide);
        if (!to_earth || to_earth->contains(key) || !parts_.faults_no_worse(changed, *wide, parts_.rules_of_targets()))
            return std::nullopt;
        Wider wider{wide, after.findings};
        wider.left.insert(to_earth->begin(), to_earth->end());
        return wider;
    }

    RepairParts &parts_;
    const Context &context_;
    Verdict &verdict_;
};

// What does not hold anyway may be all that a fault brings to light, or all that stands in the way of what removes it.
// A check of faults alone knows nothing of it: where a fault is left it is asked now.
void mend_others_first(const Context &context, Verdict &verdict) {
    const auto is_of_others = [](const RuleInfo &rule) { return rule.id.find("-fault") == std::string_view::npos; };
    const auto known = [&](const RuleInfo &rule) { return !is_of_others(rule) || context.wants(rule.id); };
    if (context.circuit.devices().size() > most_devices || context.compiled.cut_out ||
        std::all_of(rules().begin(), rules().end(), known) ||
        std::none_of(verdict.findings.begin(), verdict.findings.end(), [](const Finding &finding) {
            return finding.rule == "single-fault" && left_without_repair(finding);
        }))
        return;
    CheckOptions options = context.options;
    options.rules.clear();
    for (const RuleInfo &rule : rules())
        if (is_of_others(rule))
            options.rules.emplace_back(rule.id);
    const Context of_others(context.circuit, options);
    Verdict others = judge(of_others, machines_of(of_others));
    for (const RuleInfo &rule : rules())
        if (!is_of_others(rule) && context.wants(rule.id))
            options.rules.emplace_back(rule.id);
    const Context of_all(context.circuit, options);
    const std::vector<MachineSeen> machines = machines_of(of_all);
    std::set<FindingKey> open = open_findings(others);
    open.merge(open_findings(verdict));
    RepairParts parts(of_all, machines, std::move(open));
    Repairer(parts, others).run();
    if (!parts.told().empty())
        outlive_left_faults(parts, verdict);
}

} // namespace

void find_repairs(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict) {
    RepairParts parts(context, machines, open_findings(verdict));
    Repairer(parts, verdict).run();
    const TriedInVain tried = outlive_faults(parts, verdict);
    mend_others_first(context, verdict);
    tell_ways_out(context.circuit, tried, verdict);
}

} // namespace stopspan
