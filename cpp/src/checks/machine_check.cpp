#include "checks/machine_check.hpp"

#include "checks/outcome_retelling.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// Things with positions in a whole that is asked of what a part passes over, and evaluations in network_work().
constexpr std::size_t most_to_ask = 100, most_work_to_ask = 50'000;

class MachineDecision {
public:
    MachineDecision(Tools &tools, OutcomesBefore &before, const MachineSeen &machine,
                    const std::vector<std::uint32_t> &proven_cut)
        : tools_(tools), before_(before), context_(tools.context), machine_(machine),
          outcome_(tools, machine, proven_cut) {}

    Decided decide() {
        prove();
        if (open_)
            search_unless_told();
        else if (outcome_.orders)
            confirm_orders();
        tell(outcome_, decided_);
        return std::move(decided_);
    }

private:
    bool wants(std::string_view rule) const { return context_.wants(rule); }

    void prove() {
        for (const auto &[stop, asked] : machine_.asked)
            outcome_.stops.push_back(stop);
        for (const std::uint32_t variable : machine_.reach.variables)
            if (context_.stop_of[variable] != none)
                outcome_.stops.push_back(context_.stop_of[variable]);
        std::sort(outcome_.stops.begin(), outcome_.stops.end());
        outcome_.stops.erase(std::unique(outcome_.stops.begin(), outcome_.stops.end()), outcome_.stops.end());
        const bool cut_needed = outcome_.cuts_wanted() || wants("stop-beats-start"),
                   spared_wanted = wants("stop-spares"), any_wanted = outcome_.matrix_wanted();
        for (const std::uint32_t i : outcome_.stops) {
            const std::uint32_t variable = context_.stops[i].variable;
            const Asked asked = asked_of(machine_.asked, i);
            const bool reached = machine_.reached_by(variable);
            const bool cut = outcome_.is_proven_cut(i);
            if (asked == Asked::cut) {
                open_ |= cut_needed && !cut;
            } else if (asked == Asked::keep) {
                const bool touched = spared_wanted && !outcome_.far.untouched_by(variable);
                open_ |= touched;
                whole_ |= touched && !reached && !outcome_.far.fed_by_contacts_only();
            } else {
                open_ |= any_wanted && reached && !cut;
            }
        }
        for (const std::string_view rule : start_rules)
            starts_wanted_ |= wants(rule);
        if (starts_wanted_) {
            outcome_.no_start = proves_no_start(tools_.structure, context_, machine_);
            open_ |= !outcome_.no_start;
        }
        if (wants("overload-cuts"))
            for (const std::uint32_t overload : machine_.overloads) {
                const bool cut = proves_cut(tools_.structure, context_, machine_, overload);
                if (cut)
                    outcome_.proven_overloads.insert(context_.name(overload));
                open_ |= !cut;
            }
        if (wants("contact-race") || wants("chatter")) {
            outcome_.no_race = proves_no_race(context_, machine_.reach) && !context_.small();
            if (!outcome_.no_race)
                outcome_.orders = tools_.every_order_of_moving(machine_.reach.armatures);
            open_ |= !outcome_.no_race && !outcome_.orders;
        }
    }

    // What was found of a machine that is wired alike is so of this one.
    void search_unless_told() {
        look_at_lines();
        whole_ |= is_small(context_, machine_);
        if (context_.small() || all_ != Extent::everything || outcome_.orders) {
            search();
            return;
        }
        SearchedAround around = before_.around(machine_, whole_);
        if (const OutcomeRetelling *like = before_.of(around)) {
            like->tell(outcome_, around.all);
            return;
        }
        search();
        if (!asked_)
            before_.keep(outcome_, std::move(around));
    }

    void search() {
        // Where not all that is connected is tried but only what is relevant, distribution nets are cut and what hangs
        // on them counts as unknown.
        search_ = std::make_unique<MachineSearch>(context_, machine_, whole_ ? Extent::everything : Extent::feed);
        outcome_.complete = search_->run(context_.options.state_budget);
        take_facts();
        ask_what_is_fed_back();
        const auto doubtful = confirm_all();
        if (outcome_.complete && !doubtful.empty() && !whole_)
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
        outcome_.fed_back_left = lines_fed_back_ && !decided_.asks_past_lines;
    }

