#include "checks/repair.hpp"

#include "checks/fault_effects.hpp"
#include "checks/judge.hpp"
#include "checks/repair_change.hpp"
#include "checks/repair_shorts.hpp"
#include "checks/repair_trial.hpp"
#include "checks/second_overload.hpp"

#include <algorithm>
#include <deque>
#include <memory>
#include <numeric>

namespace stopspan {
namespace {

// None of these grows with the installation.
constexpr std::size_t most_devices = 70;    // of a part that is checked again and again
constexpr std::size_t most_influenced = 12; // machines that one change may reach
constexpr std::size_t most_parts = 100;     // remembered
constexpr std::size_t most_helpers = 3;     // contactors of a stop
constexpr std::size_t most_replays = 200;   // changes of one kind tried for a finding
constexpr std::size_t few_changes = 2;      // of one kind, tried whatever the others took
constexpr std::size_t trial_budget = 1'500; // states per search of a trial
// In network_work(): some millions a second.
constexpr std::size_t work_per_finding = 250'000, work_per_verdict = 2'000'000;
constexpr std::size_t work_for_notes = 1'000'000; // of that, for what fails against no target
constexpr std::size_t work_for_shorts = 2'000'000, work_for_noted_shorts = 250'000; // besides, for shorts

/// What faults of a kind take away, wherever they are.
struct Lost {
    std::string faults;             ///< "weld "
    std::set<std::string> subjects; ///< stops, overloads and machines
};

/// Devices cut out of the circuit, with what they do as they are.
struct Part {
    Circuit circuit;
    Behaviour before;
    mutable std::optional<std::set<FindingKey>> to_earth;       ///< what earth faults do, once it was asked
    mutable std::map<std::string, std::vector<Lost>> by_faults; ///< per rule that was asked
    std::size_t work;                                           ///< in network_work(), to see it
    Part(Circuit devices, Behaviour as_they_are, std::size_t took)
        : circuit(std::move(devices)), before(std::move(as_they_are)), work(took) {}
};
using PartPointer = std::shared_ptr<const Part>;

bool tells_of_stop(const Finding &finding) {
    return finding.text.find(" stopped by ") != std::string::npos;
}

// What would remove a fault for which no small change was found that does.
std::string way_out(const Finding &finding) {
    if (finding.rule == "hidden-fault")
        return " No single wire or contact removes this: what lets the first fault show does, a feedback contact that "
               "keeps the machine from starting again, as with a stop relay and two contactors.";
    if (finding.rule == "earth-fault")
        return " No small change was found that removes this: a control supply with one pole earthed does, with every "
               "coil straight at that pole and every contact and fuse ahead of the coils.";
    const auto takes = [&](std::string_view verb) {
        return std::any_of(finding.witness.acts.begin(), finding.witness.acts.end(),
                           [&](const std::string &act) { return act.starts_with(verb); });
    };
    if (takes("jam "))
        return " No small change was found that removes this: a start that must be let go before it starts again "
               "does, as with a start relay, or a stop relay with manual reset.";
    if (takes("blind "))
        return " No small change was found that removes this: a second overload in the same line does, with its trip "
               "contact in series with that of the first.";
    if (takes("break "))
        return tells_of_stop(finding)
                   ? " No small change was found that removes this: stops by break contacts do, or a "
                     "zone with a stop relay of two channels and feedback."
                   : " No small change was found that removes this.";
    if (takes("weld "))
        return " No small change was found that removes this: two contactors in series do, or a zone with a stop relay "
               "and feedback.";
    if (takes("detach "))
        return " No small change was found that removes this: a second contact block in a row of its own does, as with "
               "a stop relay of two channels.";
    return {};
}

bool is_of_faults(const Finding &finding) {
    return finding.rule == "single-fault" || finding.rule == "hidden-fault";
}

bool is_stop_or_overload(const Circuit &circuit, const std::string &name) {
    const auto id = circuit.find(name);
    return id && (circuit.device(*id).kind == DeviceKind::overload ||
                  (is_actuator(circuit.device(*id).kind) && role_of(circuit.device(*id)) == Role::stop));
}

bool is_subset(const std::set<std::string> &some, const std::set<std::string> &all) {
    return std::includes(all.begin(), all.end(), some.begin(), some.end());
}

class Repairer {
public:
    Repairer(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict)
        : context_(context), machines_(machines), verdict_(verdict), known_findings_(open_findings(verdict)),
          machine_names_(context.compiled.machines.begin(), context.compiled.machines.end()) {}

