#include "checks/repairs/outlive.hpp"

#include "checks/left_out.hpp"
#include "checks/repairs/shields.hpp"
#include "checks/repairs/shorts.hpp"
#include "checks/second_overload.hpp"

#include <algorithm>
#include <unordered_map>

namespace stopspan {
namespace {

// In network_work(): for what fails against no target; and besides, for shorts.
constexpr std::size_t work_for_notes = 1'000'000;
constexpr std::size_t work_for_shorts = 2'000'000, work_for_noted_shorts = 350'000;
constexpr std::size_t most_others = 3;    // repairs of what does not hold anyway, tried first
constexpr std::size_t few_influenced = 4; // machines that a second row may reach where no target asks for it

bool tells_of_stop(const Finding &finding) {
    return finding.text.find(" stopped by ") != std::string::npos;
}

bool tells_of_trip(const Finding &finding) {
    return finding.text.find(" stopped by the trip of ") != std::string::npos;
}

// What is usual where no small change was found, which says nothing of this circuit.
std::string usual(std::string_view what) {
    return " Usual in the trade, not proven for this circuit: " + std::string(what) + ".";
}

// Of a fault for which no change was found that removes it.
// @param tried  kinds of changes that were, and do not
std::string way_out(const Circuit &circuit, const Finding &finding, const std::set<Change::Kind> &tried) {
    const std::string none_found = " No small change was found that removes this.";
    if (finding.rule == "hidden-fault")
        return none_found + usual("to let the first fault show, by a feedback contact that keeps the machine from "
                                  "starting again, as with a stop relay and two contactors");
    if (finding.rule == "earth-fault")
        return none_found + usual("a control supply with one pole earthed, every coil straight at that pole and every "
                                  "contact and fuse ahead of the coils");
    const auto takes = [&](std::string_view verb) {
        return std::any_of(finding.witness.acts.begin(), finding.witness.acts.end(),
                           [&](const std::string &act) { return act.starts_with(verb); });
    };
    const auto tried_here = [&](Change::Kind kind, std::string_view what) {
        return tried.contains(kind) ? " " + std::string(what) + " was tried and does not." : std::string();
    };
    const auto jammed = takes("jam ") ? circuit.find(finding.subjects[0]) : std::nullopt;
    if (jammed && role_of(circuit.device(*jammed)) == Role::stop)
        return none_found +
               " An actuator takes all its blocks with it: another stop device within reach that stops the same is "
               "left then.";
    if (takes("jam ")) {
        const std::string start_relay = tried_here(Change::Kind::start_relay_added, "A start relay");
        return none_found + start_relay +
               usual(start_relay.empty() ? "a start that must be let go before it starts again, as with a start relay, "
                                           "or a stop relay with manual reset"
                                         : "a stop relay with manual reset");
    }
    if (takes("blind ")) {
        const std::string second = tried_here(Change::Kind::device_doubled, "A second overload in the same line");
        return none_found + second +
               (second.empty() ? usual("a second overload in the same line, its trip contact in series with that of "
                                       "the first")
                               : std::string());
    }
    if (takes("break "))
        return none_found +
               usual(
                   tells_of_stop(finding)
                       ? "stops by break contacts, or a zone with a stop relay of two channels and feedback"
                   : finding.witness.acts.back().starts_with("elapse ")
                       ? "every stop ahead of the timer as well, and a line contactor that comes in by what the timer "
                         "takes over from, as by a make contact of the star contactor"
                       : "one supply for each control circuit, with its line and its return behind one isolator");
    if (takes("weld ")) {
        const std::string second = tried_here(Change::Kind::device_doubled, "A second one in series");
        return none_found + second +
               usual(second.empty() ? "two contactors in series, or a zone with a stop relay and feedback"
                                    : "a zone with a stop relay and feedback");
    }
    if (takes("detach "))
        return none_found + usual("a second contact block in a row of its own, as with a stop relay of two channels");
    return {};
}

std::vector<std::string> nets_of(const Circuit &circuit, const std::string &device) {
    std::vector<std::string> nets;
    for (const Device::Terminal &terminal : circuit.at(device).terminals)
        nets.push_back(circuit.net_name(terminal.net));
    return nets;
}

class FaultRepairer {
public:
    FaultRepairer(RepairParts &parts, Verdict &verdict) : parts_(parts), context_(parts.context()), verdict_(verdict) {
        for (const MachineSeen &machine : parts.machines())
            index_.emplace(machine.name, machine.index);
    }

