#include "checks/machine_report.hpp"

#include "base/words.hpp"
#include "checks/fact_text.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// On two lines, or in none of its ways, it does not run as it is meant to.
bool is_told(Mode mode) {
    return mode != Mode::single_phasing && mode != Mode::other;
}

std::vector<std::string> words_of(const std::string &subject) {
    std::vector<std::string> words;
    std::string rest = subject;
    for (std::size_t blank; (blank = rest.find(' ')) != std::string::npos; rest = rest.substr(blank + 1))
        words.push_back(rest.substr(0, blank));
    words.push_back(rest);
    return words;
}

class MachineReport {
public:
    MachineReport(MachineOutcome &outcome, Decided &decided)
        : outcome_(outcome), context_(outcome.context), machine_(outcome.machine), decided_(decided) {}

    void report() {
        const bool cut_wanted = wants("stop-cuts"), beaten_wanted = wants("stop-beats-start"),
                   spared_wanted = wants("stop-spares");
        for (const auto &[index, asked] : machine_.asked) {
            const StopSeen &stop = context_.stops[index];
            const bool cut = outcome_.is_proven_cut(index);
            if (asked == Asked::cut) {
                if (cut_wanted)
                    claim("stop-cuts", stop.name, cut);
                // A stop that never cuts this machine says so once.
                const bool never_cuts = cut_wanted && !cut && outcome_.never_cuts_surely(stop.name);
                if (beaten_wanted && !never_cuts) {
                    claim("stop-beats-start", stop.name, cut);
                    outcome_.fed_back_left |= outcome_.not_asked.contains(stop.name);
                }
            }
            if (asked == Asked::keep && spared_wanted)
                claim("stop-spares", stop.name, outcome_.far.untouched_by(stop.variable));
        }
        for (const std::string_view rule : start_rules)
            if (wants(rule))
                open_claim(rule, outcome_.no_start);
        note_held_starts();
        if (wants("overload-cuts"))
            for (const std::uint32_t overload : machine_.overloads)
                claim("overload-cuts", context_.name(overload),
                      outcome_.proven_overloads.contains(context_.name(overload)));
        for (const std::string rule : {"contact-race", "chatter"})
            if (wants(rule))
                open_claim(rule, outcome_.no_race);
        // A fragment proves nothing; a machine that no act can start may be meant so.
        const bool fed = !machine_.reach.sources.empty(),
                   never_runs = outcome_.seen && outcome_.complete && !outcome_.seen->ever_runs;
        if ((!fed || never_runs) && cut_wanted)
            decided_.add(
                {.rule = "stop-cuts",
                 .status = fed ? Status::note : Status::undecided,
                 .subjects = {machine_.name},
                 .text = fed ? machine_.name + " never runs in any reachable state, so what is said of it is empty."
                             : "No source feeds " + machine_.name + ": nothing is proven of it."});
        if (!outcome_.matrix_wanted())
            return;
        decided_.cells.reserve(context_.every_cell ? context_.stops.size() : outcome_.stops.size());
        if (context_.every_cell)
            for (std::uint32_t i = 0; i < context_.stops.size(); ++i)
                add_cell(i);
        else
            for (const std::uint32_t i : outcome_.stops)
                add_cell(i);
    }

private:
    bool wants(std::string_view rule) const { return context_.wants(rule); }

    void add_finding(const std::string &rule, const std::string &subject, const Fact &fact) {
        if (outcome_.unconfirmed.contains({rule, subject})) {
            if (fact.status != Status::note)
                add_undecided(rule, subject);
            return;
        }
        Finding finding{.rule = rule, .status = fact.status, .subjects = {}};
        if (is_race_rule(rule)) {
            finding.subjects = words_of(subject);
        } else {
            finding.subjects = {subject, machine_.name};
        }
        const bool one_way = !outcome_.seen || !outcome_.seen->modes.contains(Mode::reverse);
        Fact told = fact;
        if (rule == "stop-cuts" && fact.status == Status::fails && fact.way == 0 && outlives_in_every_mode(subject))
            told.mode.clear();
        finding.text = text_of(rule, subject, machine_.name, told, one_way);
        if (const auto missing = outcome_.missing.find({rule, subject});
            missing != outcome_.missing.end() && !missing->second.empty())
            finding.text += " It depends on values nobody declared: " + listed(missing->second) + ".";
        finding.witness.acts = fact.acts;
        finding.witness.ends_in = fact.ends_in;
        if (const auto path = outcome_.paths.find({rule, subject}); path != outcome_.paths.end())
            finding.witness.path = path->second;
        decided_.add(std::move(finding));
    }