    void run() {
        for (Finding &finding : verdict_.findings)
            if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.repair.empty() &&
                !is_of_faults(finding))
                repair(finding);
        outlive_faults();
        for (Finding &finding : verdict_.findings)
            if (finding.repair.empty() && !finding.witness.acts.empty() && finding.status != Status::undecided &&
                (is_of_faults(finding) || finding.rule == "earth-fault"))
                finding.text += way_out(finding);
    }

private:
    void repair(Finding &finding) {
        const FindingKey key = key_of(finding);
        const std::vector<std::string> helpers = helpers_of(finding);
        const auto shown_by = [&](const PartPointer &part) {
            return part && part->before.complete && found_in(*part, key.first).contains(key);
        };
        PartPointer part = part_of(finding, helpers);
        // It may take more than what acts on the machine; a short takes the source from all that it feeds.
        const bool shorted = finding.witness.ends_in == source_shorted;
        if ((!shown_by(part) || shorted) && context_.circuit.devices().size() <= most_devices)
            part = cut_out(all_devices(), most_devices);
        if (!shown_by(part))
            return; // too large
        const bool tells = ends_as_told(part->circuit, finding);
        struct Best {
            Change change;
            std::set<FindingKey> left;
            std::size_t in_order; ///< machines
        };
        std::optional<Best> best;
        std::optional<Change::Kind> kind;
        std::size_t end = std::min(network_work() + work_per_finding, end_of_work_);
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
            const Behaviour after = trial(changed, false);
            if (!gone(key, after.findings) || !no_worse(after, part->before))
                continue;
            left->insert(after.findings.begin(), after.findings.end());
            const std::size_t now = in_order(after, part->before);
            const bool better = !best || left->size() < best->left.size() ||
                                (left->size() == best->left.size() && now > best->in_order);
            if (!better || !mends_wider(change, key, part))
                continue;
            const std::size_t work = network_work();
            const auto to_earth = still_to_earth(changed, *part);
            const bool no_more_lost = to_earth && faults_no_worse(changed, *part, rules_of_targets());
            end += network_work() - work; // costs no other candidate its trial
            limit += network_work() - work;
            if (!no_more_lost)
                continue;
            left->insert(to_earth->begin(), to_earth->end());
            best = {change, *left, now};
            if (left->empty() && now == part->circuit.machines().size())
                break;
        }
        if (best)
            tell(text_of(best->change, context_.circuit), *part, best->left);
    }

    // A fault of one part: a second part, or one that waits for the first, leaves it without harm. Where no target is
    // declared it is no failure, but there is a small answer all the same: as many as are quickly tried.
    void outlive_faults() {
        struct Tried {
            Finding *finding;
            FaultAct fault;
            std::vector<Change> changes;
            PartPointer part;
        };
        const std::size_t end_of_notes = std::min(end_of_work_, network_work() + work_for_notes);
        for (const bool notes : {false, true}) {
            const std::size_t end = notes ? end_of_notes : end_of_work_;
            std::vector<Tried> all;
            for (Finding &finding : verdict_.findings) {
                const auto fault = fault_of(finding);
                if (finding.rule != "single-fault" || !fault || (finding.status == Status::note) != notes)
                    continue;
                auto changes = changes_against(context_.circuit, *fault);
                const bool made = changes.empty() && tells_of_stop(finding) &&
                                  (fault->verb == "break" || fault->verb == "detach"); // a stop that closes a contact
                if ((changes.empty() && !made) || network_work() > end)
                    continue;
                PartPointer part = part_of(finding, {});
                if (!part || !part->before.complete)
                    continue;
                if (made)
                    changes = stops_by_break_contacts(part->circuit, finding);
                all.push_back({&finding, *fault, std::move(changes), std::move(part)});
            }
            std::stable_sort(all.begin(), all.end(),
                             [](const Tried &a, const Tried &b) { return a.part->work < b.part->work; });
            for (const auto &[finding, fault, changes, part] : all)
                for (const Change &change : changes)
                    if (network_work() <= end && outlives(change, fault, *finding, part)) {
                        tell_first(*finding, text_of(change, context_.circuit));
                        break;
                    }
            outlive_shorts(notes, std::max(end, network_work() + (notes ? work_for_noted_shorts : work_for_shorts)));
        }
    }

