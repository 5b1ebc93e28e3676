#include "switching/every_order.hpp"

#include "switching/contact_states.hpp"
#include "switching/explore.hpp"

#include <algorithm>
#include <stdexcept>
#include <tuple>

namespace stopspan {
namespace {

using Set = ContactStates::Set;

constexpr std::size_t most_nodes = 2'000'000; // some 60 MB
constexpr std::size_t most_told = 300;        // sets of armatures, of one kind
constexpr auto now = ContactStates::now, next = ContactStates::next, start = ContactStates::start;

class EveryOrder {
public:
    EveryOrder(const Cone &cone, Diagrams &sets, const ContactStates &states)
        : circuit_(cone.circuit), cone_(cone), sets_(sets), states_(states),
          acts_(possible_acts(cone.circuit, cone.actors)) {}

    std::optional<OrdersSeen> see() {
        prepare();
        if (!reach() || !find_races())
            return std::nullopt;
        for (const bool chatter : {false, true})
            for (const bool two_hands : {false, true})
                tell(chatter, two_hands);
        return std::move(told_);
    }

private:
    /// One act from each of the states reached by as many acts, and what follows.
    struct Layer {
        Set from;          ///< at rest
        Set after[2];      ///< once the act is done; second: it takes two hands
        Set on_the_way[2]; ///< from there, while no two move that act on each other
    };

    // ---- how armatures move
    Set in(std::uint32_t armature, ContactStates::Copy copy = now) const {
        return states_.at(circuit_.armatures[armature].variable, 1, copy);
    }

    void prepare() {
        const std::size_t count = circuit_.armatures.size();
        now_bits_ = next_bits_ = input_bits_ = Diagrams::everything;
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (!states_.moves_by_itself(v))
                input_bits_ = sets_.both(input_bits_, states_.bits(v));
        for (const std::uint32_t v : states_.moving()) {
            now_bits_ = sets_.both(now_bits_, states_.bits(v, now));
            next_bits_ = sets_.both(next_bits_, states_.bits(v, next));
            start_bits_ = sets_.both(start_bits_, states_.bits(v, start));
        }
        next_to_now_ = states_.renaming(next, now);
        now_to_next_ = states_.renaming(now, next);
        now_to_start_ = states_.renaming(now, start);
        at_rest_ = Diagrams::everything;
        for (std::uint32_t i = 0; i < count; ++i) {
            Set must = sets_.differ(in(i), states_.fed(i));
            if (const std::uint32_t other = circuit_.armatures[i].interlocked; other != none)
                must = sets_.without(must, sets_.without(in(other), in(i))); // held off
            must_.push_back(must);
            at_rest_ = sets_.without(at_rest_, must);
        }
        const std::vector<std::uint8_t> interacts = interacting(circuit_);
        for (std::uint32_t a = 0; a < count; ++a)
            for (std::uint32_t b = a + 1; b < count; ++b)
                if (interacts[a * count + b] != 0 || circuit_.armatures[a].interlocked == b)
                    at_odds_ = sets_.either(at_odds_, sets_.both(must_[a], must_[b]));
        any_move_ = together_ = Diagrams::everything;
        for (std::uint32_t i = 0; i < count; ++i) {
            const Set stays = sets_.same(in(i), in(i, next));
            any_move_ = sets_.both(any_move_, sets_.either(must_[i], stays));
            together_ = sets_.both(together_, sets_.differ(must_[i], stays));
        }
        Set timers = Diagrams::everything;
        for (std::uint32_t i = 0; i < count; ++i) {
            const Armature &armature = circuit_.armatures[i];
            if (armature.interlocked != none && armature.interlocked > i) {
                const auto comes_in = [&](std::uint32_t each) { return sets_.without(in(each, next), in(each)); };
                any_move_ = sets_.without(any_move_, sets_.both(comes_in(i), comes_in(armature.interlocked)));
            }
            if (armature.timed == none)
                continue;
            const Set was = states_.at(armature.timed, 1), is = states_.at(armature.timed, 1, next);
            const Set delayed = armature.off_delay ? sets_.either(was, sets_.without(in(i, next), in(i)))
                                                   : sets_.without(was, sets_.without(in(i), in(i, next)));
            timers = sets_.both(timers, sets_.same(is, delayed));
        }
        any_move_ = sets_.both(any_move_, timers);
        together_ = sets_.both(together_, timers);
        for (std::uint32_t i = 0; i < count; ++i) { // one alone
            Set alone = sets_.both(timers, sets_.both(must_[i], sets_.differ(in(i), in(i, next))));
            for (std::uint32_t j = 0; j < count; ++j)
                if (j != i)
                    alone = sets_.both(alone, sets_.same(in(j), in(j, next)));
            one_move_ = sets_.either(one_move_, alone);
            back_again_.push_back(sets_.both(must_[i], before(must_[i], alone)));
        }
        Set held_one = Diagrams::nothing;
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (cone_.held[v] != 0) {
                const Set held = states_.at(v, 1);
                two_held_ = sets_.either(two_held_, sets_.both(held_one, held));
                held_one = sets_.either(held_one, held);
            }
    }