    /// @param left  only what has no repair yet
    void run(bool left = false) {
        struct Tried {
            Finding *finding;
            FaultAct fault;
            std::vector<Change> changes;
            PartPointer part;
        };
        parts_.allow(work_for_notes);
        const std::size_t end_of_notes = std::min(parts_.end_of_work(), network_work() + work_for_notes);
        for (const bool notes : {false, true}) {
            const std::size_t end = notes ? end_of_notes : parts_.end_of_work();
            std::vector<Tried> all;
            for (Finding &finding : verdict_.findings) {
                const auto fault = fault_of(finding);
                if (finding.rule != "single-fault" || !fault || (finding.status == Status::note) != notes ||
                    (left && !finding.repair.empty()))
                    continue;
                const bool of_stop = fault->verb == "jam" && role_of(context_.circuit.at(fault->device)) == Role::stop;
                if (network_work() > end || (of_stop && parts_.told().empty()))
                    continue;
                PartPointer part = parts_.part_of(finding, {});
                if (!part || !part->before.complete)
                    continue;
                PartPointer around = part; // a start device may act on more than one machine
                if (fault->verb == "jam" && !of_stop)
                    around = parts_.with_all_influenced(nets_of(context_.circuit, fault->device), part);
                if (!around)
                    continue;
                auto changes = changes_against(around->circuit, *fault, context_.circuit);
                if (changes.empty() && tells_of_stop(finding) && (fault->verb == "break" || fault->verb == "detach"))
                    changes = stops_by_break_contacts(part->circuit, finding); // a stop that closes a contact
                else if (changes.empty() && fault->verb == "break")
                    changes = stops_moved_ahead(part->circuit, finding);
                all.push_back({&finding, *fault, std::move(changes), std::move(part)});
            }
            std::stable_sort(all.begin(), all.end(),
                             [](const Tried &a, const Tried &b) { return a.part->work < b.part->work; });
            for (auto &[finding, fault, changes, part] : all)
                try_all(std::move(changes), {fault, *finding, part, end});
            if (left)
                continue;
            const std::size_t more = notes ? work_for_noted_shorts : work_for_shorts;
            parts_.allow(more);
            outlive_shorts(notes, std::max(end, network_work() + more));
        }
    }

    const TriedInVain &tried() const { return tried_; }

private:
    struct Against {
        const FaultAct &fault;
        Finding &finding;
        const PartPointer &part;
        std::size_t end; ///< of work
    };

    void try_all(std::vector<Change> changes, const Against &against) {
        if (try_each({}, against.part->circuit, std::move(changes), against))
            return;
        // What is wrong anyway may be all that the fault brings to light, or all that stands in the way.
        std::size_t others = 0;
        for (const Change &other : parts_.told()) {
            if (others == most_others || network_work() > against.end)
                return;
            if (!fits(against.part->circuit, other))
                continue;
            ++others;
            if (try_with(other, against))
                return;
            // One coil more draws more through the same conductor.
            if (other.kind == Change::Kind::conductor_thickened) {
                Circuit mended = against.part->circuit;
                apply(mended, other);
                for (const Change &more : thicker(mended.at(other.device)))
                    if (network_work() <= against.end && try_with(more, against))
                        return;
            }
        }
    }

    bool try_with(const Change &other, const Against &against) {
        if (try_each({}, against.part->circuit, {other}, against))
            return true;
        Circuit mended = against.part->circuit;
        apply(mended, other);
        return try_each({other}, mended, changes_against(mended, against.fault, context_.circuit), against);
    }

