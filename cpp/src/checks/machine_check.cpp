#include "checks/machine_check.hpp"

#include "base/words.hpp"
#include "checks/fact_text.hpp"
#include "checks/feeding.hpp"

#include <algorithm>

namespace stopspan {
namespace {

std::vector<std::string> words_of(const std::string &subject) {
    std::vector<std::string> words;
    std::string rest = subject;
    for (std::size_t blank; (blank = rest.find(' ')) != std::string::npos; rest = rest.substr(blank + 1))
        words.push_back(rest.substr(0, blank));
    words.push_back(rest);
    return words;
}

// Things with positions in a whole that is asked of what a part passes over, and evaluations in network_work().
constexpr std::size_t most_to_ask = 100, most_work_to_ask = 50'000;

class MachineDecision {
public:
    MachineDecision(Tools &tools, const MachineSeen &machine, const std::vector<std::uint32_t> &proven_cut)
        : tools_(tools), context_(tools.context), machine_(machine), proven_cut_(proven_cut),
          far_(context_, tools_.structure, machine_.seeds, &machine_) {}

    Decided decide() {
        prove();
        if (open_)
            search();
        else if (orders_)
            confirm_orders();
        report();
        return std::move(decided_);
    }

private:
    bool wants(std::string_view rule) const { return context_.wants(rule); }
    bool is_proven_cut(std::uint32_t stop) const {
        return std::binary_search(proven_cut_.begin(), proven_cut_.end(), stop);
    }
    bool cuts_wanted() const { return wants("stop-cuts") || (wants("stop-reach") && context_.options.plan); }
    bool matrix_wanted() const { return cuts_wanted() || wants("stop-spares"); }

    void prove() {
        for (const auto &[stop, asked] : machine_.asked)
            stops_.push_back(stop);
        for (const std::uint32_t variable : machine_.reach.variables)
            if (context_.stop_of[variable] != none)
                stops_.push_back(context_.stop_of[variable]);
        std::sort(stops_.begin(), stops_.end());
        stops_.erase(std::unique(stops_.begin(), stops_.end()), stops_.end());
        const bool cut_needed = cuts_wanted() || wants("stop-beats-start"), spared_wanted = wants("stop-spares"),
                   any_wanted = matrix_wanted();
        for (const std::uint32_t i : stops_) {
            const std::uint32_t variable = context_.stops[i].variable;
            const Asked asked = asked_of(machine_.asked, i);
            const bool reached = machine_.reached_by(variable);
            const bool cut = is_proven_cut(i);
            if (asked == Asked::cut) {
                open_ |= cut_needed && !cut;
            } else if (asked == Asked::keep) {
                const bool touched = spared_wanted && !far_.untouched_by(variable);
                open_ |= touched;
                whole_ |= touched && !reached && !far_.fed_by_contacts_only();
            } else {
                open_ |= any_wanted && reached && !cut;
            }
        }
        for (const std::string_view rule : start_rules)
            starts_wanted_ |= wants(rule);
        if (starts_wanted_) {
            no_start_ = proves_no_start(tools_.structure, context_, machine_);
            open_ |= !no_start_;
        }
        if (wants("overload-cuts"))
            for (const std::uint32_t overload : machine_.overloads) {
                const bool cut = proves_cut(tools_.structure, context_, machine_, overload);
                if (cut)
                    proven_overload_.insert(context_.name(overload));
                open_ |= !cut;
            }
        if (wants("contact-race") || wants("chatter")) {
            no_race_ = proves_no_race(context_, machine_.reach) && !context_.small();
            if (!no_race_)
                orders_ = tools_.every_order_of_moving(machine_.reach.armatures);
            open_ |= !no_race_ && !orders_;
        }
    }

