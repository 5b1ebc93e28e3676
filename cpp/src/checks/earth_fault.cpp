#include "base/words.hpp"
#include "checks/fault_effects.hpp"
#include "checks/floating_supplies.hpp"
#include "checks/left_out.hpp"

#include <algorithm>

namespace stopspan {
namespace {

const std::string earth_fault_rule = "earth-fault";

/// After those of circuits.
constexpr std::uint32_t pairs = 10;

// Evaluations per machine, in network_work(): pairs are many where the structure proves little.
constexpr std::size_t most_network_work = 300'000;

Fault earth_fault(const Context &context, std::uint32_t net) {
    return {Fault::Kind::earth, none, net, none, {}, "earth " + context.compiled.net_names[net]};
}

void add_finding(Decided &decided, Status status, std::vector<std::string> subjects, std::string text,
                 Witness witness) {
    decided.add({.rule = earth_fault_rule,
                 .status = status,
                 .subjects = std::move(subjects),
                 .text = std::move(text),
                 .witness = std::move(witness)});
}

// Two earth faults on one floating supply, of which the first shows nowhere. That a machine stands against none of them
// is told by one pair for each machine.
class EarthedPairs {
public:
    EarthedPairs(FaultJudge &judge, Decided &decided, const std::set<std::pair<std::uint32_t, std::uint32_t>> &alone)
        : judge_(judge), context_(judge.context()), decided_(decided), alone_(alone), left_out_(context_) {}

    void decide(const FloatingSupply &supply) {
        std::set<std::uint32_t> poles;
        for (const std::uint32_t s : supply.sources)
            for (const Source::Pole &pole : context_.compiled.sources[s].poles)
                poles.insert(pole.net);
        for (std::uint32_t machine = 0; machine < judge_.machines().size(); ++machine) {
            std::vector<std::uint32_t> own, others; // a pole that feeds all first: that joins most
            for (const std::uint32_t net : supply.nets) {
                if (alone_.contains({net, machine}) || !left_out_.by(earth_fault(context_, net)).empty())
                    continue;
                const std::vector<std::uint32_t> &reached = judge_.machines()[machine].reach.nets;
                (std::find(reached.begin(), reached.end(), net) != reached.end() ? own : others).push_back(net);
            }
            if (own.empty())
                continue;
            std::stable_partition(own.begin(), own.end(), [&](std::uint32_t net) { return poles.contains(net); });
            decide(supply, machine, own, others, poles);
        }
    }

private:
    void decide(const FloatingSupply &supply, std::uint32_t machine, const std::vector<std::uint32_t> &own,
                const std::vector<std::uint32_t> &others, const std::set<std::uint32_t> &poles) {
        const std::size_t end_of_work = network_work() + most_network_work;
        std::size_t left = 0;
        std::optional<FaultEffect> perhaps;
        std::pair<std::uint32_t, std::uint32_t> perhaps_at;
        // @returns true when it surely takes something away
        const auto fails = [&](std::uint32_t a, std::uint32_t b) {
            if (poles.contains(a) && poles.contains(b))
                return false; // a dead short of the source
            decided_.indivisible |=
                is_at_bounds(context_, network_work() + most_network_work - end_of_work, most_network_work);
            if (network_work() > end_of_work) {
                ++left;
                return false;
            }
            const std::array<Fault, 2> both{earth_fault(context_, a), earth_fault(context_, b)};
            FaultEffect effect = judge_.lost(both, machine, FaultJudge::Of::everything);
            left += effect.losses.empty() && !effect.undecided.empty();
            if (effect.losses.empty())
                return false;
            if (worst_of(effect).fact.status == Status::fails) {
                tell(supply, a, b, effect);
                return true;
            }
            if (!perhaps)
                perhaps = std::move(effect), perhaps_at = {a, b};
            return false;
        };
        for (std::size_t i = 0; i < own.size(); ++i)
            for (std::size_t j = i + 1; j < own.size(); ++j)
                if (fails(own[i], own[j]))
                    return;
        for (const std::uint32_t a : own)
            for (const std::uint32_t b : others)
                if (fails(a, b))
                    return;
        if (perhaps)
            tell(supply, perhaps_at.first, perhaps_at.second, *perhaps);
        else if (left > 0)
            add(Status::undecided, subjects_of(supply, {judge_.machines()[machine].name}),
                "Of two earth faults on a floating supply, " + listed(names(supply)) + ", " + std::to_string(left) +
                    (left == 1 ? " pair was" : " pairs were") + " not decided for " + judge_.machines()[machine].name +
                    ": that would take too long.",
                {});
        else
            decided_.count(earth_fault_rule, "holds");
    }