    // Races and chatter are known from every order of moving where that was asked.
    void take_orders() {
        if (!outcome_.orders)
            return;
        std::erase_if(outcome_.facts, [](const auto &fact) { return is_race_rule(fact.first.first); });
        for (const auto &[race, acts] : outcome_.orders->races)
            outcome_.facts.try_emplace({race.rule, race.subject()}, Fact{race.status(), acts, race.ends_in(), "", 0});
    }

    void take_facts() {
        outcome_.facts = search_->facts();
        outcome_.seen = search_->seen();
        outcome_.size_text = search_->size_text();
        take_orders();
        if (outcome_.complete) {
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
                if (const Fact *known = outcome_.fact(key.first, key.second);
                    wants(key.first) && (!known || known->status == Status::note)) {
                    // Of a stop that never cuts it is not told whether it beats the start.
                    if (key.first == "stop-beats-start" && wants("stop-cuts") && outcome_.never_cuts_surely(key.second))
                        outcome_.not_asked.insert(key.second);
                    else
                        passed_over.insert(key);
                }
        const bool past_lines = all_ == Extent::past_lines;
        if (passed_over.empty() && !past_lines)
            return;
        if (!past_lines && connected_variables(context_, machine_) > most_to_ask) {
            outcome_.fed_back_left = true;
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
        outcome_.fed_back_left |= !complete;
        for (const auto &[key, seen] : asked_->facts()) {
            const auto &[rule, subject] = key;
            const Fact *known = outcome_.fact(rule, subject);
            const bool race = is_race_rule(rule);
            if (seen.status == Status::note || (known && severity(known->status) >= severity(seen.status)) ||
                !(past_lines || passed_over.contains(key) || passed_over.contains({rule, ""})) || !(search_ || race) ||
                (!complete && may_be_excused(context_, rule, subject)))
                continue;
            outcome_.facts[key] = seen;
            if (race && search_)
                outcome_.orders.reset(); // contacts alone do not decide it
        }
        weigh();
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
                    return speaks_of_it(seen, key) &&
                           severity(seen.second.status) >= severity(outcome_.facts.at(key).status);
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
                            outcome_.facts.erase(key); // told with its subjects
                        outcome_.facts[seen.first] = seen.second;
                    }
            weigh();
        }
        confirm_all();
    }