    void search() {
        look_at_lines();
        // Where not all that is connected is tried but only what is relevant, distribution nets are cut and what hangs
        // on them counts as unknown.
        const bool whole = whole_ || is_small(context_, machine_);
        search_ = std::make_unique<MachineSearch>(context_, machine_, whole ? Extent::everything : Extent::feed);
        complete_ = search_->run(context_.options.state_budget, {}, &tools_.searched);
        take_facts();
        ask_what_is_fed_back();
        const auto doubtful = confirm_all();
        if (complete_ && !doubtful.empty() && !whole)
            search_wider(doubtful);
    }

    void confirm_orders() {
        look_at_lines();
        take_orders();
        ask_what_is_fed_back();
        confirm_all();
    }

    // Of a line that is lost the search of a part sees no more than that it is dead.
    void look_at_lines() {
        const auto &nets = machine_.reach.nets;
        lines_fed_back_ = !context_.small() && std::any_of(nets.begin(), nets.end(), [&](std::uint32_t net) {
            return context_.relevance.fed_when_lost(net);
        });
        if (lines_fed_back_ && context_.variables <= most_to_ask)
            all_ = Extent::past_lines;
        decided_.asks_past_lines = all_ == Extent::past_lines;
        decided_.fed_back_left = lines_fed_back_ && !decided_.asks_past_lines;
    }

    // Races and chatter are known from every order of moving where that was asked.
    void take_orders() {
        if (!orders_)
            return;
        std::erase_if(facts_, [](const auto &fact) { return is_race_rule(fact.first.first); });
        for (const auto &[race, acts] : orders_->races)
            facts_.try_emplace({race.rule, race.subject()}, Fact{race.status(), acts, race.ends_in(), "", 0});
    }

    void take_facts() {
        facts_ = search_->facts();
        take_orders();
        if (complete_) {
            add_unreached();
            add_unwired_overloads();
        }
        weigh();
        fold_power_return();
    }

    // What other machines and loads feed back into a line that is lost, or behind a blown fuse, is asked of the whole
    // where that is soon looked through: what it shows is so.
    void ask_what_is_fed_back() {
        std::set<std::pair<std::string, std::string>> passed_over;
        if (search_)
            for (const auto &key : search_->passed_over())
                if (const Fact *known = fact(key.first, key.second);
                    wants(key.first) && (!known || known->status == Status::note)) {
                    // Of a stop that never cuts it is not told whether it beats the start.
                    if (key.first == "stop-beats-start" && wants("stop-cuts") && never_cuts_surely(key.second))
                        not_asked_.insert(key.second);
                    else
                        passed_over.insert(key);
                }
        const bool past_lines = all_ == Extent::past_lines;
        if (passed_over.empty() && !past_lines)
            return;
        if (!past_lines && connected_variables(context_, machine_) > most_to_ask) {
            decided_.fed_back_left = true;
            return;
        }
        asked_ = std::make_unique<MachineSearch>(context_, machine_, all_);
        asked_->watch([&, end_of_work = network_work() + most_work_to_ask](const Exploration::Transition &) {
            if (network_work() > end_of_work)
                asked_->exploration().stop();
        });
        if (passed_over.empty()) // no line is lost behind a blown fuse
            asked_->only(
                [](const Act &, Variable::Kind kind, const ActorInfo &) { return kind != Variable::Kind::fuse; });
        const bool complete = asked_->run(context_.options.state_budget);
        decided_.fed_back_left |= !complete;
        for (const auto &[key, seen] : asked_->facts()) {
            const auto &[rule, subject] = key;
            const Fact *known = fact(rule, subject);
            const bool race = is_race_rule(rule);
            if (seen.status == Status::note || (known && severity(known->status) >= severity(seen.status)) ||
                !(past_lines || passed_over.contains(key) || passed_over.contains({rule, ""})) || !(search_ || race) ||
                (!complete && rule == "own-start" && is_timer(subject)))
                continue;
            facts_[key] = seen;
            if (race && search_)
                orders_.reset(); // contacts alone do not decide it
        }
        weigh();
    }

    bool is_timer(const std::string &designation) const { // one that a start set off starts nothing by itself
        const auto device = context_.circuit.find(designation);
        return device && context_.circuit.devices()[device->value].kind == DeviceKind::timer;
    }

