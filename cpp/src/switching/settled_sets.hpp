#pragma once

#include "switching/acts.hpp"
#include "switching/contact_states.hpp"

namespace stopspan {

/// How a cone settles, in sets of states: what acts and moves lead to from all states of a set at once, so that many
/// armatures that act on one another, and buttons held in every combination, cost no more than their contacts.
class SettledSets {
public:
    using Set = ContactStates::Set;

    /// @param acts  all that may be done, as possible_acts() lists them
    SettledSets(const Cone &cone, Diagrams &sets, const ContactStates &states, std::vector<Act> acts);

    /// Finds all settled states that the acts lead to from cold.
    /// @returns false where a source is shorted on the way
    bool reach();
    Set reached() const { return reached_; }

    /// An act done in those of these states that allow it; not settled yet. Each leads to a state of its own.
    Set done(const Act &act, Set from);
    Set undone(const Act &act, Set to);
    /// What these states, once an act is done, settle to.
    Set ends_of(Set from);
    /// Those that some order of moving settles to one of these.
    Set may_end_in(Set ends);
    /// Every source whole, every fuse too.
    Set healthy() const;
    /// Acts that lead to one of these states the soonest, as indices into acts(), and the state. @pre reached
    std::pair<std::vector<std::size_t>, State> way_to(Set places);

protected:
    static constexpr auto now = ContactStates::now, next = ContactStates::next;

    Set in(std::uint32_t armature, ContactStates::Copy copy = now) const {
        return states_.at(circuit_.armatures[armature].variable, 1, copy);
    }
    Set after(Set from, Set moves) { return sets_.renamed(sets_.both_for_some(from, moves, now_bits_), next_to_now_); }
    Set before(Set to, Set moves) { return sets_.both_for_some(sets_.renamed(to, now_to_next_), moves, next_bits_); }
    Set closure(Set from, Set moves);
    /// Those from which moves lead to these.
    Set leading_to(Set to, Set moves);
    /// Those that moves can lead through for ever.
    Set endless(Set states, Set moves);
    /// All that must move at once, while no two of them act on each other: their order does not matter.
    Set gently();
    /// One of `first` from which some moves lead to `places`.
    State met_before(Set places, Set first, Set moves);
    std::pair<std::size_t, State> last_act(const State &state, Set layer);

    const Compiled &circuit_;
    Diagrams &sets_;
    const ContactStates &states_;
    std::vector<Act> acts_;
    std::vector<std::uint32_t> next_to_now_, now_to_next_;
    Set now_bits_ = Diagrams::everything, next_bits_ = Diagrams::everything;
    std::vector<Set> must_; ///< per armature: it must move
    Set at_rest_ = Diagrams::everything, at_odds_ = Diagrams::nothing, any_move_ = Diagrams::everything;
    Set together_ = Diagrams::everything, timers_ = Diagrams::everything;
    Set cold_ = Diagrams::nothing; ///< and all it moves through
    Set comes_to_rest_ = Diagrams::nothing, reached_ = Diagrams::nothing;

private:
    void find_moves();
    Set lost(const Source &source) const { return sets_.negation(states_.at(source.variable, 0)); }
    Set possible(const Act &act) const;
    Set sources_together(Set states, bool lost);
    Set elapsed(Set states, std::uint32_t timer); ///< its delayed contacts the other way, before as after
    template <class Step>
    Set all_met(Set from, const Step &step);

    Set gently_ = Diagrams::nothing;
    struct Layer {
        Set from;  ///< at rest
        Set after; ///< once one act is done
    };
    std::vector<Layer> layers_; ///< by the number of acts that lead there, as far as asked for
};

} // namespace stopspan