    // What fails only in some of the states that its acts may lead to perhaps fails, unless other acts lead there
    // surely.
    void weigh() {
        for (Facts::value_type &each : outcome_.facts) {
            const MachineOutcome::Claim &key = each.first;
            const std::string &rule = key.first;
            Fact &fact = each.second;
            if (fact.status != Status::fails || !wants(rule) || is_race_rule(rule) ||
                (fact.sure && search_->exact() && all_ == Extent::everything) ||
                (rule == "stop-cuts" && category(key.second) == 1))
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
        for (const auto &[key, fact] : outcome_.facts) {
            if (key.first != "power-return" || fact.status != Status::fails)
                continue;
            any_whole |= key.second.find(':') == std::string::npos && key.second != "all sources";
            for (const auto &[other, unused] : outcome_.facts)
                if (other.first == "power-return" && other.second.starts_with(key.second + ":"))
                    folded.push_back(other);
        }
        if (any_whole)
            folded.emplace_back("power-return", "all sources");
        for (const auto &key : folded)
            outcome_.facts.erase(key);
    }

    // An overload that carries the motor's current but acts on nothing that runs it.
    void add_unwired_overloads() {
        if (!wants("overload-cuts"))
            return;
        for (const std::uint32_t overload : machine_.overloads)
            if (!outcome_.reached(overload)) {
                auto acts = search_->shortest_run();
                if (!acts)
                    acts = search_->shortest_run(Tri::on, true); // it only runs while a button is held
                if (!acts)
                    continue;
                Fact fact{Status::fails, *acts, machine_.name + " runs", "", 0};
                fact.acts.push_back("trip " + context_.name(overload));
                outcome_.facts[{"overload-cuts", context_.name(overload)}] = std::move(fact);
            }
    }

    // A stop that is asked to cut but stands in no circuit of the machine: any way of running shows it.
    void add_unreached() {
        for (const auto &[index, asked] : machine_.asked) {
            const StopSeen &stop = context_.stops[index];
            if (asked != Asked::cut || outcome_.reached(stop.variable))
                continue;
            const std::string acted = act_text(context_.actors[stop.variable], Variable::Kind::actuator, true);
            const auto runs = search_->shortest_run();
            const auto may_run = runs ? runs : search_->shortest_run(Tri::maybe);
            if (may_run) {
                Fact fact{runs ? Status::fails : Status::maybe, *may_run, machine_.name + (runs ? " runs" : " may run"),
                          "", 3};
                fact.acts.push_back(acted);
                outcome_.facts[{"stop-cuts", stop.name}] = std::move(fact);
            } else if (search_->beaten()) { // it only runs while a button is held
                Fact fact = *search_->beaten();
                fact.acts.insert(fact.acts.begin(), acted);
                outcome_.facts[{"stop-beats-start", stop.name}] = std::move(fact);
            }
        }
    }

    // Asks the whole of each fact, and returns those it does not show, notes left out.
    std::set<std::pair<std::string, std::string>> confirm_all() {
        std::set<std::pair<std::string, std::string>> doubtful;
        outcome_.unconfirmed.clear();
        if (outcome_.facts.empty())
            return doubtful;
        WitnessRun &whole = tools_.witness_run(machine_.seeds, all_);
        for (auto &[key, fact] : outcome_.facts) {
            if (!wants(key.first))
                continue;
            const bool timed = key.first == "stop-cuts" && fact.status != Status::note && category(key.second) == 1;
            const WitnessRun::Result end = whole.run(fact.acts);
            const State *failing = nullptr;
            const bool open = fact.status == Status::undecided;
            if (open || (!timed && !confirmed(fact, key.first, machine_, whole, end, &failing))) {
                outcome_.unconfirmed.insert(key);
                if (fact.status != Status::note)
                    doubtful.insert(key);
                continue;
            }
            if (!fact.runs_on.empty() && !may_run_after(whole, fact.runs_on))
                fact.runs_on.clear();
            if (failing && fact.status != Status::note) {
                outcome_.paths[key] =
                    whole.holding_path(*failing, machine_.power_armatures, machine_.motors[0]->nets[0]);
                if (fact.status == Status::maybe)
                    outcome_.missing[key] = whole.missing_values(*failing, machine_.power_armatures);
            }
        }
        return doubtful;
    }

    bool may_run_after(WitnessRun &whole, const std::vector<std::string> &acts) const {
        const WitnessRun::Result end = whole.run(acts);
        return std::any_of(end.states.begin(), end.states.end(),
                           [&](State state) { return whole.observe(machine_.index, state).runs != Tri::off; });
    }

    int category(const std::string &stop) const {
        for (const StopSeen &each : context_.stops)
            if (each.name == stop)
                return each.category;
        return 0;
    }

    Tools &tools_;
    OutcomesBefore &before_;
    const Context &context_;
    const MachineSeen &machine_;
    Decided decided_;
    MachineOutcome outcome_;
    bool open_ = false, starts_wanted_ = false;
    bool whole_ = false;                            ///< all that is connected is searched, not only what is relevant
    std::unique_ptr<MachineSearch> search_, asked_; ///< of the machine; of what is fed back
    bool lines_fed_back_ = false;     ///< loads may feed a line that the machine stands on when it is lost
    Extent all_ = Extent::everything; ///< what is asked of all that a part shows
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

Decided decide_machine(Tools &tools, OutcomesBefore &before, const MachineSeen &machine,
                       const std::vector<std::uint32_t> &proven_cut) {
    return MachineDecision(tools, before, machine, proven_cut).decide();
}

void Decided::count(std::string_view rule, std::string_view status, std::size_t times) {
    if (times == 0)
        return;
    // Of devices there are many, each told of at once.
    const std::size_t looked_at = device == none ? counts.size() : std::min<std::size_t>(counts.size(), 4);
    for (auto each = counts.rbegin(); each != counts.rbegin() + static_cast<std::ptrdiff_t>(looked_at); ++each)
        if (each->rule == rule && each->status == status && each->device == device) {
            each->times += times;
            return;
        }
    const auto known = rules();
    const auto info = std::find_if(known.begin(), known.end(), [&](const RuleInfo &one) { return one.id == rule; });
    counts.push_back({info->id, status, times, device});
}

void Decided::add(Decided more) {
    std::move(more.findings.begin(), more.findings.end(), std::back_inserter(findings));
    devices.insert(devices.end(), more.devices.begin(), more.devices.end());
    orders.insert(orders.end(), more.orders.begin(), more.orders.end());
    for (const Count &each : more.counts) {
        device = each.device;
        count(each.rule, each.status, each.times);
    }
    indivisible |= more.indivisible;
}

} // namespace stopspan
