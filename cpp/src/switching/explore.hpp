#pragma once

#include "switching/cone.hpp"

#include <functional>
#include <unordered_map>
#include <vector>

namespace stopspan {

/// Every settled state of a cone that acts can reach from cold.
class Exploration {
public:
    explicit Exploration(const Cone &cone);

    struct Node {
        State state;
        std::uint32_t parent; ///< none: cold
        std::uint32_t act;    ///< index into acts()
        bool sure;            ///< every act on the way there has one end: nothing else can be the case
    };
    /// One act from one state.
    struct Transition {
        std::uint32_t from;
        std::uint32_t act;
        const Settled &settled;
        const std::vector<std::uint32_t> &to; ///< nodes of the ends
    };

    /// Visits every transition in an order that makes witnesses shortest; `see` gets each once.
    /// @returns false when the budget of states, or of evaluations in proportion, ran out or stop() was called
    bool run(std::size_t state_budget, const std::function<void(const Transition &)> &see);

    /// Sets of nodes that the same acts may lead to, in the order of the number of acts, each with one more act.
    /// @param see  gets the nodes, the act, and the acts before it; true: enough
    /// @param most_sets  further ones are not looked at
    void run_sets(std::size_t most_sets,
                  const std::function<bool(const std::vector<std::uint32_t> &nodes, std::uint32_t act,
                                           const std::vector<std::uint32_t> &way_there)> &see);

    /// Leaves out all other acts.
    void only(const std::function<bool(const Act &)> &wanted) {
        std::erase_if(acts_, [&](const Act &act) { return !wanted(act); });
    }

    /// For `see`: what it has seen is enough.
    void stop() { stopped_ = true; }

    const std::vector<Node> &nodes() const { return nodes_; }
    const std::vector<Act> &acts() const { return acts_; }
    const Cone &cone() const { return cone_; }
    Settler &settler() { return settler_; }
    /// Acts from cold to a node and one more, as replay text.
    std::vector<std::string> acts_to(std::uint32_t node, std::uint32_t last_act = none) const;
    /// Settling from cold, where races can already show.
    const Settled &cold_start() const { return cold_; }
    /// Momentary devices held in a state.
    std::size_t held(const State &state) const;
    bool is_momentary_variable(std::uint32_t variable) const { return cone_.held[variable] != 0; }

private:
    std::uint32_t add(State state, std::uint32_t parent, std::uint32_t act, bool sure);
    const Cone &cone_;
    Settler settler_;
    std::vector<Act> acts_;
    std::vector<Node> nodes_;
    std::unordered_map<State, std::uint32_t, StateHash> known_;
    Settled cold_;
    bool stopped_ = false;
};

/// Pressed and let go at once is a tap; the last `untouched` acts stay as they are.
std::vector<std::string> with_taps(const std::vector<std::string> &acts, std::size_t untouched);

} // namespace stopspan