    // @param first  is made before each of them
    // @param from   the part with it
    bool try_each(std::vector<Change> first, const Circuit &from, std::vector<Change> changes, const Against &against) {
        const auto &[fault, finding, part, end] = against;
        for (std::size_t i = 0; i < changes.size() && network_work() <= end; ++i) {
            std::set<std::string> left;
            std::vector<Change> steps = first;
            steps.push_back(changes[i]);
            if (outlives(steps, fault, finding, part, left)) {
                tell_first(finding, first.empty() ? text_of(changes[i], context_.circuit)
                                                  : "first " + text_of(first[0], context_.circuit) + "; then " +
                                                        text_of(changes[i], from));
                return true;
            }
            if (first.empty())
                tried_[&finding].insert(changes[i].kind);
            if (auto more = opened_by(changes[i], from, left))
                changes.push_back(std::move(*more));
        }
        return false;
    }

    // A start relay whose feed some act leaves on is to fall by that act.
    std::optional<Change> opened_by(const Change &change, const Circuit &from,
                                    const std::set<std::string> &acted) const {
        if (change.kind != Change::Kind::start_relay_added || !change.start_relay.locks.empty() || acted.empty())
            return std::nullopt;
        auto locked = with_locks(from, change.start_relay, {acted.begin(), acted.end()});
        if (!locked)
            return std::nullopt;
        Change more = change;
        more.start_relay = std::move(*locked);
        return more;
    }

    // @param changes  one after the other
    // @param left  then has the acts that still take something away
    bool outlives(const std::vector<Change> &changes, const FaultAct &fault, const Finding &finding, PartPointer part,
                  std::set<std::string> &left) {
        for (std::size_t known = 0; known < changes.size(); ++known) {
            const auto so_far = made(part->circuit, {changes.begin(), changes.begin() + static_cast<int>(known)});
            if (!so_far || !fits(*so_far, changes[known]))
                return false;
            part = parts_.with_all_influenced(touched_nets(changes[known], *so_far), part);
            if (!part || !part->before.complete)
                return false;
        }
        if (!has_machines_of(finding, part->circuit)) { // the change reaches some of them, the fault all
            part = parts_.with_all_influenced(nets_of(context_.circuit, fault.device), part);
            if (!part || !part->before.complete || !has_machines_of(finding, part->circuit))
                return false;
        }
        const auto changed = made(part->circuit, changes);
        std::set<std::string> taken; // what the part does not show no change to it removes
        return changed && takes_nothing(*changed, changes.back(), fault, finding, left) &&
               !takes_nothing(part->circuit, changes.back(), fault, finding, taken) &&
               no_worse(parts_.trial(*changed, &part->before), part->before) &&
               parts_.faults_no_worse(*changed, *part, rules_besides(finding)) && parts_.no_worse_fed_back(changes) &&
               takes_nothing_in_all(changes, fault, finding);
    }

    // What stands beyond the part may be what the fault acts through: asked where that is not much.
    bool takes_nothing_in_all(const std::vector<Change> &changes, const FaultAct &fault, const Finding &finding) const {
        if (context_.circuit.devices().size() > most_devices)
            return true;
        const auto changed = made(context_.circuit, changes);
        std::set<std::string> left;
        return changed && takes_nothing(*changed, changes.back(), fault, finding, left);
    }

    bool has_machines_of(const Finding &finding, const Circuit &part) const {
        const auto inside = part.machines();
        return std::all_of(finding.subjects.begin(), finding.subjects.end(), [&](const std::string &subject) {
            return !parts_.is_machine(subject) || std::find(inside.begin(), inside.end(), subject) != inside.end();
        });
    }

    // @returns nothing where one of them does not fit
    static std::optional<Circuit> made(Circuit circuit, const std::vector<Change> &changes) {
        for (const Change &change : changes) {
            if (!fits(circuit, change))
                return std::nullopt;
            apply(circuit, change);
        }
        return circuit;
    }

