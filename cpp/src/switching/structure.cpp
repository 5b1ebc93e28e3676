#include "switching/structure.hpp"

#include "switching/live.hpp"

#include <algorithm>

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

Structure::Structure(const Compiled &circuit)
    : circuit_(circuit), poles_at_(circuit.net_count), positions_(circuit.variables.size(), free),
      mark_(circuit.net_count, 0) {
    std::vector<std::uint8_t> moves_an_armature(circuit.variables.size(), 0);
    for (const Armature &armature : circuit.armatures)
        moves_an_armature[armature.variable] = 1;
    std::vector<std::vector<Edge>> at(circuit.net_count);
    for (const Switch &one : circuit.switches) {
        if (one.closed_at == 0)
            continue; // broken off
        const bool contactor_pole = one.pole && one.variable != none && moves_an_armature[one.variable];
        at[one.a].push_back({one.b, one.variable, one.closed_at, true, contactor_pole});
        at[one.b].push_back({one.a, one.variable, one.closed_at, true, contactor_pole});
    }
    for (const Impedance &one : circuit.impedances) {
        at[one.a].push_back({one.b, none, 0, false, false});
        at[one.b].push_back({one.a, none, 0, false, false});
    }
    first_.push_back(0);
    for (const auto &edges : at) {
        edges_.insert(edges_.end(), edges.begin(), edges.end());
        first_.push_back(static_cast<std::uint32_t>(edges_.size()));
    }
    // Pole numbers: 0 is earth and every earthed pole, the others each their own.
    source_of_pole_ = {none};
    pole_index_ = {none};
    net_of_pole_ = {circuit.earth};
    live_pole_ = {0};
    poles_at_[circuit.earth].push_back(0);
    for (std::uint32_t s = 0; s < circuit.sources.size(); ++s)
        for (std::uint32_t p = 0; p < circuit.sources[s].poles.size(); ++p) {
            const Source &source = circuit.sources[s];
            if (p == source.earthed) {
                poles_at_[source.poles[p].net].push_back(0);
                continue;
            }
            poles_at_[source.poles[p].net].push_back(static_cast<std::uint32_t>(source_of_pole_.size()));
            source_of_pole_.push_back(s);
            pole_index_.push_back(p);
            net_of_pole_.push_back(source.poles[p].net);
            live_pole_.push_back(live_at_rated_volts(source, p));
        }
}

void Structure::assume(std::uint32_t variable, std::uint8_t positions) {
    for (const auto &[fixed, unused] : supposed_)
        if (fixed == variable)
            return;
    positions_[variable] = positions;
    changed_.push_back(variable);
}

void Structure::assume_lost(std::uint32_t source, std::uint32_t pole) {
    lost_.emplace_back(source, pole);
}

void Structure::forget() {
    for (const std::uint32_t variable : changed_)
        positions_[variable] = free;
    changed_.clear();
    lost_.clear();
    cut_.clear();
}

void Structure::suppose(std::uint32_t variable, std::uint8_t positions) {
    positions_[variable] = positions;
    supposed_.emplace_back(variable, positions);
}

void Structure::suppose_joined(std::uint32_t a, std::uint32_t b) {
    joined_.emplace_back(a, b);
    behind_lost_.clear();
    nothing_between_with_.clear();
}

void Structure::suppose_nothing() {
    for (const auto &[variable, unused] : supposed_)
        positions_[variable] = free;
    supposed_.clear();
    joined_.clear();
    behind_lost_.clear();
    nothing_between_with_.clear();
}

