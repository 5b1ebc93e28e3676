#include "checks/outcome_retelling.hpp"

#include <algorithm>
#include <numeric>

namespace stopspan {
namespace {

// Puts the numbers of what is searched to the order.
// @param numbered  the k-th has the number k
// @param searched  ascending
void put_numbers(const std::vector<std::uint32_t> &numbered, const std::vector<std::uint32_t> &searched,
                 std::vector<std::uint32_t> &order) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> numbers;
    for (const std::uint32_t each : numbered)
        numbers.emplace_back(each, static_cast<std::uint32_t>(numbers.size()));
    std::sort(numbers.begin(), numbers.end());
    for (const auto &[each, number] : numbers)
        if (std::binary_search(searched.begin(), searched.end(), each))
            order.push_back(number);
}

// The machine was searched without a fault.
constexpr std::span<const Fault> no_fault;

} // namespace

OutcomeRetelling::OutcomeRetelling(const MachineOutcome &outcome, SearchedAround around)
    : around_(std::move(around)), can_be_told_(take(outcome)) {}

bool OutcomeRetelling::take(const MachineOutcome &outcome) {
    const Context &context = outcome.context;
    if (!outcome.seen || !outcome.complete || outcome.orders)
        return false;
    const auto unknown = [](const auto &missing) { return !missing.second.empty(); };
    if (std::any_of(outcome.missing.begin(), outcome.missing.end(), unknown))
        return false;
    const Vocabulary vocabulary(context, around_.all);
    // Of ways that are as short as each other the order decides, which is only known to be the same for these.
    const auto searched = [&](const std::vector<std::string> &path) {
        for (std::size_t k = 0; k < path.size(); k += 2) {
            const auto net = context.circuit.find_net(path[k]);
            const auto &nets = outcome.machine.reach.nets;
            if (net && !context.relevance.is_pole_net(net->value) &&
                !std::binary_search(nets.begin(), nets.end(), net->value))
                return false;
        }
        return true;
    };
    for (const auto &[key, fact] : outcome.facts) {
        const auto &[rule, subject] = key;
        if (is_race_rule(rule)) {
            if (context.wants(rule))
                return false; // it names armatures in its words, too
            continue;
        }
        const bool unconfirmed = outcome.unconfirmed.contains(key);
        if (unconfirmed && fact.status != Status::note)
            return false; // told with what makes it large
        OfFact &told = facts_.emplace_back(OfFact{.rule = rule,
                                                  .subject = {},
                                                  .ends_in = {},
                                                  .acts = {},
                                                  .runs_on = {},
                                                  .path = {},
                                                  .fact = {fact.status, {}, {}, fact.mode, fact.way, fact.sure},
                                                  .unconfirmed = unconfirmed});
        if (!vocabulary.add_subject(subject, no_fault, told.subject) ||
            !vocabulary.add_end(fact.ends_in, outcome.machine, told.ends_in) ||
            !vocabulary.add_acts(fact.acts, no_fault, told.acts) ||
            !vocabulary.add_acts(fact.runs_on, no_fault, told.runs_on))
            return false;
        if (const auto path = outcome.paths.find(key);
            path != outcome.paths.end() && !(searched(path->second) && vocabulary.add_path(path->second, told.path)))
            return false;
    }
    for (const std::string &stop : outcome.not_asked)
        if (!vocabulary.add_name(stop, not_asked_.emplace_back()))
            return false;
    fed_back_left_ = outcome.fed_back_left;
    seen_.modes = outcome.seen->modes;
    seen_.ever_runs = outcome.seen->ever_runs;
    const auto number_of = [&](std::uint32_t variable) { return around_.all.number_of_variable(variable); };
    for (const auto &[stop, modes] : outcome.seen->found)
        found_.emplace(number_of(context.stops[stop].variable), modes);
    for (const std::uint32_t stop : outcome.seen->ever_cut)
        ever_cut_.push_back(number_of(context.stops[stop].variable));
    std::transform(outcome.seen->variables.begin(), outcome.seen->variables.end(), std::back_inserter(variables_),
                   number_of);
    const auto all_around = [](const auto &numbers) {
        return std::find(numbers.begin(), numbers.end(), none) == numbers.end();
    };
    return !found_.contains(none) && all_around(ever_cut_) && all_around(variables_);
}

void OutcomeRetelling::tell(MachineOutcome &outcome, const MachineSurroundings &around) const {
    const Context &context = outcome.context;
    const auto say = [&](const auto &told) { return said(told, context, outcome.machine, around, no_fault); };
    outcome.complete = true;
    outcome.fed_back_left |= fed_back_left_;
    for (const OfFact &told : facts_) {
        Fact fact = told.fact;
        fact.acts = say(told.acts);
        fact.ends_in = say(told.ends_in);
        fact.runs_on = say(told.runs_on);
        const MachineOutcome::Claim key{told.rule, say(told.subject)};
        outcome.facts.emplace(key, std::move(fact));
        if (told.unconfirmed)
            outcome.unconfirmed.insert(key);
        if (!told.path.empty())
            outcome.paths.emplace(key, say(told.path));
    }
    for (const Text &stop : not_asked_)
        outcome.not_asked.insert(say(stop));
    SearchSeen &seen = outcome.seen.emplace(seen_);
    for (const auto &[number, modes] : found_)
        seen.found.emplace(context.stop_of[around.variables()[number]], modes);
    for (const std::uint32_t number : ever_cut_)
        seen.ever_cut.insert(context.stop_of[around.variables()[number]]);
    for (const std::uint32_t number : variables_)
        seen.variables.push_back(around.variables()[number]);
    std::sort(seen.variables.begin(), seen.variables.end());
}

SearchedAround OutcomesBefore::around(const MachineSeen &machine, bool whole) {
    if (makes_.empty())
        makes_ = makes_of(context_.circuit);
    SearchedAround made{{context_, machine, makes_}, {}};
    const auto put = [&](const std::vector<std::uint32_t> &all, std::vector<std::uint32_t> relevant) {
        if (whole) {
            relevant = all;
            std::sort(relevant.begin(), relevant.end());
        }
        put_numbers(all, relevant, made.order);
    };
    put(made.all.nets(), machine.reach.nets);
    put(made.all.variables(), machine.reach.variables);
    put(made.all.switches(), machine.reach.switches);
    put(made.all.impedances(), machine.reach.impedances);
    return made;
}

const OutcomeRetelling *OutcomesBefore::of(const SearchedAround &around) const {
    const auto like =
        std::find_if(last_.begin(), last_.end(), [&](const auto &one) { return one && one->around() == around; });
    return like == last_.end() ? nullptr : &**like;
}

void OutcomesBefore::keep(const MachineOutcome &outcome, SearchedAround around) {
    OutcomeRetelling told(outcome, std::move(around));
    if (!told.can_be_told())
        return;
    last_[next_].emplace(std::move(told));
    next_ = (next_ + 1) % last_.size();
}

} // namespace stopspan