    // What hangs on a part counted as unknown, so what it seems to do the whole may not do. What was found to hold
    // stands; of the rest the whole is asked, until it has shown all of it or there is no more to see. One state of
    // the whole costs more, in proportion to its size to settle and to tell from others.
    void search_wider(const std::set<std::pair<std::string, std::string>> &doubtful) {
        const auto speaks_of_it = [](const Facts::value_type &seen, const auto &key) { // no subject: any will do
            return seen.first.first == key.first && (key.second.empty() || seen.first.second == key.second);
        };
        const auto enough = [&](const Facts &facts) {
            return std::all_of(doubtful.begin(), doubtful.end(), [&](const auto &key) {
                return std::any_of(facts.begin(), facts.end(), [&](const auto &seen) {
                    return speaks_of_it(seen, key) && severity(seen.second.status) >= severity(facts_.at(key).status);
                });
            });
        };
        const auto speaks_of = [&](const std::string &designation) {
            return std::any_of(doubtful.begin(), doubtful.end(),
                               [&](const auto &key) { return key.second == designation; });
        };
        // Mostly what shows it takes starts, supplies and the device it is about, no other stop, trip or fuse.
        auto wider = std::make_unique<MachineSearch>(context_, machine_, all_);
        const double ratio = static_cast<double>(search_->variables()) / static_cast<double>(wider->variables());
        const auto budget =
            static_cast<std::size_t>(static_cast<double>(context_.options.state_budget) * std::min(1.0, ratio * ratio));
        wider->only([&](const Act &, Variable::Kind kind, const ActorInfo &actor) {
            return kind == Variable::Kind::source || kind == Variable::Kind::timed ||
                   (kind == Variable::Kind::actuator && actor.role != Role::stop) || speaks_of(actor.designation);
        });
        wider->run(budget, enough);
        bool complete = false;
        if (!enough(wider->facts())) {
            wider = std::make_unique<MachineSearch>(context_, machine_, all_);
            complete = wider->run(budget, enough);
        }
        if (complete) {
            search_ = std::move(wider);
            take_facts();
        } else {
            for (const auto &key : doubtful)
                for (const auto &seen : wider->facts())
                    if (speaks_of_it(seen, key)) {
                        if (key.second.empty() && seen.second.status == Status::fails)
                            facts_.erase(key); // told with its subjects
                        facts_[seen.first] = seen.second;
                    }
            weigh();
        }
        confirm_all();
    }

    // What fails only in some of the states that its acts may lead to perhaps fails, unless other acts lead there
    // surely.
    void weigh() {
        for (auto &[key, fact] : facts_) {
            const auto &[rule, subject] = key;
            if (fact.status != Status::fails || !wants(rule) || is_race_rule(rule) ||
                (fact.sure && search_->exact() && all_ == Extent::everything) ||
                (rule == "stop-cuts" && category(subject) == 1))
                continue;
            WitnessRun &whole = tools_.witness_run(machine_.seeds, all_);
            if (shown(fact, rule, machine_, whole) != Shown::in_some)
                continue;
            const auto surely = [&](MachineSearch *search) {
                const Fact *other = search ? search->surely(key) : nullptr;
                return other && shown(*other, rule, machine_, whole) == Shown::in_all ? other : nullptr;
            };
            const Fact *other = surely(search_.get());
            if (!other)
                other = surely(asked_.get());
            if (other) {
                fact = *other;
                continue;
            }
            fact.status = Status::maybe;
            if (rule == "stop-spares")
                fact.ends_in = machine_.name + " may have stopped";
            else if (rule == "stop-beats-start" && fact.way == 1)
                fact.ends_in = machine_.name + " may have run because the device was held";
            else if (fact.way == 0)
                fact.ends_in = machine_.name + " may run";
        }
    }