bool Structure::lost(std::uint32_t pole) const {
    return std::any_of(lost_.begin(), lost_.end(), [&](const auto &each) {
        return each.first == source_of_pole_[pole] && (each.second == none || each.second == pole_index_[pole]);
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

// Behind the pole of a lost source hangs everything else it feeds: searched once with all of it free, not for each
// machine again.
const Structure::Seen &Structure::behind_lost(std::uint32_t pole) {
    const auto [entry, fresh] = behind_lost_.try_emplace({lost_, pole});
    if (!fresh)
        return entry->second;
    Seen &seen = entry->second;
    std::vector<std::uint32_t> queue{net_of_pole_[pole]};
    std::vector<std::uint8_t> reached(circuit_.net_count, 0);
    reached[queue[0]] = 1;
    for (std::size_t k = 0; k < queue.size() && seen.different < 2; ++k) {
        bool stands = false;
        for (const std::uint32_t other : poles_at_[queue[k]])
            if (other == 0 || !lost(other)) {
                meet(seen, other);
                stands = true;
            }
        if (stands)
            continue;
        const auto arrive = [&](std::uint32_t net) {
            if (!reached[net]) {
                reached[net] = 1;
                queue.push_back(net);
            }
        };
        for (std::uint32_t e = first_[queue[k]]; e < first_[queue[k] + 1]; ++e)
            arrive(edges_[e].to);
        across_faults(queue[k], arrive);
    }
    return seen;
}

Structure::Seen Structure::search(const std::vector<std::uint32_t> &start, bool loads, bool contactor_poles,
                                  int enough) {
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
        for (const std::uint32_t pole : poles_at_[net]) {
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
        if (!poles_at_[net].empty())
            continue; // a stiff potential: nothing comes through it
        across_faults(net, push);
        for (std::uint32_t e = first_[net]; e < first_[net + 1]; ++e) {
            const Edge &edge = edges_[e];
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

int Structure::potentials(const std::vector<std::uint32_t> &nets) {
    return search(nets, true, true, 2).different;
}

int Structure::conductor_potentials(const std::vector<std::uint32_t> &nets) {
    return search(nets, false, true, 2).different;
}

int Structure::ideal_potentials(const std::vector<std::uint32_t> &nets) {
    // Nets that a pole cannot reach through contacts stay on nothing; each of the others on its own pole.
    std::vector<std::uint32_t> seen;
    for (const std::uint32_t net : nets) {
        search({net}, false, true, 1);
        for (const std::uint32_t reached : queue_)
            for (const std::uint32_t pole : poles_at_[reached])
                if ((pole == 0 || !lost(pole)) && std::find(seen.begin(), seen.end(), pole) == seen.end())
                    seen.push_back(pole);
    }
    return static_cast<int>(seen.size());
}

bool Structure::can_join(std::uint32_t a, std::uint32_t b) {
    if (a == b)
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
        for (std::uint32_t e = first_[queue_[k]]; e < first_[queue_[k] + 1]; ++e)
            if (const Edge &edge = edges_[e]; edge.conductor && !open(edge))
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
    // What meets no pole but through the other end of the load gives it nothing, whatever that end stands on.
    for (const auto &[from, other] : {std::pair{a, b}, {b, a}}) {
        cut_.push_back(other);
        const Seen seen = search({from}, true, true, 1);
        cut_.pop_back();
        if (seen.different == 0)
            return true;
    }
    return potentials({a, b}) < 2;
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

void Structure::let_supplies_fall(std::vector<std::uint32_t> candidates) {
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

void Structure::let_fall(const std::vector<std::uint32_t> &candidates) {
    std::vector<std::uint32_t> in, still;
    for (const std::uint32_t index : candidates)
        if (positions_[circuit_.armatures[index].variable] == free) // one supposed to be welded never falls
            in.push_back(index);
    const auto fall = [&](const Armature &armature) {
        assume(armature.variable, rest);
        if (armature.timed != none && !armature.off_delay)
            assume(armature.timed, rest);
    };
    for (bool again = true; again;) {
        again = false;
        while (!in.empty()) {
            const std::uint32_t index = in.back();
            in.pop_back();
            if (!coil_dead(index)) {
                still.push_back(index);
                continue;
            }
            again = true;
            const Armature &armature = circuit_.armatures[index];
            fall(armature);
            if (armature.kind != Armature::Kind::coil)
                continue;
            // All of the search round a dead coil is dead: with it the other coils that hang there.
            std::erase_if(in, [&](std::uint32_t other) {
                const Armature &one = circuit_.armatures[other];
                const bool dead = one.kind == Armature::Kind::coil && (searched(one.a1) || searched(one.a2));
                if (dead)
                    fall(one);
                return dead;
            });
        }
        in.swap(still);
    }
}

Structure::Power Structure::power(const MotorSeen &motor) {
    if (motor.kind == DeviceKind::drive && motor.torque_off.first != none &&
        !can_join(motor.torque_off.first, motor.torque_off.second))
        return Power::off;
    const Seen seen = search(motor.nets, true, true, 2);
    if (seen.different >= 2)
        return Power::possible;
    if (!seen.nonzero)
        return Power::off;
    // One potential only: no current. Fed all the same, unless the way there has no contactor in it.
    return search(motor.nets, true, false, 2).nonzero ? Power::unswitched : Power::possible;
}

bool Structure::can_be_live(std::uint32_t net) {
    return search({net}, true, true, 3).nonzero;
}

bool Structure::can_stand_live(std::uint32_t net) {
    search({net}, false, true, 3);
    return std::any_of(queue_.begin(), queue_.end(), [&](std::uint32_t reached) {
        return std::any_of(poles_at_[reached].begin(), poles_at_[reached].end(),
                           [&](std::uint32_t pole) { return pole != 0 && !lost(pole) && live_pole_[pole]; });
    });
}

} // namespace stopspan