    bool outlives(const Change &change, const FaultAct &fault, const Finding &finding, const PartPointer &least) {
        if (!fits(least->circuit, change))
            return false;
        const PartPointer part = with_all_influenced(change, least);
        if (!part || !part->before.complete || !fits(part->circuit, change))
            return false;
        Circuit changed = part->circuit;
        apply(changed, change);
        return takes_nothing(changed, change, fault, finding) && no_worse(trial(changed, false), part->before) &&
               faults_no_worse(changed, *part, rules_besides(finding)) && no_worse_fed_back(change);
    }

    std::vector<std::string> rules_besides(const Finding &finding) const {
        std::vector<std::string> rules;
        if (finding.status != Status::note)
            rules = rules_of_targets();
        if (context_.wants("earth-fault"))
            rules.emplace_back("earth-fault");
        return rules;
    }

    // What motors feed back into a line that is lost reaches coils from far beyond a part: asked where that is not
    // much.
    bool no_worse_fed_back(const Change &change) const {
        if (context_.circuit.devices().size() > most_devices ||
            (change.kind != Change::Kind::start_relay_added && change.kind != Change::Kind::device_doubled &&
             change.kind != Change::Kind::row_added))
            return true;
        Circuit changed = context_.circuit;
        apply(changed, change);
        const CheckOptions options = options_for(changed, {});
        const Context context(changed, options);
        const std::set<FindingKey> now = open_findings(judge(context, machines_of(context)));
        return std::includes(known_findings_.begin(), known_findings_.end(), now.begin(), now.end());
    }

    // Neither the part nor its twin takes anything away by this fault; no wire that comes off takes a stop away that
    // this one took, or starts anything.
    bool takes_nothing(const Circuit &changed, const Change &change, const FaultAct &fault,
                       const Finding &finding) const {
        const CheckOptions options = options_for(changed, {"single-fault"});
        const Context context(changed, options);
        const std::vector<MachineSeen> machines = machines_of(context);
        Tools tools(context);
        FaultJudge judge(tools, machines);
        const bool wire = fault.verb == "break";
        const auto alike = [&](const FaultAct &other) {
            const bool there =
                (other.device == fault.device || other.device == change.device) &&
                (fault.terminal.empty() || other.terminal == fault.terminal || other.terminal == change.block.first);
            return other.verb == fault.verb && (wire || there);
        };
        const auto counts = [&](const Loss &loss) {
            const auto &told = finding.subjects;
            return !wire || is_start_rule(loss.rule) || std::find(told.begin(), told.end(), loss.subject) != told.end();
        };
        const FaultList faults = single_faults(context, machines);
        return std::all_of(faults.cases.begin(), faults.cases.end(), [&](const FaultCase &one) {
            if (!alike(fault_of(one.fault.text)))
                return true;
            const FaultEffect effect = without_second_trips(context, machines, one.fault, judge.effect_of(one));
            return std::none_of(effect.losses.begin(), effect.losses.end(), counts) && effect.undecided.empty();
        });
    }

    // ---- conductors that touch

    /// What acts on the machines that some findings tell of, and what second rows there do.
    struct WithRow {
        PartPointer part; ///< with all that the change can reach; null: not to be tried
        Change change;
        std::unique_ptr<ShortsTrial> shorts;
        std::optional<bool> no_worse; ///< once it was asked
    };
    struct RowsOfPart {
        PartPointer part; ///< null: too large
        std::vector<CoilRow> rows;
        std::map<std::vector<std::string>, WithRow> tried; ///< per coils that have a second row
    };