    // A source whose return starts the machine anyway: its poles, and all sources together, say nothing new.
    void fold_power_return() {
        bool any_whole = false;
        std::vector<std::pair<std::string, std::string>> folded;
        for (const auto &[key, fact] : facts_) {
            if (key.first != "power-return" || fact.status != Status::fails)
                continue;
            any_whole |= key.second.find(':') == std::string::npos && key.second != "all sources";
            for (const auto &[other, unused] : facts_)
                if (other.first == "power-return" && other.second.starts_with(key.second + ":"))
                    folded.push_back(other);
        }
        if (any_whole)
            folded.emplace_back("power-return", "all sources");
        for (const auto &key : folded)
            facts_.erase(key);
    }

    // An overload that carries the motor's current but acts on nothing that runs it.
    void add_unwired_overloads() {
        if (!wants("overload-cuts"))
            return;
        for (const std::uint32_t overload : machine_.overloads)
            if (!reached(overload)) {
                auto acts = search_->shortest_run();
                if (!acts)
                    acts = search_->shortest_run(Tri::on, true); // it only runs while a button is held
                if (!acts)
                    continue;
                Fact fact{Status::fails, *acts, machine_.name + " runs", "", 0};
                fact.acts.push_back("trip " + context_.name(overload));
                facts_[{"overload-cuts", context_.name(overload)}] = std::move(fact);
            }
    }

    // A stop that is asked to cut but stands in no circuit of the machine: any way of running shows it.
    void add_unreached() {
        for (const auto &[index, asked] : machine_.asked) {
            const StopSeen &stop = context_.stops[index];
            if (asked != Asked::cut || reached(stop.variable))
                continue;
            const std::string acted = act_text(context_.actors[stop.variable], Variable::Kind::actuator, true);
            const auto runs = search_->shortest_run();
            const auto may_run = runs ? runs : search_->shortest_run(Tri::maybe);
            if (may_run) {
                Fact fact{runs ? Status::fails : Status::maybe, *may_run, machine_.name + (runs ? " runs" : " may run"),
                          "", 3};
                fact.acts.push_back(acted);
                facts_[{"stop-cuts", stop.name}] = std::move(fact);
            } else if (search_->beaten()) { // it only runs while a button is held
                Fact fact = *search_->beaten();
                fact.acts.insert(fact.acts.begin(), acted);
                facts_[{"stop-beats-start", stop.name}] = std::move(fact);
            }
        }
    }

    // Asks the whole of each fact, and returns those it does not show, notes left out.
    std::set<std::pair<std::string, std::string>> confirm_all() {
        std::set<std::pair<std::string, std::string>> doubtful;
        unconfirmed_.clear();
        if (facts_.empty())
            return doubtful;
        WitnessRun &whole = tools_.witness_run(machine_.seeds, all_);
        for (auto &[key, fact] : facts_) {
            if (!wants(key.first))
                continue;
            const bool timed = key.first == "stop-cuts" && fact.status != Status::note && category(key.second) == 1;
            const WitnessRun::Result end = whole.run(fact.acts);
            const State *failing = nullptr;
            const bool open = fact.status == Status::undecided;
            if (open || (!timed && !confirmed(fact, key.first, machine_, whole, end, &failing))) {
                unconfirmed_.insert(key);
                if (fact.status != Status::note)
                    doubtful.insert(key);
                continue;
            }
            if (!fact.runs_on.empty() && !may_run_after(whole, fact.runs_on))
                fact.runs_on.clear();
            if (failing && fact.status != Status::note) {
                paths_[key] = whole.holding_path(*failing, machine_.power_armatures, machine_.motors[0]->nets[0]);
                if (fact.status == Status::maybe)
                    missing_[key] = whole.missing_values(*failing, machine_.power_armatures);
            }
        }
        return doubtful;
    }

    bool may_run_after(WitnessRun &whole, const std::vector<std::string> &acts) const {
        const WitnessRun::Result end = whole.run(acts);
        return std::any_of(end.states.begin(), end.states.end(),
                           [&](State state) { return whole.observe(machine_.index, state).runs != Tri::off; });
    }