    Set after(Set from, Set moves) { return sets_.renamed(sets_.both_for_some(from, moves, now_bits_), next_to_now_); }
    Set before(Set to, Set moves) { return sets_.both_for_some(sets_.renamed(to, now_to_next_), moves, next_bits_); }

    Set closure(Set from, Set moves) {
        Set all = from;
        for (Set fresh = from; fresh != Diagrams::nothing;) {
            fresh = sets_.without(after(fresh, moves), all);
            all = sets_.either(all, fresh);
        }
        return all;
    }

    // ---- acts
    Set lost(const Source &source) const { return sets_.negation(states_.at(source.variable, 0)); }

    Set possible(const Act &act) const {
        if (act.variable == none) {
            Set all_lost = Diagrams::everything;
            for (const Source &source : circuit_.sources)
                if (source.feed == Source::Feed::own)
                    all_lost = sets_.both(all_lost, states_.at(source.variable, lost_mask(source)));
            return act.kind == ActKind::lose ? healthy() : all_lost;
        }
        Set here = states_.at(act.variable, act.from);
        if (act.kind == ActKind::lose || act.kind == ActKind::blow)
            return sets_.both(here, healthy());
        if (act.kind == ActKind::restore)
            for (std::size_t a = 0; a < circuit_.sources.size(); ++a)
                for (std::size_t b = a + 1; b < circuit_.sources.size(); ++b)
                    here = sets_.without(here, sets_.both(lost(circuit_.sources[a]), lost(circuit_.sources[b])));
        if (act.kind == ActKind::elapse)
            for (std::uint32_t i = 0; i < circuit_.armatures.size(); ++i)
                if (circuit_.armatures[i].timed == act.variable)
                    return sets_.differ(in(i), states_.at(act.variable, 1));
        return here;
    }

    Set healthy() const {
        Set all = Diagrams::everything;
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (circuit_.variables[v].kind == Variable::Kind::source ||
                circuit_.variables[v].kind == Variable::Kind::fuse)
                all = sets_.both(all, states_.at(v, 0));
        return all;
    }

    Set done(const Act &act, Set from) {
        from = sets_.both(from, possible(act));
        if (act.variable == none) {
            for (const Source &source : circuit_.sources)
                if (source.feed == Source::Feed::own)
                    from = sets_.both(sets_.for_some(from, states_.bits(source.variable)),
                                      states_.at(source.variable, act.kind == ActKind::lose ? lost_mask(source) : 0));
            return from;
        }
        if (act.kind == ActKind::elapse) {
            const Set acted = states_.at(act.variable, 1), bit = states_.bits(act.variable);
            return sets_.either(sets_.without(sets_.for_some(sets_.both(from, acted), bit), acted),
                                sets_.both(sets_.for_some(sets_.without(from, acted), bit), acted));
        }
        return sets_.both(sets_.for_some(from, states_.bits(act.variable)), states_.at(act.variable, act.to[0]));
    }

    // ---- what can be reached
    // Act by act, each from all that is known by then: sets that say how many acts lead somewhere are larger.
    bool reach() {
        const Set cold = states_.only(circuit_.cold());
        cold_ = closure(cold, any_move_);
        cold_on_the_way_ = closure(cold, gently());
        comes_to_rest_ = at_rest_;
        for (Set last = Diagrams::nothing; comes_to_rest_ != last;) {
            last = comes_to_rest_;
            comes_to_rest_ = sets_.either(comes_to_rest_, before(comes_to_rest_, any_move_));
        }
        Set passed = cold_, known = Diagrams::nothing;
        for (Set more = ends_of(cold); more != known;) {
            known = more;
            for (const Act &act : acts_) {
                const Set to = done(act, more);
                passed = sets_.either(passed, closure(to, any_move_));
                more = sets_.either(more, ends_of(to));
            }
        }
        if (sets_.both(passed, states_.shorted()) != Diagrams::nothing)
            return false;
        every_ = layer(known);
        return true;
    }

    // Where nothing ever rests any state on the way is where it may be met.
    Set ends_of(Set from) {
        const Set ends = sets_.both(closure(from, any_move_), at_rest_);
        const Set restless = sets_.without(from, comes_to_rest_);
        if (restless == Diagrams::nothing)
            return ends;
        const Set way = closure(restless, gently());
        return sets_.either(ends, sets_.either(endless(way, gently()), closure(sets_.both(way, at_odds_), any_move_)));
    }

    // Those that moves can lead through for ever.
    Set endless(Set states, Set moves) {
        for (Set last = Diagrams::nothing; states != last;) {
            last = states;
            states = sets_.both(states, before(states, moves));
        }
        return states;
    }