    std::vector<std::string> rules_besides(const Finding &finding) const {
        std::vector<std::string> rules;
        if (finding.status != Status::note)
            rules = parts_.rules_of_targets();
        if (context_.wants("earth-fault"))
            rules.emplace_back("earth-fault");
        return rules;
    }

    // Neither the part nor its twin takes anything away by this fault; no wire that comes off takes a stop away that
    // this one took, or starts anything.
    bool takes_nothing(const Circuit &changed, const Change &change, const FaultAct &fault, const Finding &finding,
                       std::set<std::string> &left) const {
        const CheckOptions options = parts_.options_for(changed, {"single-fault"});
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
            const FaultEffect effect = without_second_trips(judge, judge.effect_of(one));
            for (const Loss &loss : effect.losses)
                if (counts(loss))
                    left.insert(loss.subject);
            return left.empty() && effect.undecided.empty();
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
        std::map<std::pair<std::vector<std::string>, Trips>, WithRow> tried; ///< per coils that have a second row
    };

    // One second row outlives all shorts in the first.
    void outlive_shorts(bool notes, std::size_t end) {
        const std::size_t most = notes ? few_influenced : most_influenced;
        std::vector<std::pair<Finding *, RowsOfPart *>> all;
        for (Finding &finding : verdict_.findings)
            if (finding.rule == "single-fault" && (finding.status == Status::note) == notes &&
                std::any_of(finding.witness.acts.begin(), finding.witness.acts.end(),
                            [](const std::string &act) { return act.starts_with("bridge "); }))
                if (RowsOfPart *rows = rows_around(finding, most, end); rows && rows->part)
                    all.emplace_back(&finding, rows);
        std::stable_sort(all.begin(), all.end(),
                         [](const auto &a, const auto &b) { return a.second->part->work < b.second->part->work; });
        for (const auto &[finding, rows] : all) {
            const Trips trips = notes && tells_of_trip(*finding) ? Trips::both_rows : Trips::first_row;
            for (const auto &coils : coils_between(rows->rows, finding->subjects[0], finding->subjects[1]))
                if (network_work() <= end)
                    if (WithRow &one = with_row(*rows, coils, trips, most); one.part && outlives_short(one, *finding)) {
                        tell_first(*finding, text_of(one.change, context_.circuit));
                        break;
                    }
        }
    }

    // @param most  machines
    // @returns null when too much was tried to look at more
    RowsOfPart *rows_around(const Finding &finding, std::size_t most, std::size_t end) {
        std::vector<std::uint32_t> told;
        for (const std::string &subject : finding.subjects)
            if (const auto machine = index_.find(subject); machine != index_.end())
                told.push_back(machine->second);
        const auto known = rows_.find(told);
        if (known != rows_.end() || network_work() > end)
            return known == rows_.end() ? nullptr : &known->second;
        RowsOfPart &rows = rows_[told];
        if (told.size() > most)
            return &rows;
        if (PartPointer part = parts_.part_of_machines(told); part && part->before.complete) {
            rows.rows = coil_rows(part->circuit);
            rows.part = std::move(part);
        }
        return &rows;
    }

    WithRow &with_row(RowsOfPart &rows, const std::vector<std::string> &coils, Trips trips, std::size_t most) {
        const auto [known, fresh] = rows.tried.try_emplace({coils, trips});
        WithRow &one = known->second;
        auto row = fresh ? second_row(rows.part->circuit, coils, trips, context_.circuit) : std::nullopt;
        if (!row)
            return one;
        one.change.kind = Change::Kind::row_added;
        one.change.row = std::move(*row);
        const PartPointer wide =
            parts_.with_all_influenced(touched_nets(one.change, rows.part->circuit), rows.part, most);
        if (!wide || !wide->before.complete || !fits(wide->circuit, one.change))
            return one;
        one.part = wide;
        Circuit changed = wide->circuit;
        apply(changed, one.change);
        CheckOptions options = parts_.options_for(changed, {"single-fault"});
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
            one.no_worse = no_worse(parts_.trial(changed, &one.part->before), one.part->before) &&
                           parts_.faults_no_worse(changed, *one.part, rules_besides(finding)) &&
                           parts_.no_worse_fed_back({one.change});
        return *one.no_worse;
    }

