#include "switching/settled_sets.hpp"

#include <algorithm>
#include <stdexcept>
#include <tuple>

namespace stopspan {

SettledSets::SettledSets(const Cone &cone, Diagrams &sets, const ContactStates &states, std::vector<Act> acts)
    : circuit_(cone.circuit), sets_(sets), states_(states), acts_(std::move(acts)) {
    for (const std::uint32_t v : states_.moving()) {
        now_bits_ = sets_.both(now_bits_, states_.bits(v, now));
        next_bits_ = sets_.both(next_bits_, states_.bits(v, next));
    }
    next_to_now_ = states_.renaming(next, now);
    now_to_next_ = states_.renaming(now, next);
    find_moves();
}

void SettledSets::find_moves() {
    const std::size_t count = circuit_.armatures.size();
    for (std::uint32_t i = 0; i < count; ++i) {
        Set must = sets_.differ(in(i), states_.fed(i));
        for (const std::uint32_t other : circuit_.armatures[i].interlocked)
            must = sets_.without(must, sets_.without(in(other), in(i))); // held off
        for (const FaultSeen &fault : circuit_.faults)
            if (fault.frozen == circuit_.armatures[i].variable)
                must = sets_.both(must, states_.at(fault.variable, 0));
        must_.push_back(must);
        at_rest_ = sets_.without(at_rest_, must);
    }
    const std::vector<std::uint8_t> interacts = interacting(circuit_);
    for (std::uint32_t a = 0; a < count; ++a)
        for (std::uint32_t b = a + 1; b < count; ++b)
            if (interacts[a * count + b] != 0 || circuit_.armatures[a].excludes(b))
                at_odds_ = sets_.either(at_odds_, sets_.both(must_[a], must_[b]));
    for (std::uint32_t i = 0; i < count; ++i) {
        const Set stays = sets_.same(in(i), in(i, next));
        any_move_ = sets_.both(any_move_, sets_.either(must_[i], stays));
        together_ = sets_.both(together_, sets_.differ(must_[i], stays));
    }
    for (std::uint32_t i = 0; i < count; ++i) {
        const Armature &armature = circuit_.armatures[i];
        const auto comes_in = [&](std::uint32_t each) { return sets_.without(in(each, next), in(each)); };
        for (const std::uint32_t other : armature.interlocked)
            if (other > i)
                any_move_ = sets_.without(any_move_, sets_.both(comes_in(i), comes_in(other)));
        if (armature.timed == none)
            continue;
        const Set was = states_.at(armature.timed, 1), is = states_.at(armature.timed, 1, next);
        const Set delayed = armature.off_delay ? sets_.either(was, sets_.without(in(i, next), in(i)))
                                               : sets_.without(was, sets_.without(in(i), in(i, next)));
        timers_ = sets_.both(timers_, sets_.same(is, delayed));
    }
    any_move_ = sets_.both(any_move_, timers_);
    together_ = sets_.both(together_, timers_);
}

template <class Step>
SettledSets::Set SettledSets::all_met(Set from, const Step &step) {
    Set all = from;
    for (Set fresh = from; fresh != Diagrams::nothing;) {
        fresh = sets_.without(step(fresh), all);
        all = sets_.either(all, fresh);
    }
    return all;
}

SettledSets::Set SettledSets::closure(Set from, Set moves) {
    return all_met(from, [&](Set fresh) { return after(fresh, moves); });
}

SettledSets::Set SettledSets::leading_to(Set to, Set moves) {
    return all_met(to, [&](Set fresh) { return before(fresh, moves); });
}

SettledSets::Set SettledSets::endless(Set states, Set moves) {
    for (Set last = Diagrams::nothing; states != last;) {
        last = states;
        states = sets_.both(states, before(states, moves));
    }
    return states;
}

SettledSets::Set SettledSets::gently() {
    if (gently_ == Diagrams::nothing)
        gently_ = sets_.without(sets_.without(together_, at_odds_), at_rest_);
    return gently_;
}

// ---- acts

SettledSets::Set SettledSets::possible(const Act &act) const {
    if (act.variable == none) {
        Set all_lost = Diagrams::everything;
        for (const Source &source : circuit_.sources)
            if (source.feed == Source::Feed::own)
                all_lost = sets_.both(all_lost, states_.at(source.variable, lost_mask(source)));
        return act.kind == ActKind::lose ? healthy() : all_lost;
    }
    Set here = states_.at(act.variable, act.from);
    for (const FaultSeen &fault : circuit_.faults) {
        if (act.variable == fault.variable && fault.frozen != none) // only what is actuated stays so
            here = sets_.without(here, states_.at(fault.frozen, 0));
        if (act.variable == fault.variable && fault.after != none)
            here = sets_.without(here, states_.at(fault.after, 0));
        if (act.variable == fault.frozen)
            here = sets_.both(here, states_.at(fault.variable, 0));
    }
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

SettledSets::Set SettledSets::healthy() const {
    Set all = Diagrams::everything;
    for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
        if (circuit_.variables[v].kind == Variable::Kind::source || circuit_.variables[v].kind == Variable::Kind::fuse)
            all = sets_.both(all, states_.at(v, 0));
    return all;
}

SettledSets::Set SettledSets::sources_together(Set states, bool lost) {
    for (const Source &source : circuit_.sources)
        if (source.feed == Source::Feed::own)
            states = sets_.both(sets_.for_some(states, states_.bits(source.variable)),
                                states_.at(source.variable, lost ? lost_mask(source) : 0));
    return states;
}

SettledSets::Set SettledSets::elapsed(Set states, std::uint32_t timer) {
    const Set acted = states_.at(timer, 1), bit = states_.bits(timer);
    return sets_.either(sets_.without(sets_.for_some(sets_.both(states, acted), bit), acted),
                        sets_.both(sets_.for_some(sets_.without(states, acted), bit), acted));
}

SettledSets::Set SettledSets::done(const Act &act, Set from) {
    from = sets_.both(from, possible(act));
    if (act.variable == none)
        return sources_together(from, act.kind == ActKind::lose);
    if (act.kind == ActKind::elapse)
        return elapsed(from, act.variable);
    return sets_.both(sets_.for_some(from, states_.bits(act.variable)), states_.at(act.variable, act.to[0]));
}

SettledSets::Set SettledSets::undone(const Act &act, Set to) {
    Set from;
    if (act.variable == none) {
        from = sources_together(to, act.kind != ActKind::lose);
    } else if (act.kind == ActKind::elapse) {
        from = elapsed(to, act.variable);
    } else {
        from =
            sets_.both(sets_.for_some(sets_.both(to, states_.at(act.variable, act.to[0])), states_.bits(act.variable)),
                       states_.at(act.variable, act.from));
    }
    return sets_.both(from, possible(act));
}

// ---- what can be reached

// Act by act, each from all that is known by then: sets that say how many acts lead somewhere are larger.
bool SettledSets::reach() {
    const Set cold = states_.only(circuit_.cold());
    cold_ = closure(cold, any_move_);
    comes_to_rest_ = leading_to(at_rest_, any_move_);
    Set passed = cold_, known = Diagrams::nothing;
    for (Set more = ends_of(cold); more != known;) {
        known = more;
        for (const Act &act : acts_) {
            const Set to = done(act, more);
            passed = sets_.either(passed, closure(to, any_move_));
            more = sets_.either(more, ends_of(to));
        }
    }
    reached_ = known;
    return sets_.both(passed, states_.shorted()) == Diagrams::nothing;
}

// Where nothing ever rests any state on the way is where it may be met.
SettledSets::Set SettledSets::ends_of(Set from) {
    const Set ends = sets_.both(closure(from, any_move_), at_rest_);
    const Set restless = sets_.without(from, comes_to_rest_);
    if (restless == Diagrams::nothing)
        return ends;
    const Set way = closure(restless, gently());
    return sets_.either(ends, sets_.either(endless(way, gently()), closure(sets_.both(way, at_odds_), any_move_)));
}

// As ends_of(), looked at from the ends.
SettledSets::Set SettledSets::may_end_in(Set ends) {
    const Set resting = leading_to(sets_.both(ends, at_rest_), any_move_);
    const Set restless = sets_.without(ends, comes_to_rest_);
    if (restless == Diagrams::nothing)
        return resting;
    const Set never_rests = sets_.negation(comes_to_rest_);
    const Set on_a_round = sets_.both(restless, endless(never_rests, gently()));
    const Set from_odds = sets_.both(leading_to(restless, any_move_), sets_.both(at_odds_, never_rests));
    return sets_.either(resting, leading_to(sets_.either(on_a_round, from_odds), gently()));
}

// ---- ways there

State SettledSets::met_before(Set places, Set first, Set moves) {
    while (sets_.both(places, first) == Diagrams::nothing)
        places = sets_.either(places, before(places, moves));
    return states_.state_of(sets_.one_of(sets_.both(places, first), states_.levels()));
}

std::pair<std::size_t, State> SettledSets::last_act(const State &state, Set layer) {
    const Set to = states_.only(state);
    for (std::size_t i = 0; i < acts_.size(); ++i)
        if (const Set one = sets_.both(undone(acts_[i], to), layer); one != Diagrams::nothing)
            return {i, states_.state_of(sets_.one_of(one, states_.levels()))};
    throw std::logic_error("a state that no act leads to");
}

std::pair<std::vector<std::size_t>, State> SettledSets::way_to(Set places) {
    const auto here = [&](std::size_t at) {
        if (at == layers_.size()) {
            Set fresh = ends_of(at == 0 ? states_.only(circuit_.cold()) : layers_.back().after);
            for (const Layer &before : layers_)
                fresh = sets_.without(fresh, before.from);
            if (fresh == Diagrams::nothing)
                throw std::logic_error("a state that no acts lead to");
            layers_.push_back({fresh, Diagrams::nothing});
            for (const Act &act : acts_)
                layers_.back().after = sets_.either(layers_.back().after, done(act, fresh));
        }
        return sets_.both(places, layers_[at].from);
    };
    std::size_t at = 0;
    while (here(at) == Diagrams::nothing)
        ++at;
    const State found = states_.state_of(sets_.one_of(here(at), states_.levels()));
    std::vector<std::size_t> acts;
    State state = found;
    for (; at > 0; --at) {
        const Set end = states_.only(state), first = layers_[at - 1].after;
        const bool rests = sets_.both(end, at_rest_) != Diagrams::nothing;
        state = met_before(end, rests ? first : sets_.without(first, comes_to_rest_), any_move_);
        std::size_t act;
        std::tie(act, state) = last_act(state, layers_[at - 1].from);
        acts.push_back(act);
    }
    std::reverse(acts.begin(), acts.end());
    return {std::move(acts), found};
}

} // namespace stopspan