    bool reached(std::uint32_t variable) const {
        return machine_.reached_by(variable) || (search_ && search_->reaches(variable));
    }

    int category(const std::string &stop) const {
        for (const StopSeen &each : context_.stops)
            if (each.name == stop)
                return each.category;
        return 0;
    }

    // ---- report

    const Fact *fact(const std::string &rule, const std::string &subject) const {
        const auto found = facts_.find({rule, subject});
        return found == facts_.end() ? nullptr : &found->second;
    }

    void add_finding(const std::string &rule, const std::string &subject, const Fact &fact) {
        if (unconfirmed_.contains({rule, subject})) {
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
        const bool one_way = !search_ || !search_->modes().contains(Mode::reverse);
        finding.text = text_of(rule, subject, machine_.name, fact, one_way);
        if (const auto missing = missing_.find({rule, subject}); missing != missing_.end() && !missing->second.empty())
            finding.text += " It depends on values nobody declared: " + listed(missing->second) + ".";
        finding.witness.acts = fact.acts;
        finding.witness.ends_in = fact.ends_in;
        if (const auto path = paths_.find({rule, subject}); path != paths_.end())
            finding.witness.path = path->second;
        decided_.add(std::move(finding));
    }

    void add_undecided(const std::string &rule, const std::string &subject) {
        Finding finding{.rule = rule, .status = Status::undecided, .subjects = {machine_.name}};
        if (!subject.empty())
            finding.subjects.insert(finding.subjects.begin(), subject);
        if (const Fact *seen = fact(rule, subject)) {
            finding.witness.acts = seen->acts; // seen in a part of the circuit, not confirmed in the whole
            finding.witness.ends_in = "perhaps: " + seen->ends_in;
        }
        finding.text = "Not decided for " + listed(finding.subjects) + " within " +
                       std::to_string(context_.options.state_budget) + " states; what can act on it has " +
                       (search_ ? search_->size_text() : std::string("unknown size")) + ".";
        decided_.add(std::move(finding));
    }

    // Starts while a button is held are one note for the machine, whatever came back meanwhile.
    void note_held_starts() {
        std::erase_if(held_, [&](const auto *key) { return unconfirmed_.contains(*key); });
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
                        .witness = {facts_.at(*first).acts, {}, facts_.at(*first).ends_in}};
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
        const Fact *found = fact(rule, subject);
        if (found && found->status == Status::note)
            add_finding(rule, subject, *found);
        if (found && found->status != Status::note)
            add_finding(rule, subject, *found);
        else if (search_ && complete_)
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
        for (const auto &[key, one] : facts_)
            if (key.first == rule) {
                failing += one.status != Status::note;
                const bool held = one.status == Status::note && is_start_rule(rule);
                if (held)
                    held_.push_back(&key);
                else if (one.status != Status::note || !is_race_rule(rule) || !told_by_fewer(key))
                    add_finding(rule, key.second, one);
            }
        const bool in_every_order = is_race_rule(rule) && orders_;
        if (in_every_order && orders_->more.contains(rule))
            decided_.add(
                {.rule = rule,
                 .status = Status::undecided,
                 .subjects = {machine_.name},
                 .text = "More of what acts on " + machine_.name + " depends on contact timing than is told."});
        else if (failing > 0)
            return;
        else if ((search_ && complete_) || in_every_order)
            decided_.count(rule, "holds");
        else
            add_undecided(rule, "");
    }

    // Armatures that two hands can let race say nothing new where fewer of them are told to race.
    bool told_by_fewer(const std::pair<std::string, std::string> &key) const {
        const auto armatures = words_of(key.second);
        return std::any_of(facts_.begin(), facts_.end(), [&](const auto &other) {
            if (other.first.first != key.first || other.first.second == key.second || other.second.way != 0 ||
                unconfirmed_.contains(other.first))
                return false;
            const auto fewer = words_of(other.first.second);
            return std::includes(armatures.begin(), armatures.end(), fewer.begin(), fewer.end());
        });
    }