    // It runs on past this stop in whatever way it was seen to run.
    bool outlives_in_every_mode(const std::string &stop) const {
        if (!outcome_.seen)
            return false;
        const auto found =
            std::find_if(outcome_.seen->found.begin(), outcome_.seen->found.end(),
                         [&](const auto &of_stop) { return context_.stops[of_stop.first].name == stop; });
        return found != outcome_.seen->found.end() &&
               std::all_of(outcome_.seen->modes.begin(), outcome_.seen->modes.end(), [&](Mode mode) {
                   const auto in_mode = found->second.find(mode);
                   return !is_told(mode) || (in_mode != found->second.end() && in_mode->second == Found::spares);
               });
    }

    void add_undecided(const std::string &rule, const std::string &subject) {
        Finding finding{.rule = rule, .status = Status::undecided, .subjects = {machine_.name}};
        if (!subject.empty())
            finding.subjects.insert(finding.subjects.begin(), subject);
        if (const Fact *seen = outcome_.fact(rule, subject)) {
            finding.witness.acts = seen->acts; // seen in a part of the circuit, not confirmed in the whole
            finding.witness.ends_in = "perhaps: " + seen->ends_in;
        }
        finding.text = "Not decided for " + listed(finding.subjects) + " within " +
                       std::to_string(context_.options.state_budget) + " states; what can act on it has " +
                       (outcome_.seen ? outcome_.size_text : std::string("unknown size")) + ".";
        decided_.add(std::move(finding));
    }

    // Starts while a button is held are one note for the machine, whatever came back meanwhile.
    void note_held_starts() {
        std::erase_if(held_, [&](const auto *key) { return outcome_.unconfirmed.contains(*key); });
        if (held_.empty())
            return;
        const auto *first = held_.front();
        for (const auto *key : held_)
            if (key->first == "release-return") {
                first = key;
                break;
            }
        Finding finding{.rule = first->first,
                        .status = Status::note,
                        .subjects = {},
                        .text = {},
                        .witness = {outcome_.facts.at(*first).acts, {}, outcome_.facts.at(*first).ends_in}};
        for (const auto *key : held_)
            if (std::find(finding.subjects.begin(), finding.subjects.end(), key->second) == finding.subjects.end())
                finding.subjects.push_back(key->second);
        finding.text = machine_.name + " starts when its start is held while something comes back (" +
                       listed_in_short(finding.subjects) + "): no anti-tie-down.";
        finding.subjects.push_back(machine_.name);
        decided_.add(std::move(finding));
    }

    // One claim with one subject.
    void claim(std::string_view proven_rule, const std::string &subject, bool proven) {
        if (proven) {
            decided_.count(proven_rule, "holds");
            return;
        }
        const std::string rule(proven_rule);
        const Fact *found = outcome_.fact(rule, subject);
        if (found && found->status == Status::note)
            add_finding(rule, subject, *found);
        if (found && found->status != Status::note)
            add_finding(rule, subject, *found);
        else if (outcome_.seen && outcome_.complete)
            decided_.count(rule, "holds");
        else
            add_undecided(rule, subject);
    }

    // One claim whose failures each name their own subject.
    void open_claim(std::string_view proven_rule, bool proven) {
        if (proven) {
            decided_.count(proven_rule, "holds");
            return;
        }
        const std::string rule(proven_rule);
        std::size_t failing = 0;
        for (const auto &[key, one] : outcome_.facts)
            if (key.first == rule) {
                failing += one.status != Status::note;
                const bool held = one.status == Status::note && is_start_rule(rule);
                if (held)
                    held_.push_back(&key);
                else if (one.status != Status::note || !is_race_rule(rule) || !told_by_fewer(key))
                    add_finding(rule, key.second, one);
            }
        const bool in_every_order = is_race_rule(rule) && outcome_.orders;
        if (in_every_order && outcome_.orders->more.contains(rule))
            decided_.add(
                {.rule = rule,
                 .status = Status::undecided,
                 .subjects = {machine_.name},
                 .text = "More of what acts on " + machine_.name + " depends on contact timing than is told."});
        else if (failing > 0)
            return;
        else if ((outcome_.seen && outcome_.complete) || in_every_order)
            decided_.count(rule, "holds");
        else
            add_undecided(rule, "");
    }

