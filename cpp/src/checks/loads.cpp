#include "checks/machine_check.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

/// What the stops were seen to do to one load.
struct LoadSearch {
    struct Seen {
        Status status = Status::note;
        std::vector<std::string> acts;
    };
    std::map<std::string, Seen> worst; ///< per stop
    bool complete = true, exact = true;
};

// From every state with a healthy supply in which the load is on.
LoadSearch search_load(const Context &context, const LoadSeen &load, const Reach &reach) {
    LoadSearch result;
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
    result.exact = cone.exact;
    const auto inside = std::find_if(cone.circuit.loads.begin(), cone.circuit.loads.end(),
                                     [&](const LoadSeen &each) { return each.device == load.device; });
    if (inside == cone.circuit.loads.end())
        return result; // between two poles: nothing can act on it
    Exploration exploration(cone);
    std::vector<std::optional<Tri>> seen;
    const auto look = [&](std::uint32_t node) {
        if (seen.size() <= node)
            seen.resize(exploration.nodes().size());
        if (!seen[node]) {
            State state = exploration.nodes()[node].state;
            exploration.settler().network().evaluate(state);
            seen[node] = observe(*inside, exploration.settler().network());
        }
        return *seen[node];
    };
    result.complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        const Act &act = exploration.acts()[t.act];
        if (act.kind != ActKind::press || !supply_healthy(cone.circuit, exploration.nodes()[t.from].state) ||
            look(t.from) != Tri::on)
            return;
        std::size_t off = 0, uncertain = 0;
        for (const std::uint32_t end : t.to) {
            off += look(end) == Tri::off;
            uncertain += look(end) == Tri::maybe;
        }
        if (off + uncertain == 0)
            return;
        if (off != t.to.size()) { // a load that may drop with nobody doing anything is not cut by this
            const Settled &alone = exploration.settler().settle(exploration.nodes()[t.from].state);
            for (State end : alone.ends) {
                exploration.settler().network().evaluate(end);
                if (observe(*inside, exploration.settler().network()) != Tri::on)
                    return;
            }
        }
        const Status status = off == t.to.size() ? Status::fails : Status::maybe;
        for (const std::uint32_t member : cone.members[act.variable]) {
            if (context.stop_of[member] == none)
                continue;
            LoadSearch::Seen &one = result.worst[context.name(member)];
            if (one.acts.empty() || severity(status) > severity(one.status)) {
                one = {status, exploration.acts_to(t.from)};
                one.acts.push_back(act_text(context.actors[member], Variable::Kind::actuator, true));
            }
        }
    });
    return result;
}

// Does the whole circuit show what the search of its part found? What only seemed uncertain there becomes sure.
bool confirm(WitnessRun &witness, const LoadSeen &load, LoadSearch &search) {
    bool all = true;
    for (auto &[stop, seen] : search.worst) {
        const WitnessRun::Result end = witness.run(seen.acts);
        const auto inside = std::find_if(witness.cone().circuit.loads.begin(), witness.cone().circuit.loads.end(),
                                         [&](const LoadSeen &each) { return each.device == load.device; });
        std::size_t on = 0, off = 0;
        for (State state : end.states) {
            witness.settler().network().evaluate(state);
            const Tri now = observe(*inside, witness.settler().network());
            on += now == Tri::on;
            off += now == Tri::off;
        }
        if (off == end.states.size())
            seen.status = Status::fails;
        all &= on < end.states.size();
    }
    return all;
}

class LoadDecision {
public:
    LoadDecision(Tools &tools, const LoadSeen &load, Decided &decided)
        : tools_(tools), context_(tools.context), load_(load), decided_(decided),
          name_(context_.compiled.device_names[load.device]), wanted_(context_.asked_of(name_)) {}

    void decide() {
        std::vector<std::uint32_t> asked;
        for (std::uint32_t i = 0; i < context_.stops.size(); ++i)
            if (load_.kept || wanted_.contains(i))
                asked.push_back(i);
        if (asked.empty())
            return;
        const Seeds seeds{
            .nets = {load_.a, load_.b}, .power = {}, .loads = context_.lookup.impedances_of[load_.device]};
        reach_ = reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
        if (std::any_of(asked.begin(), asked.end(),
                        [&](std::uint32_t stop) { return reached(context_.stops[stop]); })) {
            search_ = search_load(context_, load_, reach_);
            if (!search_.exact && (!search_.complete || !confirm(tools_.witness_run(seeds), load_, search_)))
                search_ = search_load(context_, load_,
                                      reach_of(context_.compiled, context_.relevance, seeds, Extent::everything));
        }
        for (const std::uint32_t stop : asked)
            report(stop);
    }

private:
    bool reached(const StopSeen &stop) const {
        return std::binary_search(reach_.variables.begin(), reach_.variables.end(), stop.variable);
    }

    void report(std::uint32_t index) {
        const StopSeen &stop = context_.stops[index];
        const Asked wanted = wanted_.contains(index) ? wanted_.at(index) : Asked::keep;
        const auto seen = search_.worst.find(stop.name);
        const bool cuts = seen != search_.worst.end() && seen->second.status == Status::fails;
        const Found found = seen == search_.worst.end() ? Found::spares : cuts ? Found::cuts : Found::maybe;
        decided_.cells.push_back({stop.name, name_, wanted, found, {{"on", found}}});
        const auto add = [&](const std::string &rule, Status status, const std::string &text) -> Finding & {
            decided_.add({.rule = rule,
                          .status = status,
                          .subjects = {stop.name, name_},
                          .text = text,
                          .witness = {},
                          .repair = {},
                          .source = source_of(rule)});
            return decided_.findings.back();
        };
        const bool undecided = reached(stop) && !search_.complete && !cuts;
        if (wanted == Asked::cut && found != Found::cuts)
            add("stop-cuts", undecided ? Status::undecided : Status::fails,
                stop.name + " does not surely cut the load " + name_ + ".");
        if (wanted != Asked::keep)
            return;
        if (undecided) {
            add("stop-spares", Status::undecided,
                "not decided whether " + stop.name + " cuts " + name_ + " within " +
                    std::to_string(context_.options.state_budget) + " states.");
        } else if (seen == search_.worst.end()) {
            decided_.count("stop-spares", "holds");
        } else {
            Finding &finding = add("stop-spares", seen->second.status,
                                   stop.name + (cuts ? " cuts " : " may cut ") + name_ + ", a load that must be kept.");
            finding.witness.acts = seen->second.acts;
            finding.witness.ends_in = name_ + (cuts ? " off" : " may be off");
        }
    }

    Tools &tools_;
    const Context &context_;
    const LoadSeen &load_;
    Decided &decided_;
    std::string name_;
    const AskedOfStops &wanted_;
    Reach reach_;
    LoadSearch search_;
};

} // namespace

// stop-spares for loads: a stop that can act on one must not put it off in any reachable state.
Decided decide_loads(Tools &tools) {
    Decided decided;
    if (tools.context.wants("stop-spares"))
        for (const LoadSeen &load : tools.context.compiled.loads)
            LoadDecision(tools, load, decided).decide();
    return decided;
}

} // namespace stopspan
