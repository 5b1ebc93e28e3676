#include "switching/structure.hpp"

#include "base/index_set.hpp"

#include "switching/live.hpp"

#include <algorithm>
#include <array>

namespace stopspan {
namespace {

// To earth; of a floating source no pole is earth, and any two of them may be touched.
bool live_at_rated_volts(const Source &source, std::uint32_t pole) {
    const auto over = [&](const Source::Pole &other) {
        return (source.poles[pole].volts - other.volts).rms() > live_v;
    };
    return source.earthed != none ? over(source.poles[source.earthed])
                                  : std::any_of(source.poles.begin(), source.poles.end(), over);
}

} // namespace

// Pole numbers: 0 is earth and every earthed pole, the others each their own.
Structure::Graph::Graph(const Compiled &circuit)
    : source_of_pole{none}, pole_index{none}, net_of_pole{circuit.earth}, live_pole{0},
      poles_at(circuit.net_count,
               [&](auto &&put) {
                   put(circuit.earth, 0);
                   std::uint32_t number = 0;
                   for (const Source &source : circuit.sources)
                       for (std::uint32_t p = 0; p < source.poles.size(); ++p)
                           put(source.poles[p].net, p == source.earthed ? 0 : ++number);
               }),
      coils_at(circuit.net_count, [&](auto &&put) {
          for (std::uint32_t i = 0; i < circuit.armatures.size(); ++i)
              if (const Armature &one = circuit.armatures[i]; one.kind == Armature::Kind::coil) {
                  put(one.a1, i);
                  put(one.a2, i);
              }
      }) {
    for (std::uint32_t s = 0; s < circuit.sources.size(); ++s)
        for (std::uint32_t p = 0; p < circuit.sources[s].poles.size(); ++p) {
            const Source &source = circuit.sources[s];
            if (p == source.earthed)
                continue;
            source_of_pole.push_back(s);
            pole_index.push_back(p);
            net_of_pole.push_back(source.poles[p].net);
            live_pole.push_back(live_at_rated_volts(source, p));
        }
    std::vector<std::uint8_t> moves_an_armature(circuit.variables.size(), 0);
    for (const Armature &armature : circuit.armatures)
        moves_an_armature[armature.variable] = 1;
    const auto both_ends = [&](const auto &visit) {
        for (const Switch &one : circuit.switches) {
            if (one.closed_at == 0)
                continue; // broken off
            const bool contactor_pole = one.pole && one.variable != none && moves_an_armature[one.variable];
            visit(one.a, Edge{one.b, one.variable, one.closed_at, true, contactor_pole});
            visit(one.b, Edge{one.a, one.variable, one.closed_at, true, contactor_pole});
        }
        for (const Impedance &one : circuit.impedances) {
            visit(one.a, Edge{one.b, none, 0, false, false});
            visit(one.b, Edge{one.a, none, 0, false, false});
        }
    };
    first.assign(circuit.net_count + 1, 0);
    both_ends([&](std::uint32_t net, const Edge &) { ++first[net + 1]; });
    for (std::uint32_t net = 0; net < circuit.net_count; ++net)
        first[net + 1] += first[net];
    edges.resize(first.back());
    std::vector<std::uint32_t> next(first.begin(), first.end() - 1);
    both_ends([&](std::uint32_t net, const Edge &edge) { edges[next[net]++] = edge; });
    find_ways_to_poles();
}

std::uint32_t Structure::Graph::way_back(std::uint32_t net, std::uint32_t edge) const {
    const Edge &there = edges[edge];
    std::uint32_t back = first[there.to];
    const auto same = [&](const Edge &one) {
        return one.to == net && one.variable == there.variable && one.closed_at == there.closed_at &&
               one.conductor == there.conductor;
    };
    while (!same(edges[back]))
        ++back;
    return back;
}

void Structure::Graph::find_ways_to_poles() {
    const std::size_t nets = first.size() - 1;
    to_pole.assign(nets, none);
    std::vector<std::uint32_t> queue;
    for (std::uint32_t net = 0; net < nets; ++net)
        if (!poles_at[net].empty())
            queue.push_back(net);
    for (std::size_t k = 0; k < queue.size(); ++k)
        for (std::uint32_t e = first[queue[k]]; e < first[queue[k] + 1]; ++e) {
            const std::uint32_t net = edges[e].to;
            if (!edges[e].conductor || to_pole[net] != none || !poles_at[net].empty())
                continue;
            to_pole[net] = way_back(queue[k], e);
            queue.push_back(net);
        }
}

Structure::Structure(const Compiled &circuit)
    : circuit_(circuit), graph_(std::make_shared<const Graph>(circuit)), positions_(circuit.variables.size(), free),
      at_earth_(circuit.net_count, 0), dead_(circuit.net_count, 0), quiet_(circuit.net_count, 0),
      mark_(circuit.net_count, 0) {}

void Structure::assume(std::uint32_t variable, std::uint8_t positions) {
    for (const auto &[fixed, unused] : supposed_)
        if (fixed == variable)
            return;
    positions_[variable] = positions;
    changed_.push_back(variable);
    ++assumptions_;
}

void Structure::assume_lost(std::uint32_t source, std::uint32_t pole) {
    lost_.emplace_back(source, pole);
    ++assumptions_;
}

void Structure::forget() {
    for (const std::uint32_t variable : changed_)
        positions_[variable] = free;
    changed_.clear();
    lost_.clear();
    cut_.clear();
    ++assumptions_;
}

void Structure::forget_what_is_known() {
    behind_lost_with_fault_.clear();
    nothing_between_with_.clear();
    dead_with_.clear();
    ++assumptions_;
}

void Structure::suppose(std::uint32_t variable, std::uint8_t positions) {
    positions_[variable] = positions;
    supposed_.emplace_back(variable, positions);
    dead_with_.clear();
    ++assumptions_;
}

void Structure::suppose_joined(std::uint32_t a, std::uint32_t b) {
    joined_.emplace_back(a, b);
    forget_what_is_known();
}

void Structure::suppose_nothing() {
    for (const auto &[variable, unused] : supposed_)
        positions_[variable] = free;
    supposed_.clear();
    joined_.clear();
    loose_.clear();
    forget_what_is_known();
}

void Structure::unsuppose_last() {
    positions_[supposed_.back().first] = free;
    supposed_.pop_back();
    dead_with_.clear();
    ++assumptions_;
}

const std::vector<std::uint32_t> &Structure::Graph::to_earth(const Compiled &circuit) const {
    std::call_once(to_earth_found_, [&] {
        to_earth_.assign(circuit.net_count, none);
        std::vector<std::uint32_t> queue;
        std::vector<std::uint8_t> met(circuit.net_count, 0);
        for (std::uint32_t net = 0; net < circuit.net_count; ++net)
            if (const auto poles = poles_at[net]; std::find(poles.begin(), poles.end(), 0U) != poles.end()) {
                met[net] = 1;
                queue.push_back(net);
            }
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (std::uint32_t e = first[queue[k]]; e < first[queue[k] + 1]; ++e) {
                const Edge &edge = edges[e];
                const bool leads = edge.conductor && (edge.variable == none || circuit.variables[edge.variable].kind ==
                                                                                   Variable::Kind::isolator);
                if (!leads || met[edge.to] || !poles_at[edge.to].empty())
                    continue;
                met[edge.to] = 1;
                queue.push_back(edge.to);
                to_earth_[edge.to] = way_back(queue[k], e);
            }
    });
    return to_earth_;
}

bool Structure::stands_at_earth(std::uint32_t net) const {
    const auto &to_earth = graph_->to_earth(circuit_);
    for (; to_earth[net] != none; net = graph_->edges[to_earth[net]].to)
        if (const Edge &edge = graph_->edges[to_earth[net]];
            edge.variable != none && (positions_[edge.variable] & ~edge.closed_at) != 0)
            return false;
    const auto poles = graph_->poles_at[net];
    return std::find(poles.begin(), poles.end(), 0U) != poles.end();
}

bool Structure::with_earth_around(const std::vector<std::uint32_t> &nets, const std::function<bool()> &holds) {
    std::vector<std::uint32_t> at_earth;
    const auto put = [&](std::uint32_t net) {
        if (is_stiff(net) || !stands_at_earth(net))
            return;
        at_earth_[net] = 1;
        at_earth.push_back(net);
    };
    std::for_each(nets.begin(), nets.end(), put);
    for (const auto &[a, b] : joined_)
        for (const auto &[net, other] : {std::pair{a, b}, {b, a}})
            if (!is_stiff(net) && stands_at_earth(other)) {
                at_earth_[net] = 1;
                at_earth.push_back(net);
            }
    forget_what_is_known();
    const bool held = holds();
    for (const std::uint32_t net : at_earth)
        at_earth_[net] = 0;
    forget_what_is_known();
    return held;
}

bool Structure::split(std::span<const Edge *const> isolators, const std::vector<std::uint32_t> &nets,
                      const std::function<bool()> &holds) {
    if (isolators.empty())
        return with_earth_around(nets, holds);
    const Edge &one = *isolators.front();
    for (const int positions : {one.closed_at & free, ~one.closed_at & free}) {
        suppose(one.variable, static_cast<std::uint8_t>(positions));
        const bool held = split(isolators.subspan(1), nets, holds);
        unsuppose_last();
        if (!held)
            return false;
    }
    return true;
}

bool Structure::in_every_case(const std::vector<std::uint32_t> &nets, const std::function<bool()> &holds) {
    constexpr std::size_t most_isolators = 4;
    const auto &to_earth = graph_->to_earth(circuit_);
    std::vector<const Edge *> isolators;
    for (std::uint32_t net : nets)
        for (; to_earth[net] != none; net = graph_->edges[to_earth[net]].to)
            if (const Edge &edge = graph_->edges[to_earth[net]];
                edge.variable != none && std::none_of(isolators.begin(), isolators.end(), [&](const Edge *known) {
                    return known->variable == edge.variable;
                }))
                isolators.push_back(&edge);
    const bool fault_at_earth = std::any_of(joined_.begin(), joined_.end(), [&](const auto &pair) {
        return to_earth[pair.first] != none || to_earth[pair.second] != none || stands_at_earth(pair.first) ||
               stands_at_earth(pair.second);
    });
    return (!isolators.empty() || fault_at_earth) && isolators.size() <= most_isolators &&
           split(isolators, nets, holds);
}

bool Structure::lost(std::uint32_t pole) const {
    return std::any_of(lost_.begin(), lost_.end(), [&](const auto &each) {
        return each.first == graph_->source_of_pole[pole] &&
               (each.second == none || each.second == graph_->pole_index[pole]);
    });
}

void Structure::meet(Seen &seen, std::uint32_t pole) const {
    seen.nonzero |= pole != 0;
    if (seen.first_pole == none) {
        seen.first_pole = pole;
        seen.different = 1;
    } else if (seen.first_pole != pole) {
        seen.different = 2;
    }
}

template <class Arrive>
bool Structure::step_behind_lost(std::uint32_t net, Seen &seen, Arrive &&arrive) const {
    bool stands = false;
    for (const std::uint32_t other : graph_->poles_at[net])
        if (other == 0 || !lost(other)) {
            meet(seen, other);
            stands = true;
        }
    if (!stands)
        for (std::uint32_t e = graph_->first[net]; e < graph_->first[net + 1]; ++e)
            arrive(graph_->edges[e].to);
    return !stands;
}

// Behind the pole of a lost source hangs everything else it feeds: searched once with all of it free, not for each
// machine again; and with a fault, only what it leads to besides.
const Structure::Seen &Structure::behind_lost(std::uint32_t pole) {
    const auto [known, first] = behind_lost_.try_emplace({lost_, pole});
    Behind &behind = known->second;
    const std::uint32_t start = graph_->net_of_pole[pole];
    // Of the poles that are lost together one may lead to another: behind both is the same.
    auto other = first ? behind_lost_.lower_bound({lost_, 0}) : behind_lost_.end();
    const auto lost_together = [&] { return other != behind_lost_.end() && other->first.first == lost_; };
    while (lost_together() && (other == known || !other->second.passed[start]))
        ++other;
    if (lost_together()) {
        behind = other->second;
    } else if (first) {
        std::vector<std::uint32_t> queue{start};
        std::vector<std::uint8_t> reached(circuit_.net_count, 0);
        reached[queue[0]] = 1;
        behind.passed.assign(circuit_.net_count, 0);
        for (std::size_t k = 0; k < queue.size() && behind.seen.different < 2; ++k)
            behind.passed[queue[k]] = step_behind_lost(queue[k], behind.seen, [&](std::uint32_t net) {
                if (!reached[net]) {
                    reached[net] = 1;
                    queue.push_back(net);
                }
            });
    }
    if (joined_.empty() || behind.seen.different >= 2)
        return behind.seen;
    const auto [with_fault, fresh] = behind_lost_with_fault_.try_emplace({lost_, pole}, behind.seen);
    Seen &seen = with_fault->second;
    if (!fresh)
        return seen;
    IndexSet reached;
    const auto arrive = [&](std::uint32_t net) {
        if (!behind.passed[net])
            reached.insert(net);
    };
    for (const auto &[a, b] : joined_)
        for (const auto &[here, there] : {std::pair{a, b}, {b, a}})
            if (behind.passed[here])
                arrive(there);
    for (std::size_t k = 0; k < reached.size() && seen.different < 2; ++k)
        if (step_behind_lost(reached[k], seen, arrive))
            across_faults(reached[k], arrive);
    return seen;
}

Structure::Seen Structure::search(std::span<const std::uint32_t> start, bool loads, bool contactor_poles, int enough) {
    ++round_;
    queue_.clear();
    Seen seen;
    const auto push = [&](std::uint32_t net) {
        if (mark_[net] != round_ && std::find(cut_.begin(), cut_.end(), net) == cut_.end()) {
            mark_[net] = round_;
            queue_.push_back(net);
        }
    };
    for (const std::uint32_t net : start)
        push(net);
    for (std::size_t k = 0; k < queue_.size() && seen.different < enough; ++k) {
        const std::uint32_t net = queue_[k];
        for (const std::uint32_t pole : graph_->poles_at[net]) {
            if (pole == 0 || !lost(pole)) {
                meet(seen, pole);
                continue;
            }
            const Seen &behind = behind_lost(pole);
            if (behind.first_pole != none)
                meet(seen, behind.first_pole);
            seen.nonzero |= behind.nonzero;
            if (behind.different > 1)
                seen.different = 2;
        }
        if (at_earth_[net])
            meet(seen, 0);
        if (is_stiff(net))
            continue;
        across_faults(net, push);
        for (std::uint32_t e = graph_->first[net]; e < graph_->first[net + 1]; ++e) {
            const Edge &edge = graph_->edges[e];
            if (!edge.conductor) {
                if (loads)
                    push(edge.to);
                continue;
            }
            if (!open(edge) && (contactor_poles || !edge.contactor_pole))
                push(edge.to);
        }
    }
    return seen;
}

std::uint32_t Structure::end_of_way(std::uint32_t net, std::uint32_t cut) const {
    for (;;) {
        if (net == cut || std::find(cut_.begin(), cut_.end(), net) != cut_.end())
            return none;
        const std::uint32_t way = graph_->to_pole[net];
        if (way == none || open(graph_->edges[way]) || at_earth_[net])
            return net;
        net = graph_->edges[way].to;
    }
}

std::uint32_t Structure::pole_near(std::uint32_t net, std::uint32_t cut) const {
    const std::uint32_t end = end_of_way(net, cut);
    if (end == none)
        return none;
    const auto poles = graph_->poles_at[end];
    const auto there =
        std::find_if(poles.begin(), poles.end(), [&](std::uint32_t pole) { return pole == 0 || !lost(pole); });
    return there == poles.end() ? none : *there;
}

bool Structure::soon_on_two(std::span<const std::uint32_t> nets) const {
    std::uint32_t first = none;
    for (const std::uint32_t net : nets) {
        const std::uint32_t pole = pole_near(net);
        if (first == none)
            first = pole;
        else if (pole != none && pole != first)
            return true;
    }
    return false;
}

int Structure::potentials(const std::vector<std::uint32_t> &nets) {
    return search(nets, true, true, 2).different;
}

int Structure::conductor_potentials(const std::vector<std::uint32_t> &nets) {
    return search(nets, false, true, 2).different;
}

bool Structure::stand_on_two(std::span<const std::uint32_t> nets) {
    if (joined_.empty() && soon_on_two(nets))
        return true;
    // Nets that a pole cannot reach through contacts stay on nothing; each of the others on its own pole.
    std::uint32_t first = none;
    for (const std::uint32_t net : nets) {
        search({&net, 1}, false, true, 1);
        for (const std::uint32_t reached : queue_)
            for (const std::uint32_t pole : graph_->poles_at[reached]) {
                if (pole != 0 && lost(pole))
                    continue;
                if (first != none && pole != first)
                    return true;
                first = pole;
            }
    }
    return false;
}

bool Structure::can_join(std::uint32_t a, std::uint32_t b) {
    const std::uint32_t end = end_of_way(a);
    if (a == b || (end != none && end == end_of_way(b)))
        return true;
    ++round_;
    queue_.assign(1, a);
    mark_[a] = round_;
    const auto arrive = [&](std::uint32_t net) {
        if (mark_[net] != round_) {
            mark_[net] = round_;
            queue_.push_back(net);
        }
    };
    for (std::size_t k = 0; k < queue_.size() && mark_[b] != round_; ++k) {
        across_faults(queue_[k], arrive);
        for (std::uint32_t e = graph_->first[queue_[k]]; e < graph_->first[queue_[k] + 1]; ++e)
            if (const Edge &edge = graph_->edges[e]; edge.conductor && !open(edge))
                arrive(edge.to);
    }
    return mark_[b] == round_;
}

bool Structure::coil_dead(std::uint32_t index) {
    const Armature &armature = circuit_.armatures[index];
    switch (armature.kind) {
    case Armature::Kind::coil:
        break;
    case Armature::Kind::stop_relay:
        if (armature.input_missing)
            return true;
        for (const auto &[a, b] : armature.inputs)
            if (!can_join(a, b))
                return true;
        break;
    default:
        return false; // stays in without volts, or is not ours to know
    }
    return nothing_between(armature.a1, armature.a2);
}

bool Structure::nothing_between(std::uint32_t a, std::uint32_t b) {
    const std::uint32_t pole_a = pole_near(a, b), pole_b = pole_near(b, a);
    if (pole_a != none && pole_b != none && pole_a != pole_b)
        return false;
    // What meets no pole but through the other end of the load gives it nothing, whatever that end stands on.
    for (const auto &[from, other] : {std::pair{a, b}, {b, a}}) {
        cut_.push_back(other);
        const Seen seen = search({&from, 1}, true, true, 1);
        cut_.pop_back();
        if (seen.different == 0)
            return true;
    }
    const std::array both{a, b};
    return search(both, true, true, 2).different < 2;
}

bool Structure::nothing_between_with(std::uint32_t acted_variable, std::uint32_t a, std::uint32_t b) {
    const auto [entry, fresh] = nothing_between_with_.try_emplace({acted_variable, a, b}, false);
    if (fresh) {
        assume(acted_variable, acted);
        entry->second = nothing_between(a, b);
        forget();
    }
    return entry->second;
}

template <class Assume>
bool Structure::remembered_dead(std::uint64_t assumption, std::uint32_t armature, Assume &&assume_it) {
    auto &known = dead_with_[assumption];
    const auto [answer, fresh] = known.try_emplace(armature, false);
    if (!fresh)
        return answer->second;
    assume_it();
    const bool dead = answer->second = coil_dead(armature);
    forget();
    // All of the search round a dead coil is dead: with it the other coils that hang there.
    if (dead && circuit_.armatures[armature].kind == Armature::Kind::coil)
        for_searched([&](std::uint32_t net) {
            for (const std::uint32_t other : graph_->coils_at[net])
                known[other] = true;
        });
    return dead;
}

bool Structure::coil_dead_with(std::uint32_t variable, std::uint8_t positions, std::uint32_t armature) {
    return remembered_dead((std::uint64_t{variable} << 8) | positions, armature, [&] { assume(variable, positions); });
}

bool Structure::coil_dead_without(std::uint32_t source, std::uint32_t armature) {
    return remembered_dead((std::uint64_t{1} << 63) | source, armature, [&] { assume_lost(source); });
}

void Structure::let_supplies_fall(std::vector<std::uint32_t> &candidates) {
    for (bool again = true; again;) {
        const std::size_t before = candidates.size();
        std::erase_if(candidates, [&](std::uint32_t s) {
            const Source &source = circuit_.sources[s];
            const bool falls = nothing_between(source.feed_a, source.feed_b);
            if (falls)
                assume_lost(s);
            return falls;
        });
        again = candidates.size() < before;
    }
}

void Structure::let_fall(const std::vector<std::uint32_t> &candidates, std::vector<std::uint32_t> supplies) {
    for (bool again = true; again;) {
        const std::size_t before = supplies.size();
        let_supplies_fall(supplies);
        let_armatures_fall(candidates);
        again = supplies.size() < before; // they may have fed others, by way of what fell with them
    }
}

void Structure::let_armatures_fall(const std::vector<std::uint32_t> &candidates) {
    std::vector<std::uint32_t> in, still;
    for (const std::uint32_t index : candidates)
        if (positions_[circuit_.armatures[index].variable] == free) // one supposed to be welded never falls
            in.push_back(index);
    ++falls_;
    for (bool again = true; again;) {
        again = false;
        for (const std::uint32_t index : in) {
            const Armature &armature = circuit_.armatures[index];
            const bool coil = armature.kind == Armature::Kind::coil;
            if (!coil || (dead_[armature.a1] != falls_ && dead_[armature.a2] != falls_)) {
                if (!coil_dead(index)) {
                    still.push_back(index);
                    continue;
                }
                // All of the search round a dead coil is dead, whatever falls further: with it the other coils that
                // hang there.
                if (coil)
                    for_searched([&](std::uint32_t net) { dead_[net] = falls_; });
            }
            again = true;
            assume(armature.variable, rest);
            if (armature.timed != none && !armature.off_delay)
                assume(armature.timed, rest);
        }
        in.swap(still);
        still.clear();
    }
}

Structure::Power Structure::power(const MotorSeen &motor) {
    if (motor.kind == DeviceKind::drive && motor.torque_off.first != none &&
        !can_join(motor.torque_off.first, motor.torque_off.second))
        return Power::off;
    // Around nets that meet nothing but earth no other motor meets more.
    if (std::all_of(motor.nets.begin(), motor.nets.end(),
                    [&](std::uint32_t net) { return quiet_[net] == assumptions_; }))
        return Power::off;
    if (soon_on_two(motor.nets))
        return Power::possible;
    const Seen seen = search(motor.nets, true, true, 2);
    if (seen.different >= 2)
        return Power::possible;
    if (!seen.nonzero) {
        for_searched([&](std::uint32_t net) { quiet_[net] = assumptions_; });
        return Power::off;
    }
    // One potential only: no current. Fed all the same, unless the way there has no contactor in it.
    return search(motor.nets, true, false, 2).nonzero ? Power::unswitched : Power::possible;
}

bool Structure::can_be_live(std::uint32_t net) {
    return search({&net, 1}, true, true, 3).nonzero;
}

bool Structure::can_stand_live(std::uint32_t net) {
    search({&net, 1}, false, true, 3);
    return std::any_of(queue_.begin(), queue_.end(), [&](std::uint32_t reached) {
        return std::any_of(graph_->poles_at[reached].begin(), graph_->poles_at[reached].end(),
                           [&](std::uint32_t pole) { return pole != 0 && !lost(pole) && graph_->live_pole[pole]; });
    });
}

} // namespace stopspan
