#include "switching/every_order.hpp"

#include "switching/explore.hpp"
#include "switching/settled_sets.hpp"

#include <algorithm>
#include <stdexcept>
#include <tuple>

namespace stopspan {
namespace {

constexpr std::size_t most_nodes = 2'000'000; // some 60 MB
constexpr std::size_t most_told = 300;        // sets of armatures, of one kind
constexpr auto start = ContactStates::start;

class EveryOrder : SettledSets {
public:
    EveryOrder(const Cone &cone, Diagrams &sets, const ContactStates &states)
        : SettledSets(cone, sets, states, possible_acts(cone.circuit, cone.actors)), cone_(cone) {}

    std::optional<OrdersSeen> see() {
        prepare();
        if (!reach())
            return std::nullopt;
        cold_on_the_way_ = closure(states_.only(circuit_.cold()), gently());
        every_ = layer(reached());
        if (!find_races())
            return std::nullopt;
        for (const bool chatter : {false, true})
            for (const bool excused : {false, true})
                tell(chatter, excused);
        return std::move(told_);
    }

private:
    /// One act from each of the states reached by as many acts, and what follows.
    struct Layer {
        Set from;          ///< at rest
        Set after[2];      ///< once the act is done; second: OrderSeen::excused
        Set on_the_way[2]; ///< from there, while no two move that act on each other
    };

    void prepare() {
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (!states_.moves_by_itself(v))
                input_bits_ = sets_.both(input_bits_, states_.bits(v));
        for (const std::uint32_t v : states_.moving())
            start_bits_ = sets_.both(start_bits_, states_.bits(v, start));
        now_to_start_ = states_.renaming(now, start);
        const std::size_t count = circuit_.armatures.size();
        for (std::uint32_t i = 0; i < count; ++i) { // one alone
            Set alone = sets_.both(timers_, sets_.both(must_[i], sets_.differ(in(i), in(i, next))));
            for (std::uint32_t j = 0; j < count; ++j)
                if (j != i)
                    alone = sets_.both(alone, sets_.same(in(j), in(j, next)));
            one_move_ = sets_.either(one_move_, alone);
            back_again_.push_back(sets_.both(must_[i], before(must_[i], alone)));
        }
        Set held_one = Diagrams::nothing, troubled = Diagrams::nothing; // then no fuse has blown, too
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (circuit_.variables[v].kind == Variable::Kind::source ||
                circuit_.variables[v].kind == Variable::Kind::fuse) {
                const Set not_whole = sets_.negation(states_.at(v, 0));
                troubled = sets_.either(troubled, not_whole);
                if (circuit_.variables[v].kind == Variable::Kind::fuse)
                    short_of_a_line_ = sets_.either(short_of_a_line_, not_whole);
            }
        for (const Source &source : circuit_.sources)
            short_of_a_line_ =
                sets_.either(short_of_a_line_, sets_.without(sets_.negation(states_.at(source.variable, 0)),
                                                             states_.at(source.variable, lost_mask(source))));
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (cone_.held_unless_blown[v] != 0) {
                const Set acted = states_.at(v, 1), held = cone_.held[v] != 0 ? acted : sets_.both(acted, troubled);
                two_held_ = sets_.either(two_held_, sets_.both(held_one, held));
                held_one = sets_.either(held_one, held);
            }
    }

    Layer layer(Set from) {
        Layer layer{from, {}, {}};
        for (const Act &act : acts_)
            for (const bool many : {false, true}) {
                const Set to = done(act, many ? sets_.both(from, two_held_) : sets_.without(from, two_held_));
                const Set excused = many ? to : sets_.both(to, sets_.either(two_held_, short_of_a_line_));
                layer.after[1] = sets_.either(layer.after[1], excused);
                layer.after[0] = sets_.either(layer.after[0], sets_.without(to, excused));
            }
        for (const int excused : {0, 1})
            layer.on_the_way[excused] = closure(layer.after[excused], gently());
        return layer;
    }

    // The states that one more act leads to than to those of the last layer, and no fewer do.
    void add_layer() {
        Set fresh = layers_.empty() ? states_.only(circuit_.cold())
                                    : sets_.either(layers_.back().after[0], layers_.back().after[1]);
        fresh = ends_of(fresh);
        for (const Layer &before : layers_)
            fresh = sets_.without(fresh, before.from);
        if (fresh == Diagrams::nothing)
            throw std::logic_error("a state that no acts lead to");
        layers_.push_back(layer(fresh));
    }

    // ---- where the order matters
    /// @returns false where one buzzes by itself: whether others take turns with it is not known
    bool find_races() {
        // Where two that act on each other must move, and where nobody does but there is no rest.
        const Set all = sets_.either(cold_on_the_way_, sets_.either(every_.on_the_way[0], every_.on_the_way[1]));
        restless_ = endless(all, gently());
        const Set starts = sets_.both(all, at_odds_);
        Set ways = sets_.renamed(starts, now_to_start_); // from where to where
        for (const std::uint32_t v : states_.moving())
            ways = sets_.both(ways, sets_.same(states_.at(v, 1, start), states_.at(v, 1)));
        ways = closure(ways, any_move_);

        const Set ends = sets_.both(ways, at_rest_);
        Set differs = Diagrams::nothing;
        for (const std::uint32_t v : states_.moving()) {
            const Set on = states_.at(v, 1);
            differs = sets_.either(differs, sets_.both(sets_.both_for_some(ends, on, now_bits_),
                                                       sets_.both_for_some(ends, sets_.negation(on), now_bits_)));
        }
        // Single moves without end: in turn round a circle.
        const Set circles = endless(sets_.for_some(ways, start_bits_), one_move_);
        const Set turns = sets_.both_for_some(ways, circles, now_bits_);
        for (const Set set : must_)
            moves_.push_back(sets_.both_for_some(ways, set, now_bits_));
        for (const Set buzzes : back_again_)
            if (sets_.both(circles, buzzes) != Diagrams::nothing)
                return false;
        races_ = sets_.either(differs, turns);
        turns_ = turns; // several move in each: a race, too
        return true;
    }