    Layer layer(Set from) {
        Layer layer{from, {}, {}};
        for (const Act &act : acts_)
            for (const bool many : {false, true}) {
                const Set to = done(act, many ? sets_.both(from, two_held_) : sets_.without(from, two_held_));
                const Set with_two = many ? to : sets_.both(to, two_held_);
                layer.after[1] = sets_.either(layer.after[1], with_two);
                layer.after[0] = sets_.either(layer.after[0], sets_.without(to, with_two));
            }
        for (const int hands : {0, 1})
            layer.on_the_way[hands] = closure(layer.after[hands], gently());
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

    // All that must move at once, while no two of them act on each other: their order does not matter.
    Set gently() {
        if (gently_ == Diagrams::nothing)
            gently_ = sets_.without(sets_.without(together_, at_odds_), at_rest_);
        return gently_;
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
    void tell(bool chatter, bool two_hands) {
        Set places = chatter ? turns_ : races_; // starts, by their start bits
        const Set hands = two_hands ? every_.on_the_way[1] : sets_.either(every_.on_the_way[0], cold_on_the_way_);
        places = sets_.both(places, sets_.renamed(hands, now_to_start_));
        tell_sets(chatter, two_hands, places, moves_, true);
        if (chatter)
            tell_sets(chatter, two_hands, sets_.both(hands, restless_), must_, false);
    }

    // Each set of armatures that moves in some of these places, the smallest first.
    void tell_sets(bool chatter, bool two_hands, Set places, const std::vector<Set> &moves, bool by_start) {
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
                leave_out(one.armatures, two_hands);
        for (std::size_t count = 0; families != Diagrams::nothing; ++count) {
            if (count == most_told && !two_hands) {
                (chatter ? told_.more_chatter : told_.more_races) = true;
                return;
            }
            const auto bits = sets_.one_of(families, states_.levels());
            const State state = states_.state_of(bits, next);
            OrderSeen one{.chatter = chatter, .two_hands = two_hands, .armatures = {}, .acts = {}, .from = {}};
            Set here = places;
            for (std::uint32_t i = 0; i < moves.size(); ++i) {
                const bool moved = state[circuit_.armatures[i].variable] != 0;
                if (moved)
                    one.armatures.push_back(i);
                here = moved ? sets_.both(here, moves[i]) : sets_.without(here, moves[i]);
            }
            std::tie(one.acts, one.from) =
                acts_to(by_start ? sets_.renamed(here, states_.renaming(start, now)) : here, two_hands);
            leave_out(one.armatures, two_hands);
            told_.seen.push_back(std::move(one));
        }
    }

    // The fewest acts that lead to one of these, met on the way before any two move that act on each other.
    std::pair<std::vector<std::string>, State> acts_to(Set places, bool two_hands) {
        std::size_t at = 0;
        const auto here = [&] {
            if (at == layers_.size())
                add_layer();
            return sets_.both(places, layers_[at].on_the_way[two_hands ? 1 : 0]);
        };
        if (!two_hands && sets_.both(places, cold_on_the_way_) != Diagrams::nothing)
            return {{}, circuit_.cold()};
        while (here() == Diagrams::nothing)
            ++at;
        std::vector<std::string> acts;
        const State found = met_before(here(), layers_[at].after[two_hands ? 1 : 0], gently());
        State state = found;
        for (;; --at) {
            const Set allowed = two_hands || !acts.empty() ? Diagrams::everything : sets_.negation(two_held_);
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

    // One of `first` from which some moves lead to `places`.
    State met_before(Set places, Set first, Set moves) {
        while (sets_.both(places, first) == Diagrams::nothing)
            places = sets_.either(places, before(places, moves));
        return states_.state_of(sets_.one_of(sets_.both(places, first), states_.levels()));
    }

    std::pair<std::size_t, State> last_act(const State &state, Set layer) {
        const Set to = states_.only(state);
        for (std::size_t i = 0; i < acts_.size(); ++i) {
            const Act &act = acts_[i];
            State from = state;
            if (act.variable == none) {
                for (const Source &source : circuit_.sources)
                    if (source.feed == Source::Feed::own)
                        from[source.variable] = act.kind == ActKind::lose ? std::uint8_t{0} : lost_mask(source);
            } else if (act.kind == ActKind::elapse) {
                from[act.variable] = !state[act.variable];
            } else {
                from[act.variable] = act.from;
            }
            const Set one = sets_.both(states_.only(from), layer);
            if (one != Diagrams::nothing && done(act, one) == to)
                return {i, from};
        }
        throw std::logic_error("a state that no act leads to");
    }

    const Compiled &circuit_;
    const Cone &cone_;
    Diagrams &sets_;
    const ContactStates &states_;
    std::vector<Act> acts_;
    std::vector<std::uint32_t> next_to_now_, now_to_next_, now_to_start_;
    Set now_bits_ = 1, next_bits_ = 1, start_bits_ = 1, input_bits_ = 1;
    std::vector<Set> must_, back_again_;
    Set at_rest_ = 0, at_odds_ = 0, any_move_ = 0, together_ = 0, one_move_ = 0, gently_ = 0, two_held_ = 0;
    Set cold_ = 0, cold_on_the_way_ = 0, comes_to_rest_ = 0;
    Layer every_{};             ///< one act from every state that can be reached
    std::vector<Layer> layers_; ///< by the number of acts that lead there, as far as asked for
    Set races_ = 0, turns_ = 0, restless_ = 0;
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