    void add(Status status, std::vector<std::string> subjects, std::string text, Witness witness) {
        add_finding(decided_, status, std::move(subjects), std::move(text), std::move(witness));
    }

    std::vector<std::string> names(const FloatingSupply &supply) const {
        std::vector<std::string> names;
        for (const std::uint32_t s : supply.sources)
            names.push_back(context_.compiled.device_names[context_.compiled.sources[s].device]);
        return names;
    }

    std::vector<std::string> subjects_of(const FloatingSupply &supply, const std::vector<std::string> &more) const {
        std::vector<std::string> all = names(supply);
        all.insert(all.end(), more.begin(), more.end());
        return all;
    }

    void tell(const FloatingSupply &supply, std::uint32_t a, std::uint32_t b, const FaultEffect &effect) {
        const Loss &worst = worst_of(effect);
        const auto &net_names = context_.compiled.net_names;
        Fault both = earth_fault(context_, a);
        both.b = b;
        add(worst.fact.status, subjects_of(supply, judge_.words().subjects(both, effect)),
            "With earth faults on a floating supply at " + net_names[a] + " and " + net_names[b] + " " +
                judge_.words().consequences(effect) + "; nothing shows the first one, as no pole of " +
                listed(names(supply)) +
                " is earthed and no insulation monitor watches it. One pair is told for a machine; others may do more.",
            {worst.fact.acts, worst.path, worst.fact.ends_in});
    }

    FaultJudge &judge_;
    const Context &context_;
    Decided &decided_;
    const std::set<std::pair<std::uint32_t, std::uint32_t>> &alone_; ///< net and machine that one fault is too much for
    LeftOut left_out_;
};

} // namespace

// One earth fault on any net of a control circuit, before or while running, loses no stop and starts nothing; two do
// not either where nothing shows the first.
Decided decide_earth_faults(FaultJudge &judge) {
    Decided decided;
    const FaultList faults = earth_faults(judge.context(), judge.machines());
    decided.not_checked = told_left_out(judge.context(), earth_fault_rule, faults.left_out);
    std::set<std::pair<std::uint32_t, std::uint32_t>> alone;
    const std::vector<FaultEffect> effects = judge.effects_of(faults.cases);
    for (std::size_t i = 0; i < effects.size(); ++i) {
        const FaultCase &one = faults.cases[i];
        const FaultEffect &effect = effects[i];
        decided.device = one.device;
        decided.order = one.order;
        for (const Loss &loss : effect.losses)
            alone.emplace(one.fault.a, loss.machine);
        const auto add = [&](Status status, const std::string &text, const Witness &witness) {
            add_finding(decided, status, judge.words().subjects(one.fault, effect), text, witness);
        };
        const std::string &net = judge.context().compiled.net_names[one.fault.a];
        if (!effect.undecided.empty())
            add(Status::undecided,
                "Not decided what an earth fault at " + net + " does to " + judge.words().names(effect.undecided) +
                    " within " + std::to_string(judge.context().options.state_budget) + " states.",
                {});
        if (effect.losses.empty()) {
            decided.count(earth_fault_rule, "holds", effect.undecided.empty());
            continue;
        }
        const Loss &worst = worst_of(effect);
        add(worst.fact.status,
            "With an earth fault at " + net + " " + judge.words().consequences(effect) + "; " + noticed_text(effect),
            {worst.fact.acts, worst.path, worst.fact.ends_in});
    }
    for (const FloatingSupply &supply : floating_supplies(judge.context()))
        if (!supply.monitored) {
            // Pairs of all that hangs on it; what hangs on a source that nothing feeds is divided into groups there.
            const auto &sources = judge.context().compiled.sources;
            decided.indivisible |= std::any_of(supply.sources.begin(), supply.sources.end(),
                                               [&](std::uint32_t s) { return sources[s].feed == Source::Feed::own; });
            decided.device = sources[supply.sources[0]].device;
            decided.order = {pairs, none, 0};
            EarthedPairs(judge, decided, alone).decide(supply);
        }
    decided.indivisible |= judge.at_bounds();
    return decided;
}

} // namespace stopspan