    void tell_first(Finding &finding, std::string repair) {
        if (!finding.repair.empty())
            finding.text += " Or " + finding.repair + ".";
        finding.repair = std::move(repair);
    }

    RepairParts &parts_;
    const Context &context_;
    Verdict &verdict_;
    std::unordered_map<std::string_view, std::uint32_t> index_; ///< of machines
    std::map<std::vector<std::uint32_t>, RowsOfPart> rows_;     ///< per machines
    TriedInVain tried_;
};

} // namespace

namespace {

// A second fault after one that shows nowhere: no part more makes the first one show, but where one of the two need not
// be reckoned with there are no two.
void leave_one_out(const RepairParts &parts, Verdict &verdict) {
    const Context &context = parts.context();
    std::optional<LeftOut> left_out;
    std::map<std::string, std::vector<std::string_view>> exclusions; // per fault
    for (Finding &finding : verdict.findings) {
        if (finding.rule != "hidden-fault" || !finding.repair.empty() || finding.status == Status::undecided)
            continue;
        if (!left_out) {
            left_out.emplace(context, every_exclusion());
            for (const FaultCase &one : single_faults(context, parts.machines()).cases)
                exclusions.emplace(one.fault.text, left_out->by(one.fault));
        }
        std::vector<std::string_view> fewest;
        for (const std::string &act : finding.witness.acts)
            if (const auto known = exclusions.find(act); known != exclusions.end() && !known->second.empty())
                if (fewest.empty() || known->second.size() < fewest.size())
                    fewest = known->second;
        finding.repair = told_condition(fewest);
    }
}

// Where no change of the circuit was found against a short outside of enclosures: of the ways to keep the conductors
// apart a shield is one that can be tried.
void shield_shorts(const RepairParts &parts, Verdict &verdict) {
    const Context &context = parts.context();
    const std::vector<std::string_view> apart{"shorts-in-enclosure", "shorts-in-protected-cables"};
    ShieldTrial trial(context, parts.machines());
    for (Finding &finding : verdict.findings) {
        if (finding.rule != "single-fault" || finding.repair != told_condition(apart))
            continue;
        const auto a = context.circuit.find_net(finding.subjects[0]), b = context.circuit.find_net(finding.subjects[1]);
        if (a && b && trial.harmless(a->value, b->value))
            finding.repair += ", with a shield of its own joined to earth for " + finding.subjects[0] + " or " +
                              finding.subjects[1] + " (tried: what touches it is earthed, and that takes nothing away)";
    }
}

} // namespace

bool is_of_faults(const Finding &finding) {
    return finding.rule == "single-fault" || finding.rule == "hidden-fault";
}

bool left_without_repair(const Finding &finding) {
    return finding.repair.empty() && !finding.witness.acts.empty() && finding.status != Status::undecided;
}

TriedInVain outlive_faults(RepairParts &parts, Verdict &verdict) {
    FaultRepairer repairer(parts, verdict);
    repairer.run();
    shield_shorts(parts, verdict);
    leave_one_out(parts, verdict);
    return repairer.tried();
}

void outlive_left_faults(RepairParts &parts, Verdict &verdict) {
    FaultRepairer(parts, verdict).run(true);
}

void tell_ways_out(const Circuit &circuit, const TriedInVain &tried, Verdict &verdict) {
    for (Finding &finding : verdict.findings)
        if (left_without_repair(finding) && (is_of_faults(finding) || finding.rule == "earth-fault")) {
            const auto kinds = tried.find(&finding);
            finding.text += way_out(circuit, finding, kinds == tried.end() ? std::set<Change::Kind>() : kinds->second);
        }
}

} // namespace stopspan
