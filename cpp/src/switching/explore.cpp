#include "switching/explore.hpp"

#include <algorithm>
#include <set>

namespace stopspan {
namespace {

// Where many armatures act on one another, one act can settle in more orders than there are states: this many
// evaluations a state, on average, then it is enough.
constexpr std::size_t work_per_state = 200;

} // namespace

Exploration::Exploration(const Cone &cone)
    : cone_(cone), settler_(cone.circuit), acts_(possible_acts(cone.circuit, cone.actors)) {}

std::size_t Exploration::held(const State &state) const {
    std::size_t count = 0;
    const bool healthy = supply_healthy(cone_.circuit, state); // else no fuse has blown, too
    for (std::size_t v = 0; v < state.size(); ++v)
        count += state[v] != 0 && (healthy ? cone_.held : cone_.held_unless_blown)[v];
    return count;
}

std::uint32_t Exploration::add(State state, std::uint32_t parent, std::uint32_t act, bool sure) {
    const auto [entry, fresh] = known_.try_emplace(state, static_cast<std::uint32_t>(nodes_.size()));
    const std::uint32_t index = entry->second;
    if (fresh) {
        nodes_.push_back({std::move(state), parent, act, sure});
    } else if (Node &known = nodes_[index]; sure && !known.sure) {
        known.parent = parent;
        known.act = act;
        known.sure = true;
    }
    return index;
}

bool Exploration::run(std::size_t state_budget, const std::function<void(const Transition &)> &see) {
    cold_ = settler_.settle(cone_.circuit.cold());
    for (const State &end : cold_.ends)
        add(end, none, none, cold_.ends.size() == 1);
    // First everything that needs one hand, then what needs two: what a single hand can do is found that way first.
    std::vector<std::pair<std::uint32_t, std::uint32_t>> later; // (node, act)
    std::vector<std::uint32_t> to;
    const auto take = [&](std::uint32_t from, std::uint32_t act) {
        const Settled settled = perform(settler_, nodes_[from].state, acts_[act]);
        to.clear();
        for (const State &end : settled.ends)
            to.push_back(add(end, from, act, nodes_[from].sure && settled.ends.size() == 1));
        see({from, act, settled, to});
    };
    const std::size_t end_of_work = network_work() + state_budget * work_per_state;
    std::uint32_t next = 0;
    std::size_t next_later = 0;
    const auto scan = [&] {
        for (; next < nodes_.size(); ++next) {
            if (nodes_.size() > state_budget || network_work() > end_of_work || stopped_)
                return false;
            for (std::uint32_t act = 0; act < acts_.size(); ++act) {
                if (!allowed(acts_[act], cone_.circuit, nodes_[next].state))
                    continue;
                const bool second_hand = acts_[act].kind == ActKind::press && cone_.held[acts_[act].variable] &&
                                         held(nodes_[next].state) >= 1;
                if (second_hand)
                    later.emplace_back(next, act);
                else
                    take(next, act);
            }
        }
        return true;
    };
    if (!scan())
        return false;
    for (; next_later < later.size(); ++next_later) {
        const auto [node, act] = later[next_later];
        take(node, act);
        if (stopped_ || !scan())
            return false;
    }
    return true;
}

void Exploration::run_sets(std::size_t most_sets,
                           const std::function<bool(const std::vector<std::uint32_t> &nodes, std::uint32_t act,
                                                    const std::vector<std::uint32_t> &way_there)> &see) {
    using Nodes = std::vector<std::uint32_t>;
    struct Place {
        Nodes nodes;
        std::size_t before;
        std::uint32_t act;
    };
    std::vector<Place> places;
    std::set<Nodes> met;
    const auto arrive = [&](Nodes nodes, std::size_t before, std::uint32_t act) {
        std::sort(nodes.begin(), nodes.end());
        nodes.erase(std::unique(nodes.begin(), nodes.end()), nodes.end());
        if (met.insert(nodes).second)
            places.push_back({std::move(nodes), before, act});
    };
    Nodes cold;
    for (const State &end : cold_.ends)
        cold.push_back(known_.at(end));
    arrive(std::move(cold), 0, none);
    for (std::size_t k = 0; k < places.size() && k < most_sets; ++k) {
        const Nodes from = places[k].nodes;
        std::vector<std::uint32_t> way_there;
        for (std::size_t at = k; places[at].act != none; at = places[at].before)
            way_there.push_back(places[at].act);
        std::reverse(way_there.begin(), way_there.end());
        for (std::uint32_t act = 0; act < acts_.size(); ++act) {
            const auto possible = [&](std::uint32_t node) {
                return allowed(acts_[act], cone_.circuit, nodes_[node].state);
            };
            if (std::none_of(from.begin(), from.end(), possible))
                continue;
            if (see(from, act, way_there))
                return;
            Nodes to;
            bool all_known = true;
            for (const std::uint32_t node : from) {
                if (acts_[act].kind == ActKind::elapse && !possible(node)) {
                    to.push_back(node); // it does not run in this one
                    continue;
                }
                for (const State &end : perform(settler_, nodes_[node].state, acts_[act]).ends)
                    if (const auto found = known_.find(end); found != known_.end())
                        to.push_back(found->second);
                    else
                        all_known = false;
            }
            if (all_known)
                arrive(std::move(to), k, act);
        }
    }
}

std::vector<std::string> Exploration::acts_to(std::uint32_t node, std::uint32_t last_act) const {
    std::vector<std::string> acts;
    if (last_act != none)
        acts.push_back(acts_[last_act].text);
    for (; nodes_[node].parent != none; node = nodes_[node].parent)
        acts.push_back(acts_[nodes_[node].act].text);
    std::reverse(acts.begin(), acts.end());
    return with_taps(acts, last_act == none ? 0 : 1);
}

std::vector<std::string> with_taps(const std::vector<std::string> &acts, std::size_t untouched) {
    std::vector<std::string> told;
    for (std::size_t i = 0; i < acts.size(); ++i)
        if (i + 1 + untouched < acts.size() && acts[i].starts_with("hold ") &&
            acts[i + 1] == "free " + acts[i].substr(5)) {
            told.push_back("tap " + acts[i].substr(5));
            ++i;
        } else {
            told.push_back(acts[i]);
        }
    return told;
}

} // namespace stopspan