    void report() {
        const bool cut_wanted = wants("stop-cuts"), beaten_wanted = wants("stop-beats-start"),
                   spared_wanted = wants("stop-spares");
        for (const auto &[index, asked] : machine_.asked) {
            const StopSeen &stop = context_.stops[index];
            const bool cut = is_proven_cut(index);
            if (asked == Asked::cut) {
                if (cut_wanted)
                    claim("stop-cuts", stop.name, cut);
                // A stop that never cuts this machine says so once.
                const bool never_cuts = cut_wanted && !cut && never_cuts_surely(stop.name);
                if (beaten_wanted && !never_cuts) {
                    claim("stop-beats-start", stop.name, cut);
                    decided_.fed_back_left |= not_asked_.contains(stop.name);
                }
            }
            if (asked == Asked::keep && spared_wanted)
                claim("stop-spares", stop.name, far_.untouched_by(stop.variable));
        }
        for (const std::string_view rule : start_rules)
            if (wants(rule))
                open_claim(rule, no_start_);
        note_held_starts();
        if (wants("overload-cuts"))
            for (const std::uint32_t overload : machine_.overloads)
                claim("overload-cuts", context_.name(overload), proven_overload_.contains(context_.name(overload)));
        for (const std::string rule : {"contact-race", "chatter"})
            if (wants(rule))
                open_claim(rule, no_race_);
        // A fragment proves nothing; a machine that no act can start may be meant so.
        const bool fed = !machine_.reach.sources.empty(), never_runs = search_ && complete_ && !search_->ever_runs();
        if ((!fed || never_runs) && cut_wanted)
            decided_.add(
                {.rule = "stop-cuts",
                 .status = fed ? Status::note : Status::undecided,
                 .subjects = {machine_.name},
                 .text = fed ? machine_.name + " never runs in any reachable state, so what is said of it is empty."
                             : "No source feeds " + machine_.name + ": nothing is proven of it."});
        if (!matrix_wanted())
            return;
        decided_.cells.reserve(context_.every_cell ? context_.stops.size() : stops_.size());
        if (context_.every_cell)
            for (std::uint32_t i = 0; i < context_.stops.size(); ++i)
                add_cell(i);
        else
            for (const std::uint32_t i : stops_)
                add_cell(i);
    }

    bool never_cuts_surely(const std::string &stop) const {
        const Fact *failed = fact("stop-cuts", stop);
        return failed && failed->status == Status::fails &&
               std::none_of(machine_.asked.begin(), machine_.asked.end(), [&](const auto &asked) {
                   return context_.stops[asked.first].name == stop && search_->ever_cut(asked.first);
               });
    }

    Found found_of(std::uint32_t index) const {
        if (is_proven_cut(index))
            return Found::cuts;
        if (!search_)
            return Found::spares;
        const Found seen = seen_of(index);
        return seen == Found::cuts && !complete_ ? Found::maybe : seen; // what is undecided cuts for no one
    }

    Found seen_of(std::uint32_t index) const {
        const StopSeen &stop = context_.stops[index];
        const Asked asked = asked_of(machine_.asked, index);
        const auto found = search_->found().find(index);
        if (found == search_->found().end() || found->second.empty()) {
            // Never pressed while it runs. Asked to cut, it has nothing to cut, unless the machine runs with it
            // actuated; else it acts on nothing.
            if (asked != Asked::cut || !reached(stop.variable) || fact("stop-cuts", stop.name))
                return Found::spares;
            const Fact *beaten = fact("stop-beats-start", stop.name);
            if (!beaten || beaten->status == Status::note)
                return Found::cuts;
            const bool surely =
                beaten->status == Status::fails && !unconfirmed_.contains({"stop-beats-start", stop.name});
            return surely ? Found::spares : Found::maybe;
        }
        Found whole = found->second.begin()->second;
        for (const auto &[mode, one] : found->second)
            if (mode != Mode::single_phasing && mode != Mode::other)
                whole = joint(whole, one, asked);
        const Fact *failed = fact("stop-cuts", stop.name);
        const bool other = failed && (whole == Found::cuts     ? failed->status != Status::note
                                      : whole == Found::spares ? failed->status == Status::maybe
                                                               : false);
        return other ? Found::maybe : whole;
    }

