#include "switching/explore.hpp"

#include <algorithm>

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
    for (std::size_t v = 0; v < state.size(); ++v)
        count += cone_.held[v] && state[v] != 0;
    return count;
}

std::uint32_t Exploration::add(State state, std::uint32_t parent, std::uint32_t act) {
    const auto [entry, fresh] = known_.try_emplace(state, static_cast<std::uint32_t>(nodes_.size()));
    if (fresh)
        nodes_.push_back({std::move(state), parent, act});
    return entry->second;
}

bool Exploration::run(std::size_t state_budget, const std::function<void(const Transition &)> &see) {
    cold_ = settler_.settle(cone_.circuit.cold());
    for (const State &end : cold_.ends)
        add(end, none, none);
    // First everything that needs one hand, then what needs two: what a single hand can do is found that way first.
    std::vector<std::pair<std::uint32_t, std::uint32_t>> later; // (node, act)
    std::vector<std::uint32_t> to;
    const auto take = [&](std::uint32_t from, std::uint32_t act) {
        const Settled settled = perform(settler_, nodes_[from].state, acts_[act]);
        to.clear();
        for (const State &end : settled.ends)
            to.push_back(add(end, from, act));
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