    // ---- what is told
    void tell(bool chatter, bool excused) {
        Set places = chatter ? turns_ : races_; // starts, by their start bits
        const Set there = excused ? every_.on_the_way[1] : sets_.either(every_.on_the_way[0], cold_on_the_way_);
        places = sets_.both(places, sets_.renamed(there, now_to_start_));
        tell_sets(chatter, excused, places, moves_, true);
        if (chatter)
            tell_sets(chatter, excused, sets_.both(there, restless_), must_, false);
    }

    // Each set of armatures that moves in some of these places, the smallest first.
    void tell_sets(bool chatter, bool excused, Set places, const std::vector<Set> &moves, bool by_start) {
        if (places == Diagrams::nothing)
            return;
        Set families = places; // the armatures' next bits say whether they move
        for (std::uint32_t i = 0; i < moves.size(); ++i)
            families = sets_.both(families, sets_.same(in(i, next), moves[i]));
        families = sets_.for_some(families, sets_.both(input_bits_, by_start ? start_bits_ : now_bits_));
        const auto leave_out = [&](const std::vector<std::uint32_t> &armatures, bool what_contains_it) {
            Set set = Diagrams::everything;
            for (std::uint32_t i = 0; i < moves.size(); ++i) {
                const bool moved = std::find(armatures.begin(), armatures.end(), i) != armatures.end();
                if (moved)
                    set = sets_.both(set, in(i, next));
                else if (!what_contains_it)
                    set = sets_.without(set, in(i, next));
            }
            families = sets_.without(families, set);
        };
        for (const OrderSeen &one : told_.seen)
            if (one.chatter == chatter)
                leave_out(one.armatures, excused);
        for (std::size_t count = 0; families != Diagrams::nothing; ++count) {
            if (count == most_told && !excused) {
                (chatter ? told_.more_chatter : told_.more_races) = true;
                return;
            }
            const auto bits = sets_.one_of(families, states_.levels());
            const State state = states_.state_of(bits, next);
            OrderSeen one{.chatter = chatter, .excused = excused, .armatures = {}, .acts = {}, .from = {}};
            Set here = places;
            for (std::uint32_t i = 0; i < moves.size(); ++i) {
                const bool moved = state[circuit_.armatures[i].variable] != 0;
                if (moved)
                    one.armatures.push_back(i);
                here = moved ? sets_.both(here, moves[i]) : sets_.without(here, moves[i]);
            }
            std::tie(one.acts, one.from) =
                acts_to(by_start ? sets_.renamed(here, states_.renaming(start, now)) : here, excused);
            leave_out(one.armatures, excused);
            told_.seen.push_back(std::move(one));
        }
    }

    // The fewest acts that lead to one of these, met on the way before any two move that act on each other.
    std::pair<std::vector<std::string>, State> acts_to(Set places, bool excused) {
        std::size_t at = 0;
        const auto here = [&] {
            if (at == layers_.size())
                add_layer();
            return sets_.both(places, layers_[at].on_the_way[excused ? 1 : 0]);
        };
        if (!excused && sets_.both(places, cold_on_the_way_) != Diagrams::nothing)
            return {{}, circuit_.cold()};
        while (here() == Diagrams::nothing)
            ++at;
        std::vector<std::string> acts;
        const State found = met_before(here(), layers_[at].after[excused ? 1 : 0], gently());
        State state = found;
        for (;; --at) {
            const Set allowed = excused || !acts.empty() ? Diagrams::everything : sets_.negation(two_held_);
            const auto [act, from] = last_act(state, sets_.both(layers_[at].from, allowed));
            acts.push_back(acts_[act].text);
            if (at == 0)
                break;
            state = met_before(states_.only(from), sets_.either(layers_[at - 1].after[0], layers_[at - 1].after[1]),
                               any_move_);
        }
        std::reverse(acts.begin(), acts.end());
        return {with_taps(acts, 1), found};
    }

    const Cone &cone_;
    std::vector<std::uint32_t> now_to_start_;
    Set start_bits_ = Diagrams::everything, input_bits_ = Diagrams::everything;
    std::vector<Set> back_again_;
    Set one_move_ = Diagrams::nothing, two_held_ = Diagrams::nothing, short_of_a_line_ = Diagrams::nothing;
    Set cold_on_the_way_ = Diagrams::nothing;
    Layer every_{};             ///< one act from every state that can be reached
    std::vector<Layer> layers_; ///< by the number of acts that lead there, as far as asked for
    Set races_ = Diagrams::nothing, turns_ = Diagrams::nothing, restless_ = Diagrams::nothing;
    std::vector<Set> moves_; ///< per armature: starts from which it moves, in some order
    OrdersSeen told_;
};

} // namespace

std::optional<OrdersSeen> see_every_order(const Cone &cone) {
    Diagrams diagrams(most_nodes);
    try {
        const auto states = ContactStates::of(cone, diagrams);
        return states ? EveryOrder(cone, diagrams, *states).see() : std::nullopt;
    } catch (const Diagrams::TooLarge &) {
        return std::nullopt;
    }
}

} // namespace stopspan