    // One second row outlives all shorts in the first.
    void outlive_shorts(bool notes, std::size_t end) {
        std::vector<std::pair<Finding *, RowsOfPart *>> all;
        for (Finding &finding : verdict_.findings)
            if (finding.rule == "single-fault" && (finding.status == Status::note) == notes &&
                std::any_of(finding.witness.acts.begin(), finding.witness.acts.end(),
                            [](const std::string &act) { return act.starts_with("bridge "); }))
                if (RowsOfPart *rows = rows_around(finding, end); rows && rows->part)
                    all.emplace_back(&finding, rows);
        std::stable_sort(all.begin(), all.end(),
                         [](const auto &a, const auto &b) { return a.second->part->work < b.second->part->work; });
        for (const auto &[finding, rows] : all)
            for (const auto &coils : coils_between(rows->rows, finding->subjects[0], finding->subjects[1]))
                if (network_work() <= end)
                    if (WithRow &one = with_row(*rows, coils); one.part && outlives_short(one, *finding)) {
                        tell_first(*finding, text_of(one.change, context_.circuit));
                        break;
                    }
    }

    // @returns null when too much was tried to look at more
    RowsOfPart *rows_around(const Finding &finding, std::size_t end) {
        std::vector<std::uint32_t> told;
        for (const MachineSeen &machine : machines_)
            if (std::find(finding.subjects.begin(), finding.subjects.end(), machine.name) != finding.subjects.end())
                told.push_back(machine.index);
        const auto known = rows_.find(told);
        if (known != rows_.end() || network_work() > end)
            return known == rows_.end() ? nullptr : &known->second;
        RowsOfPart &rows = rows_[told];
        if (told.size() > most_influenced)
            return &rows;
        std::set<std::uint32_t> devices;
        for (const std::uint32_t m : told)
            add_devices(machines_[m].reach, devices);
        if (PartPointer part = cut_out(devices, most_devices * 3); part && part->before.complete) {
            rows.rows = coil_rows(part->circuit);
            rows.part = std::move(part);
        }
        return &rows;
    }

    WithRow &with_row(RowsOfPart &rows, const std::vector<std::string> &coils) {
        const auto [known, fresh] = rows.tried.try_emplace(coils);
        WithRow &one = known->second;
        auto row = fresh ? second_row(rows.part->circuit, coils, context_.circuit) : std::nullopt;
        if (!row)
            return one;
        one.change.kind = Change::Kind::row_added;
        one.change.row = std::move(*row);
        const PartPointer wide = with_all_influenced(one.change, rows.part);
        if (!wide || !wide->before.complete || !fits(wide->circuit, one.change))
            return one;
        one.part = wide;
        Circuit changed = wide->circuit;
        apply(changed, one.change);
        CheckOptions options = options_for(changed, {"single-fault"});
        one.shorts = std::make_unique<ShortsTrial>(std::move(changed), std::move(options));
        return one;
    }

    bool outlives_short(WithRow &one, const Finding &finding) {
        // The fault, and what is like it in the second row and between the two.
        std::set<std::string> nets = one.change.row.between;
        for (std::size_t i = 0; i < 2; ++i) {
            nets.insert(finding.subjects[i]);
            if (const auto second = one.change.row.nets.find(finding.subjects[i]); second != one.change.row.nets.end())
                nets.insert(second->second);
        }
        // No target is declared for trips: what fails against one is gone without them.
        if (!one.shorts->harmless(nets, finding.subjects, finding.status == Status::note))
            return false;
        const Circuit &changed = one.shorts->circuit();
        if (!one.no_worse)
            one.no_worse = no_worse(trial(changed, false), one.part->before) &&
                           faults_no_worse(changed, *one.part, rules_besides(finding)) && no_worse_fed_back(one.change);
        return *one.no_worse;
    }

    void tell_first(Finding &finding, std::string repair) {
        if (!finding.repair.empty())
            finding.text += " Or " + finding.repair + ".";
        finding.repair = std::move(repair);
    }