    // Armatures that two hands can let race say nothing new where fewer of them are told to race.
    bool told_by_fewer(const std::pair<std::string, std::string> &key) const {
        const auto armatures = words_of(key.second);
        return std::any_of(outcome_.facts.begin(), outcome_.facts.end(), [&](const auto &other) {
            if (other.first.first != key.first || other.first.second == key.second || other.second.way != 0 ||
                outcome_.unconfirmed.contains(other.first))
                return false;
            const auto fewer = words_of(other.first.second);
            return std::includes(armatures.begin(), armatures.end(), fewer.begin(), fewer.end());
        });
    }

    Found found_of(std::uint32_t index) const {
        if (outcome_.is_proven_cut(index))
            return Found::cuts;
        if (!outcome_.seen)
            return Found::spares;
        const Found seen = seen_of(index);
        return seen == Found::cuts && !outcome_.complete ? Found::maybe : seen; // what is undecided cuts for no one
    }

    Found seen_of(std::uint32_t index) const {
        const StopSeen &stop = context_.stops[index];
        const Asked asked = asked_of(machine_.asked, index);
        const auto found = outcome_.seen->found.find(index);
        if (found == outcome_.seen->found.end() || found->second.empty()) {
            // Never pressed while it runs. Asked to cut, it has nothing to cut, unless the machine runs with it
            // actuated; else it acts on nothing.
            if (asked != Asked::cut || !outcome_.reached(stop.variable) || outcome_.fact("stop-cuts", stop.name))
                return Found::spares;
            const Fact *beaten = outcome_.fact("stop-beats-start", stop.name);
            if (!beaten || beaten->status == Status::note)
                return Found::cuts;
            const bool surely =
                beaten->status == Status::fails && !outcome_.unconfirmed.contains({"stop-beats-start", stop.name});
            return surely ? Found::spares : Found::maybe;
        }
        Found whole = found->second.begin()->second;
        for (const auto &[mode, one] : found->second)
            if (is_told(mode))
                whole = joint(whole, one, asked);
        const Fact *failed = outcome_.fact("stop-cuts", stop.name);
        const bool other = failed && (whole == Found::cuts     ? failed->status != Status::note
                                      : whole == Found::spares ? failed->status == Status::maybe
                                                               : false);
        const Fact *cut = outcome_.fact("stop-spares", stop.name); // running on two phases, it may be
        return other || (whole == Found::spares && cut && cut->status != Status::note) ? Found::maybe : whole;
    }

    void add_cell(std::uint32_t index) {
        const StopSeen &stop = context_.stops[index];
        MatrixCell cell{.stop = stop.name,
                        .machine = machine_.name,
                        .asked = asked_of(machine_.asked, index),
                        .found = found_of(index),
                        .modes = {}};
        if (outcome_.seen && outcome_.reached(stop.variable) && !outcome_.is_proven_cut(index)) {
            if (const auto found = outcome_.seen->found.find(index); found != outcome_.seen->found.end())
                for (const auto &[mode, one] : found->second)
                    if (is_told(mode))
                        cell.modes.emplace(to_text(mode), one);
        } else if (outcome_.seen) {
            for (const Mode mode : outcome_.seen->modes)
                if (is_told(mode))
                    cell.modes.emplace(to_text(mode), cell.found);
        }
        if (cell.modes.size() == 1) {
            const auto [mode, found] = *cell.modes.begin();
            const bool one_way = mode == "forward" || mode == "reverse"; // a motor that only ever turns one way
            if ((one_way || mode == "run") && found == cell.found)
                cell.modes.clear();
            else if (one_way)
                cell.modes = {{"run", found}};
        }
        decided_.cells.push_back(std::move(cell));
    }

    MachineOutcome &outcome_;
    const Context &context_;
    const MachineSeen &machine_;
    Decided &decided_;
    std::vector<const MachineOutcome::Claim *> held_;
};

} // namespace

const Fact *MachineOutcome::fact(const std::string &rule, const std::string &subject) const {
    const auto found = facts.find({rule, subject});
    return found == facts.end() ? nullptr : &found->second;
}

bool MachineOutcome::never_cuts_surely(const std::string &stop) const {
    const Fact *failed = fact("stop-cuts", stop);
    return failed && failed->status == Status::fails &&
           std::none_of(machine.asked.begin(), machine.asked.end(), [&](const auto &asked) {
               return context.stops[asked.first].name == stop && seen->ever_cut.contains(asked.first);
           });
}

void tell(MachineOutcome &outcome, Decided &decided) {
    MachineReport(outcome, decided).report();
    decided.fed_back_left = outcome.fed_back_left;
}

} // namespace stopspan