    void add_cell(std::uint32_t index) {
        const StopSeen &stop = context_.stops[index];
        MatrixCell cell{.stop = stop.name,
                        .machine = machine_.name,
                        .asked = asked_of(machine_.asked, index),
                        .found = found_of(index),
                        .modes = {}};
        if (search_ && reached(stop.variable) && !is_proven_cut(index)) {
            if (const auto found = search_->found().find(index); found != search_->found().end())
                for (const auto &[mode, one] : found->second)
                    if (mode != Mode::single_phasing && mode != Mode::other)
                        cell.modes.emplace(to_text(mode), one);
        } else if (search_) {
            for (const Mode mode : search_->modes())
                if (mode != Mode::single_phasing && mode != Mode::other)
                    cell.modes.emplace(to_text(mode), cell.found);
        }
        if (cell.modes.size() == 1 &&
            (cell.modes.begin()->first == "forward" || cell.modes.begin()->first == "reverse"))
            cell.modes = {{"run", cell.modes.begin()->second}}; // a motor that only ever turns one way
        if (cell.modes.empty())
            cell.modes.emplace("run", cell.found);
        decided_.cells.push_back(std::move(cell));
    }

    Tools &tools_;
    const Context &context_;
    const MachineSeen &machine_;
    Decided decided_;
    bool open_ = false, starts_wanted_ = false, no_start_ = false, no_race_ = false, complete_ = false;
    std::vector<std::uint32_t> stops_; ///< asked of this machine, or able to act on it: indices into Context::stops
    const std::vector<std::uint32_t> &proven_cut_;
    std::set<std::string> proven_overload_;
    FarReach far_;
    bool whole_ = false; ///< a stop outside the part may act on the machine through loads
    std::optional<OrdersOfMoving> orders_;
    std::unique_ptr<MachineSearch> search_;
    std::unique_ptr<MachineSearch> asked_; ///< what is fed back
    std::set<std::string> not_asked_;      ///< stops of which only what is fed back could show that they do not beat
    bool lines_fed_back_ = false;          ///< loads may feed a line that the machine stands on when it is lost
    Extent all_ = Extent::everything;      ///< what is asked of all that a part shows
    std::vector<const std::pair<std::string, std::string> *> held_;
    Facts facts_;
    std::set<std::pair<std::string, std::string>> unconfirmed_;
    std::map<std::pair<std::string, std::string>, std::vector<std::string>> paths_, missing_;
};

} // namespace

const std::optional<OrdersOfMoving> &Tools::every_order_of_moving(const std::vector<std::uint32_t> &armatures) {
    if (orders_of != armatures) {
        Seeds seeds;
        for (const std::uint32_t armature : armatures)
            for_asking_nets(context.compiled.armatures[armature],
                            [&](std::uint32_t net) { seeds.nets.push_back(net); });
        const Reach reach = reach_of(context.compiled, context.relevance, seeds, Extent::feed);
        orders = stopspan::every_order_of_moving(cut_cone(context.circuit, context.compiled, context.relevance, reach));
        orders_of = armatures;
    }
    return orders;
}

Decided decide_machine(Tools &tools, const MachineSeen &machine, const std::vector<std::uint32_t> &proven_cut) {
    return MachineDecision(tools, machine, proven_cut).decide();
}

void Decided::count(std::string_view rule, std::string_view status, std::size_t times) {
    if (times == 0)
        return;
    for (Count &each : counts)
        if (each.rule == rule && each.status == status) {
            each.times += times;
            return;
        }
    const auto known = rules();
    const auto info = std::find_if(known.begin(), known.end(), [&](const RuleInfo &one) { return one.id == rule; });
    counts.push_back({info->id, status, times});
}

} // namespace stopspan