    // One change often mends several findings.
    void tell(const std::string &text, const Part &part, const std::set<FindingKey> &left) {
        for (Finding &finding : verdict_.findings) {
            const FindingKey key = key_of(finding);
            if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.repair.empty() &&
                found_in(part, key.first).contains(key) && gone(key, left))
                finding.repair = text;
        }
    }

    // ---- trials

    // A machine's start that only moves to another occasion is not mended.
    bool gone(const FindingKey &key, const std::set<FindingKey> &left) const {
        if (!is_start_rule(key.first))
            return !left.contains(key);
        return std::none_of(left.begin(), left.end(), [&](const FindingKey &other) {
            return is_start_rule(other.first) &&
                   std::any_of(other.second.begin(), other.second.end(), [&](const std::string &subject) {
                       return machine_names_.contains(subject) &&
                              std::find(key.second.begin(), key.second.end(), subject) != key.second.end();
                   });
        });
    }

    Behaviour trial(const Circuit &circuit, bool own_starts_only) const {
        return behaviour_of(circuit, options_for(circuit, {}), own_starts_only);
    }

    std::set<FindingKey> found_by(const std::string &rule, const Circuit &circuit) const {
        const CheckOptions options = options_for(circuit, {rule});
        const Context context(circuit, options);
        return open_findings(judge(context, machines_of(context)));
    }

    // What a part does as it is; what earth faults do in it is no part of its behaviour, and asked apart.
    const std::set<FindingKey> &found_in(const Part &part, const std::string &rule) const {
        if (rule != "earth-fault")
            return part.before.findings;
        if (!part.to_earth)
            part.to_earth = found_by(rule, part.circuit);
        return *part.to_earth;
    }

    // The claim that failed, that rule alone: most changes that get so far end here.
    // @returns what is left of that rule
    std::optional<std::set<FindingKey>> mends(const Circuit &changed, const FindingKey &key, const Part &part) const {
        auto now = found_by(key.first, changed);
        const auto &before = found_in(part, key.first);
        if (now.contains(key) || !std::includes(before.begin(), before.end(), now.begin(), now.end()))
            return std::nullopt;
        return now;
    }

    // A change that lets an earth fault do what it did not do before is no repair.
    // @returns what earth faults still do, where they are asked about
    std::optional<std::set<FindingKey>> still_to_earth(const Circuit &changed, const Part &part) const {
        if (!context_.wants("earth-fault"))
            return std::set<FindingKey>();
        auto now = found_by("earth-fault", changed);
        const auto &before = found_in(part, "earth-fault");
        if (!std::includes(before.begin(), before.end(), now.begin(), now.end()))
            return std::nullopt;
        return now;
    }

    // A change brings wires and contacts, and each of them can fail like those that it stands among. What it must not
    // do is let a kind of fault take away what no such fault did.
    bool faults_no_worse(const Circuit &changed, const Part &part, const std::vector<std::string> &rules) const {
        return std::all_of(rules.begin(), rules.end(), [&](const std::string &rule) {
            const std::vector<Lost> now = lost_by_faults(rule, changed, part.circuit);
            if (now.empty())
                return true;
            const auto [known, unasked] = part.by_faults.try_emplace(rule);
            const std::vector<Lost> &before = known->second;
            if (unasked)
                known->second = lost_by_faults(rule, part.circuit, part.circuit);
            return std::all_of(now.begin(), now.end(), [&](Lost after) {
                // What did not hold before is no loss now.
                const std::set<std::string> all = after.subjects;
                const bool any = std::erase_if(after.subjects, [&](const std::string &name) {
                                     return failed_before(name, all, part.before.findings);
                                 }) > 0;
                if (any && is_subset(after.subjects, machine_names_))
                    return true;
                return std::any_of(before.begin(), before.end(), [&](const Lost &each) {
                    return each.faults == after.faults && is_subset(after.subjects, each.subjects);
                });
            });
        });
    }

    bool failed_before(const std::string &name, const std::set<std::string> &with,
                       const std::set<FindingKey> &findings) const {
        return !machine_names_.contains(name) &&
               std::any_of(findings.begin(), findings.end(), [&](const FindingKey &key) {
                   const auto &[rule, subjects] = key;
                   return (rule == "stop-cuts" || rule == "stop-beats-start" || rule == "overload-cuts") &&
                          std::find(subjects.begin(), subjects.end(), name) != subjects.end() &&
                          std::all_of(subjects.begin(), subjects.end(),
                                      [&](const std::string &each) { return with.contains(each); });
               });
    }

    // Rules of faults that are held against a target.
    std::vector<std::string> rules_of_targets() const {
        std::vector<std::string> rules;
        for (const auto &[rule, least] :
             {std::pair{"single-fault", Target::single_fault}, {"hidden-fault", Target::accumulated_faults}})
            if (context_.wants(rule) &&
                std::any_of(machines_.begin(), machines_.end(), [&, least = least](const MachineSeen &machine) {
                    return context_.strictest_target_of(machine.name) >= least;
                }))
                rules.emplace_back(rule);
        return rules;
    }

    // @param part  what is not in there is no loss
    std::vector<Lost> lost_by_faults(const std::string &rule, const Circuit &circuit, const Circuit &part) const {
        const CheckOptions options = options_for(circuit, {rule});
        const Context context(circuit, options);
        std::vector<Lost> all;
        for (const Finding &finding : judge(context, machines_of(context)).findings) {
            if (finding.status == Status::note)
                continue;
            std::multiset<std::string> verbs;
            for (const std::string &act : finding.witness.acts)
                if (is_fault(act))
                    verbs.insert(act.substr(0, act.find(' ') + 1));
            Lost lost;
            for (const std::string &verb : verbs)
                lost.faults += verb;
            for (const std::string &subject : finding.subjects)
                if (machine_names_.contains(subject) || is_stop_or_overload(part, subject))
                    lost.subjects.insert(subject);
            all.push_back(std::move(lost));
        }
        return all;
    }

    // Machines and loads beyond the part that the change can reach.
    struct Beyond {
        std::set<std::uint32_t> machines, loads;
    };
    Beyond beyond(const Change &change, const Circuit &part) {
        Beyond found;
        find_reaching();
        for (const std::string &name : touched_nets(change, part)) {
            const auto net = context_.circuit.find_net(name);
            if (!net || context_.relevance.is_pole_net(net->value))
                continue;
            found.machines.insert(machines_reaching_[net->value].begin(), machines_reaching_[net->value].end());
            found.loads.insert(loads_reaching_[net->value].begin(), loads_reaching_[net->value].end());
        }
        const auto inside = part.machines();
        std::erase_if(found.machines, [&](std::uint32_t m) {
            return std::find(inside.begin(), inside.end(), machines_[m].name) != inside.end();
        });
        std::erase_if(found.loads, [&](std::uint32_t l) {
            return part.find(context_.compiled.device_names[context_.compiled.loads[l].device]).has_value();
        });
        return found;
    }

    // The part with all else that the change can reach.
    // @returns null when that is too much to try
    PartPointer with_all_influenced(const Change &change, const PartPointer &part) {
        const auto [machines, loads] = beyond(change, part->circuit);
        if (machines.empty() && loads.empty())
            return part;
        if (machines.size() > most_influenced || loads.size() > most_influenced)
            return nullptr; // not tried, so not told
        std::set<std::uint32_t> devices;
        for (const Device &device : part->circuit.devices())
            devices.insert(context_.circuit.find(device.designation)->value);
        for (const std::uint32_t m : machines)
            add_devices(machines_[m].reach, devices);
        for (const std::uint32_t l : loads)
            add_devices(reach_of_load(l), devices);
        return cut_out(devices, most_devices * 3);
    }

    bool mends_wider(const Change &change, const FindingKey &key, const PartPointer &part) {
        const PartPointer wide = with_all_influenced(change, part);
        if (wide == part)
            return true;
        if (!wide || !fits(wide->circuit, change))
            return false;
        Circuit changed = wide->circuit;
        apply(changed, change);
        const Behaviour after = trial(changed, false);
        Behaviour before = wide->before;
        before.findings.insert(known_findings_.begin(), known_findings_.end());
        if (!gone(key, after.findings) || !no_worse(after, before))
            return false;
        const auto to_earth = still_to_earth(changed, *wide);
        return to_earth && !to_earth->contains(key) && faults_no_worse(changed, *wide, rules_of_targets());
    }

    CheckOptions options_for(const Circuit &circuit, std::vector<std::string> rules) const {
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
                                                  context_.target_of(target, context_.stops[stop].name)});
        return options;
    }

    // ---- parts

    const MachineSeen *machine_of(const Finding &finding) const {
        for (const std::string &subject : finding.subjects)
            for (const MachineSeen &machine : machines_)
                if (machine.name == subject)
                    return &machine;
        // Contactors that fail by themselves, and the machine they run.
        for (const std::string &subject : finding.subjects)
            if (const auto id = context_.circuit.find(subject)) {
                const std::uint32_t variable = context_.compiled.variable_of[id->value];
                for (const MachineSeen &machine : machines_)
                    if (std::find(machine.power_variables.begin(), machine.power_variables.end(), variable) !=
                        machine.power_variables.end())
                        return &machine;
            }
        return nullptr;
    }

    // What acts on the machine; and on the finding's devices, where that is not too much or no machine is named.
    PartPointer part_of(const Finding &finding, const std::vector<std::string> &helpers) {
        std::set<std::uint32_t> devices;
        Seeds coils, ends;
        const MachineSeen *machine = machine_of(finding);
        if (machine)
            add_devices(machine->reach, devices);
        for (const std::string &subject : finding.subjects)
            if (machine && context_.small() && subject.find(':') != std::string::npos) // others feed a lost line back
                add_devices(reach_of(context_.compiled, context_.relevance, machine->seeds, Extent::everything),
                            devices);
            else if (const auto id = context_.circuit.find(subject)) {
                devices.insert(id->value);
                const std::uint32_t variable = context_.compiled.variable_of[id->value];
                if (!machine || (variable != none && !machine->reached_by(variable)))
                    for (const Device::Terminal &terminal : context_.circuit.device(*id).terminals)
                        ends.nets.push_back(terminal.net.value);
            }
        for (const std::string &helper : helpers) {
            add_with_motor(helper, devices);
            for (const Device::Terminal &terminal : context_.circuit.at(helper).terminals)
                if (terminal.name[0] == 'A')
                    coils.nets.push_back(terminal.net.value);
        }
        add_reach(coils, devices);
        std::set<std::uint32_t> more = devices;
        add_reach(ends, more);
        return cut_out(more.size() > most_devices && machine ? devices : more, most_devices);
    }

    std::set<std::uint32_t> all_devices() const {
        std::set<std::uint32_t> devices;
        for (std::uint32_t i = 0; i < context_.circuit.devices().size(); ++i)
            devices.insert(i);
        return devices;
    }

    void add_reach(const Seeds &seeds, std::set<std::uint32_t> &devices) const {
        if (!seeds.nets.empty())
            add_devices(reach_of(context_.compiled, context_.relevance, seeds, Extent::feed), devices);
    }

    // A contactor with the motor straight behind its poles or behind an overload: from there nothing else is fed.
    void add_with_motor(const std::string &contactor, std::set<std::uint32_t> &devices) const {
        const std::uint32_t index = context_.circuit.find(contactor)->value;
        devices.insert(index);
        std::vector<std::uint32_t> nets;
        for (const std::uint32_t i : context_.lookup.poles_of[context_.compiled.variable_of[index]])
            nets.insert(nets.end(), {context_.compiled.switches[i].a, context_.compiled.switches[i].b});
        const std::size_t own = nets.size();
        for (std::size_t k = 0; k < nets.size(); ++k) {
            if (context_.relevance.is_pole_net(nets[k]))
                continue;
            for (const std::uint32_t i : context_.lookup.switches_at[nets[k]]) {
                const Switch &contact = context_.compiled.switches[i];
                if (k < own && contact.pole && contact.variable == none) { // an overload
                    devices.insert(contact.device);
                    nets.push_back(contact.a == nets[k] ? contact.b : contact.a);
                }
            }
            for (const std::uint32_t i : context_.lookup.impedances_at[nets[k]])
                if (const std::uint32_t device = context_.compiled.impedances[i].device;
                    context_.lookup.motor_of[device] != none)
                    devices.insert(device);
        }
    }

    // Contactors and relays that a stop of the finding acts on, when it does not act on the machine.
    std::vector<std::string> helpers_of(const Finding &finding) const {
        std::vector<std::string> names;
        const MachineSeen *machine = machine_of(finding);
        const auto id = context_.circuit.find(finding.subjects[0]);
        if (finding.rule != "stop-cuts" || !machine || !id)
            return names;
        const std::uint32_t variable = context_.compiled.variable_of[id->value];
        if (variable == none || machine->reached_by(variable))
            return names;
        std::vector<std::uint32_t> nets;
        for (const std::uint32_t i : context_.lookup.switches_of[variable])
            for (const std::uint32_t net : {context_.compiled.switches[i].a, context_.compiled.switches[i].b})
                if (!context_.relevance.is_pole_net(net))
                    nets.push_back(net);
        for (const std::uint32_t i : context_.relevance.around(nets, {}).impedances) {
            const Impedance &coil = context_.compiled.impedances[i];
            const DeviceKind kind = context_.circuit.devices()[coil.device].kind;
            const std::string &name = context_.compiled.device_names[coil.device];
            if (coil.armature != none && (kind == DeviceKind::contactor || kind == DeviceKind::relay) &&
                names.size() < most_helpers && std::find(names.begin(), names.end(), name) == names.end())
                names.push_back(name);
        }
        return names;
    }

    void add_devices(const Reach &reach, std::set<std::uint32_t> &devices) const {
        for (const std::uint32_t i : reach.switches)
            devices.insert(context_.compiled.switches[i].device);
        for (const std::uint32_t i : reach.impedances)
            devices.insert(context_.compiled.impedances[i].device);
        for (const std::uint32_t v : reach.variables)
            devices.insert(context_.compiled.variables[v].device);
        for (const std::uint32_t i : reach.sources)
            devices.insert(context_.compiled.sources[i].device);
    }

    // Cut out once, however many findings ask for it.
    PartPointer cut_out(const std::set<std::uint32_t> &devices, std::size_t most) {
        if (devices.size() > most || network_work() > end_of_work_)
            return nullptr;
        Circuit circuit;
        for (const std::uint32_t index : devices) {
            const Device &device = context_.circuit.devices()[index];
            std::vector<Connection> connections;
            for (const Device::Terminal &terminal : device.terminals)
                connections.push_back({terminal.name, context_.circuit.net_name(terminal.net)});
            circuit.add(device.designation, device.kind, connections, device.parameters);
        }
        for (const PartPointer &part : parts_)
            if (part->circuit == circuit)
                return part;
        const std::size_t work = network_work();
        Behaviour before = trial(circuit, true);
        parts_.push_front(std::make_shared<const Part>(std::move(circuit), std::move(before), network_work() - work));
        if (parts_.size() > most_parts)
            parts_.pop_back();
        return parts_.front();
    }

    Reach reach_of_load(std::uint32_t index) const {
        const LoadSeen &load = context_.compiled.loads[index];
        const Seeds seeds{.nets = {load.a, load.b}, .power = {}, .loads = context_.lookup.impedances_of[load.device]};
        return reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
    }

    void find_reaching() {
        if (!machines_reaching_.empty())
            return;
        machines_reaching_.resize(context_.compiled.net_count);
        loads_reaching_.resize(context_.compiled.net_count);
        for (const MachineSeen &machine : machines_)
            for (const std::uint32_t net : machine.reach.nets)
                machines_reaching_[net].push_back(machine.index);
        for (std::uint32_t i = 0; i < context_.compiled.loads.size(); ++i)
            for (const std::uint32_t net : reach_of_load(i).nets)
                loads_reaching_[net].push_back(i);
    }

    const Context &context_;
    const std::vector<MachineSeen> &machines_;
    Verdict &verdict_;
    std::set<FindingKey> known_findings_;
    std::set<std::string> machine_names_;
    std::map<std::vector<std::uint32_t>, RowsOfPart> rows_;                      ///< per machines
    std::deque<PartPointer> parts_;                                              ///< the newest first
    std::vector<std::vector<std::uint32_t>> machines_reaching_, loads_reaching_; ///< per net; made when first needed
    std::size_t end_of_work_ = network_work() + work_per_verdict;
};

} // namespace

void find_repairs(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict) {
    Repairer(context, machines, verdict).run();
}

} // namespace stopspan
