#include "checks/proofs.hpp"

#include "base/add_unique.hpp"
#include "base/parallel.hpp"
#include "checks/stop_rows.hpp"
#include "switching/settling.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <array>
#include <numeric>

namespace stopspan {
namespace {

bool motors_off(Structure &structure, const MachineSeen &machine, bool fed_counts) {
    return std::all_of(machine.motors.begin(), machine.motors.end(), [&](const MotorSeen *motor) {
        const Structure::Power power = structure.power(*motor);
        return power == Structure::Power::off || (power == Structure::Power::unswitched && !fed_counts);
    });
}

class NoStart {
public:
    NoStart(Structure &structure, const Context &context, const MachineSeen &machine, Lines lines)
        : structure_(structure), context_(context), machine_(machine), compiled_(context.compiled), lines_(lines),
          fed_(fed_supplies(context, machine)) {}

    bool prove() {
        // Without a line volts come back through the windings: it may be too few for the star and enough for the line.
        if (star_delta() && (lines_ == Lines::may_be_lost || machine_.motors.size() > 1))
            return false;
        // A start device that stays where it is put may already be on when power comes.
        for (const std::uint32_t start : machine_.own_starts)
            if (!is_momentary(context_.circuit.devices()[compiled_.variables[start].device]))
                return false;
        std::vector<std::vector<std::uint32_t>> gates;
        for (const std::uint32_t armature : machine_.power_armatures)
            gates.push_back({armature});
        std::vector<std::uint32_t> in_loops;
        for (const std::uint32_t i : machine_.loop_switches)
            if (const std::uint32_t variable = compiled_.switches[i].variable; variable != none)
                add_unique(in_loops, variable);
        variables_ = machine_.power_variables;
        for (const std::uint32_t variable : in_loops) {
            add_unique(variables_, variable);
            const std::uint32_t armature = context_.lookup.armature_of[variable];
            if (armature != none && std::find(gates.begin(), gates.end(), std::vector{armature}) == gates.end())
                gates.push_back({armature});
        }
        if (machine_.power_armatures.size() >= 2) { // reversing, two speeds: either of two
            for (std::size_t i = 0; i < machine_.power_armatures.size(); ++i)
                for (std::size_t j = i + 1; j < machine_.power_armatures.size(); ++j)
                    gates.push_back({machine_.power_armatures[i], machine_.power_armatures[j]});
        }
        const auto gated_by = [&](const std::vector<std::uint32_t> &gate) {
            return stays_out(gate) && gates_power(gate) && in_means_running(gate);
        };
        // What gates it must do so in every case: from one to another it is the same gate that stays out.
        return std::any_of(gates.begin(), gates.end(), gated_by) ||
               std::any_of(gates.begin(), gates.end(), [&](const std::vector<std::uint32_t> &gate) {
                   return structure_.in_every_case(machine_.reach.nets, [&] { return gated_by(gate); });
               });
    }

private:
    void out(const std::vector<std::uint32_t> &gate) {
        for (const std::uint32_t armature : gate)
            structure_.assume(compiled_.armatures[armature].variable, Structure::rest);
    }

    void starts_rest() {
        for (const std::uint32_t start : machine_.own_starts)
            structure_.assume(start, Structure::rest);
    }

    // Positions in which a device opens the power path or a loop of a drive.
    std::uint8_t opened(std::uint32_t variable) const {
        std::uint8_t positions = 0;
        for (const auto *contacts : {&machine_.power_switches, &machine_.loop_switches})
            for (const std::uint32_t i : *contacts)
                if (compiled_.switches[i].variable == variable)
                    positions |= static_cast<std::uint8_t>(~compiled_.switches[i].closed_at & 0b011);
        return positions;
    }

    bool motors_rest() {
        return std::all_of(machine_.motors.begin(), machine_.motors.end(), [&](const MotorSeen *motor) {
            return structure_.power(*motor) == Structure::Power::off ||
                   (motor->run.first != none && !structure_.can_join(motor->run.first, motor->run.second));
        });
    }

    bool gates_power(const std::vector<std::uint32_t> &gate) {
        for (const std::uint32_t armature : gate)
            if (compiled_.armatures[armature].kind != Armature::Kind::coil)
                return false;
        out(gate);
        starts_rest(); // an in-line start button bridges the pole while it is held
        const bool off = motors_rest();
        structure_.forget();
        return off;
    }

    bool stays_out(const std::vector<std::uint32_t> &gate) {
        out(gate);
        starts_rest();
        const bool dead = all_dead(gate);
        structure_.forget();
        return dead;
    }

    bool all_dead(const std::vector<std::uint32_t> &gate) {
        return std::all_of(gate.begin(), gate.end(),
                           [&](std::uint32_t armature) { return structure_.coil_dead(armature); });
    }

    // A contactor of the gate that is in while the machine is off would start it as soon as power is whole again.
    bool in_means_running(const std::vector<std::uint32_t> &gate) {
        if (hangs_on_one_net(gate, {}))
            return true;
        std::vector<std::uint32_t> closed;           // else the gate falls
        std::vector<std::uint32_t> fuses, armatures; // without which it may run: one of the fuses at a time
        for (const std::uint32_t variable : variables_) {
            const std::uint32_t armature = context_.lookup.armature_of[variable];
            if (armature != none && std::find(gate.begin(), gate.end(), armature) != gate.end())
                continue;
            const Variable::Kind kind = compiled_.variables[variable].kind;
            const std::uint8_t positions = opened(variable);
            if (!structure_.possible(variable, positions))
                continue; // it is not what keeps the machine off
            bool held = std::all_of(gate.begin(), gate.end(), [&](std::uint32_t each) {
                return structure_.coil_dead_with(variable, positions, each);
            });
            if (!held) {
                structure_.assume(variable, positions);
                held = falls(gate);
            }
            if (!held && kind != Variable::Kind::fuse && armature == none)
                return false;
            (held ? closed : armature == none ? fuses : armatures).push_back(variable);
        }
        if (star_delta() && (!fuses.empty() || gate.size() != 1 || !runs_however_joined(gate[0], closed, armatures)))
            return false;
        // One blown fuse of three leaves the motor on two lines.
        const auto runs_without = [&](const std::function<void()> &lose) {
            return still_runs(gate, [&] {
                lose();
                for (const std::uint32_t variable : armatures)
                    structure_.assume(variable, opened(variable));
            });
        };
        for (const std::uint32_t fuse : fuses)
            if (!runs_without([&] { structure_.assume(fuse, opened(fuse)); }))
                return false;
        if (fuses.empty() && !armatures.empty() && !star_delta() && !runs_without([] {}))
            return false;
        for (const std::uint32_t s : machine_.reach.sources) {
            const Source &source = compiled_.sources[s];
            if (!feeds_power(s))
                continue;
            if (source.feed != Source::Feed::own)
                return false;
            if (!dead_without(s, gate))
                return false;
            if (source.poles.size() <= 2 || lines_ == Lines::whole)
                continue;
            for (std::uint32_t p = 0; p < source.poles.size(); ++p) {
                if (p == source.earthed)
                    continue;
                if (runs_without([&] { structure_.assume_lost(s, p); }))
                    continue;
                structure_.assume_lost(s, p);
                if (!falls(gate) && !hangs_on_one_net(gate, closed))
                    return false;
            }
        }
        return true;
    }

    bool star_delta() const {
        return std::any_of(machine_.motors.begin(), machine_.motors.end(),
                           [](const MotorSeen *motor) { return motor->kind == DeviceKind::motor_6lead; });
    }

    // With the line contactor in a six-lead motor runs once its windings are joined in star or in delta. Wherever they
    // are not, something has still to move: a contactor is in without volts, or out with all that its source gives.
    // @param closed  what is closed while the line contactor is in
    bool runs_however_joined(std::uint32_t line, const std::vector<std::uint32_t> &closed,
                             const std::vector<std::uint32_t> &others) {
        for (const std::uint32_t i : machine_.power_switches)
            if (structure_.has_fault(compiled_.switches[i].a) || structure_.has_fault(compiled_.switches[i].b))
                return false; // it may not have happened yet
        const Armature &armature = compiled_.armatures[line];
        const auto assume = [&] {
            structure_.assume(armature.variable, Structure::acted);
            for (const std::uint32_t variable : closed)
                structure_.assume(variable, static_cast<std::uint8_t>(~opened(variable) & Structure::free));
        };
        assume();
        auto volts = structure_.all_or_nothing(armature.a1, armature.a2);
        if (!volts)
            volts = structure_.all_or_nothing(armature.a2, armature.a1);
        structure_.forget();
        if (!volts || !dead_without(volts->source, {line}))
            return false;
        std::vector<std::uint32_t> moving = others; // and delayed contacts on the way to their coils
        for (const std::uint32_t i : machine_.reach.switches) {
            const Switch &contact = compiled_.switches[i];
            const bool delayed =
                contact.variable != none && compiled_.variables[contact.variable].kind == Variable::Kind::timed;
            if (delayed && std::find(volts->nets.begin(), volts->nets.end(), contact.a) != volts->nets.end())
                add_unique(moving, contact.variable);
        }
        constexpr std::size_t most_moving = 6;
        if (moving.size() > most_moving)
            return false;
        for (std::uint32_t in = 0; in < (1U << moving.size()); ++in) {
            const auto position = [&](std::size_t i) {
                return (in >> i & 1) != 0 ? Structure::acted : Structure::rest;
            };
            bool possible = true;
            for (std::size_t i = 0; i < moving.size(); ++i)
                possible &= structure_.possible(moving[i], position(i));
            if (!possible)
                continue;
            assume();
            for (std::size_t i = 0; i < moving.size(); ++i)
                structure_.assume(moving[i], position(i));
            const bool proven = windings_joined() || std::any_of(others.begin(), others.end(), [&](std::uint32_t each) {
                                    return has_to_move(context_.lookup.armature_of[each], *volts);
                                });
            structure_.forget();
            if (!proven)
                return false;
        }
        return true;
    }

    // All that its motor's windings hang on is assumed to be open or closed.
    bool windings_joined() {
        const std::span nets(machine_.motors[0]->nets);
        const auto first = nets.first(3), second = nets.subspan(3);
        const auto star = [&](std::span<const std::uint32_t> fed, std::span<const std::uint32_t> joined) {
            return structure_.stand_on_two(fed) && structure_.surely_joined(joined[0], joined[1]) &&
                   structure_.surely_joined(joined[0], joined[2]);
        };
        if (star(first, second) || star(second, first))
            return true;
        if (!structure_.stand_on_two(first) || !structure_.stand_on_two(second))
            return false;
        for (std::size_t i = 0; i < 3; ++i)
            if (const std::array winding{first[i], second[i]}; structure_.stand_on_two(winding))
                return true;
        return false;
    }

    // It cannot rest where it is assumed to be while there are these volts.
    bool has_to_move(std::uint32_t index, const Structure::AllOrNothing &volts) {
        const Armature &armature = compiled_.armatures[index];
        if (armature.kind != Armature::Kind::coil)
            return false;
        const bool blocked =
            std::any_of(armature.interlocked.begin(), armature.interlocked.end(), [&](std::uint32_t other) {
                return !structure_.possible(compiled_.armatures[other].variable, Structure::rest);
            });
        if (!structure_.possible(armature.variable, Structure::rest))
            return blocked || structure_.coil_dead(index);
        const auto stands_between = [&](std::uint32_t a, std::uint32_t b) {
            const bool there = volts.nets.empty() // on the pole itself
                                   ? structure_.pole_of(a) == volts.pole
                                   : structure_.surely_joined(a, volts.nets[0]);
            return there && structure_.pole_of(b) == volts.back;
        };
        return !blocked && (stands_between(armature.a1, armature.a2) || stands_between(armature.a2, armature.a1)) &&
               volts.volts >= coil_limits::pulls_in * armature.rated_v;
    }

    // Supplies and armatures fed by what is lost or open fall with it: does the gate? Forgets what is assumed.
    bool falls(const std::vector<std::uint32_t> &gate) {
        structure_.let_fall(machine_.reach.armatures, fed_);
        const bool fallen =
            std::all_of(gate.begin(), gate.end(), [&](std::uint32_t armature) { return structure_.is_out(armature); });
        structure_.forget();
        return fallen;
    }

    bool dead_without(std::uint32_t source, const std::vector<std::uint32_t> &gate) {
        if (fed_.empty() && std::all_of(gate.begin(), gate.end(), [&](std::uint32_t armature) {
                return structure_.coil_dead_without(source, armature);
            }))
            return true;
        structure_.assume_lost(source);
        return falls(gate);
    }

    bool feeds_power(std::uint32_t s) {
        for (const Source::Pole &pole : compiled_.sources[s].poles) {
            if (&pole ==
                &compiled_.sources[s].poles[compiled_.sources[s].earthed == none ? compiled_.sources[s].poles.size() - 1
                                                                                 : compiled_.sources[s].earthed])
                continue;
            for (const MotorSeen *motor : machine_.motors)
                for (const std::uint32_t terminal : motor->nets)
                    if (structure_.can_join(terminal, pole.net))
                        return true;
        }
        return false;
    }

    // Whichever one of the gate is in, with this assumed.
    bool still_runs(const std::vector<std::uint32_t> &gate, const std::function<void()> &assume) {
        return std::all_of(gate.begin(), gate.end(), [&](std::uint32_t in) {
            assume();
            for (const std::uint32_t armature : gate)
                structure_.assume(compiled_.armatures[armature].variable,
                                  armature == in ? Structure::acted : Structure::rest);
            const bool runs = fed();
            structure_.forget();
            return runs;
        });
    }

    // All that is not assumed closed.
    bool fed() {
        return std::all_of(machine_.motors.begin(), machine_.motors.end(), [&](const MotorSeen *motor) {
            for (const auto &loop : {motor->run, motor->torque_off})
                if (loop.first != none && !structure_.can_join(loop.first, loop.second))
                    return false;
            if (motor->kind != DeviceKind::motor_2speed)
                return structure_.stand_on_two(motor->nets);
            const std::span nets(motor->nets); // fed, each winding runs by itself
            return structure_.stand_on_two(nets.first(3)) || structure_.stand_on_two(nets.subspan(3));
        });
    }

    // One-phase motor and its contactor's coil hang on the same two nets while these are closed, whatever feeds them:
    // volts for the coil are volts for the motor. Without capacitors a part of a chain never sees more than the whole.
    bool hangs_on_one_net(const std::vector<std::uint32_t> &gate, const std::vector<std::uint32_t> &closed) {
        if (gate.size() != 1 || machine_.motors.size() != 1 || machine_.motors[0]->kind != DeviceKind::motor_1ph)
            return false;
        for (const std::uint32_t i : machine_.reach.impedances)
            if (compiled_.impedances[i].ac_out.imag() > 0)
                return false;
        const Armature &armature = compiled_.armatures[gate[0]];
        const auto first = lines_of(machine_.motors[0]->nets[0], armature, closed),
                   second = lines_of(machine_.motors[0]->nets[1], armature, closed);
        for (const std::uint32_t a : first)
            for (const std::uint32_t b : second) {
                structure_.assume_cut(a);
                structure_.assume_cut(b);
                starts_rest();
                // No potential, earth's neither, reaches the coil but through these two nets.
                const bool dead = structure_.potentials({armature.a1, armature.a2}) == 0;
                structure_.forget();
                if (dead)
                    return true;
            }
        return false;
    }

    // Nets that are one with a motor terminal while the contactor is in and these are closed.
    std::vector<std::uint32_t> lines_of(std::uint32_t terminal, const Armature &armature,
                                        const std::vector<std::uint32_t> &closed) const {
        std::vector<std::uint32_t> nets{terminal};
        for (std::size_t k = 0; k < nets.size(); ++k)
            for (const std::uint32_t i : machine_.power_switches) {
                const Switch &one = compiled_.switches[i];
                if (one.variable != none && one.variable != armature.variable &&
                    std::find(closed.begin(), closed.end(), one.variable) == closed.end())
                    continue;
                if (one.a == nets[k] || one.b == nets[k])
                    add_unique(nets, one.a == nets[k] ? one.b : one.a);
            }
        return nets;
    }

    Structure &structure_;
    const Context &context_;
    const MachineSeen &machine_;
    const Compiled &compiled_;
    Lines lines_;
    std::vector<std::uint32_t> fed_;       ///< supplies fed by another
    std::vector<std::uint32_t> variables_; ///< with a contact in the power circuit or in a loop of a drive
};

} // namespace

std::vector<std::uint32_t> fed_supplies(const Context &context, const MachineSeen &machine) {
    std::vector<std::uint32_t> fed;
    std::copy_if(machine.reach.sources.begin(), machine.reach.sources.end(), std::back_inserter(fed),
                 [&](std::uint32_t s) { return context.compiled.sources[s].feed != Source::Feed::own; });
    return fed;
}

bool proves_cut(Structure &structure, const Context &context, const MachineSeen &machine, std::uint32_t variable) {
    const auto cut = [&] {
        structure.assume(variable, Structure::acted);
        structure.let_fall(machine.reach.armatures, fed_supplies(context, machine));
        const bool off = motors_off(structure, machine, true);
        structure.forget();
        return off;
    };
    return cut() || structure.in_every_case(machine.reach.nets, cut);
}

std::vector<std::vector<std::uint32_t>> prove_cuts(const Context &context, const std::vector<MachineSeen> &machines,
                                                   bool share) {
    std::vector<std::vector<std::uint32_t>> reached(context.stops.size()); // per stop: machines
    for (std::uint32_t m = 0; m < machines.size(); ++m)
        for (const std::uint32_t variable : machines[m].reach.variables)
            if (context.stop_of[variable] != none)
                reached[context.stop_of[variable]].push_back(m);
    std::vector<std::uint32_t> first(context.stops.size());
    std::iota(first.begin(), first.end(), 0U);
    if (share) {
        const StopRows rows(context);
        std::transform(first.begin(), first.end(), first.begin(),
                       [&](std::uint32_t stop) { return rows.first_alike(stop); });
    }
    const auto asked_for_it = [&](std::uint32_t stop) {
        return first[stop] == stop || reached[first[stop]] != reached[stop] ? stop : first[stop];
    };
    std::vector<std::vector<std::uint32_t>> cut(context.stops.size()); // per stop that is asked: machines
    in_parallel(reached.size(), context.options.threads, [&] {
        return
            [&, structure = context.structure,
             seen = std::vector<std::uint32_t>(context.compiled.armatures.size(), none),
             armatures = std::vector<std::uint32_t>(), open = std::vector<std::uint32_t>()](std::size_t index) mutable {
                const auto stop = static_cast<std::uint32_t>(index);
                if (asked_for_it(stop) != stop)
                    return;
                // What falls for one machine falls for all.
                armatures.clear();
                for (const std::uint32_t m : reached[stop])
                    for (const std::uint32_t armature : machines[m].reach.armatures)
                        if (seen[armature] != stop) {
                            seen[armature] = stop;
                            armatures.push_back(armature);
                        }
                std::sort(armatures.begin(), armatures.end());
                structure.assume(context.stops[stop].variable, Structure::acted);
                structure.let_fall(armatures);
                open.clear();
                for (const std::uint32_t m : reached[stop])
                    (motors_off(structure, machines[m], true) ? cut[stop] : open).push_back(m);
                structure.forget();
                for (const std::uint32_t m : open)
                    if (proves_cut(structure, context, machines[m], context.stops[stop].variable))
                        cut[stop].push_back(m);
            };
    });
    std::vector<std::vector<std::uint32_t>> proven(machines.size());
    for (std::uint32_t stop = 0; stop < reached.size(); ++stop)
        for (const std::uint32_t m : cut[asked_for_it(stop)])
            proven[m].push_back(stop);
    return proven;
}

bool proves_no_start(Structure &structure, const Context &context, const MachineSeen &machine, Lines lines) {
    return NoStart(structure, context, machine, lines).prove();
}

// Contacts all closed make pieces of nets. What hangs between a piece and one and the same pole has all of its volts or
// none; as soon as two poles can be reached through loads, or another piece, that is a way in beside the contacts.
bool shares_current(const Context &context, const Reach &reach) {
    const Relevance &relevance = context.relevance;
    std::vector<std::uint32_t> nets; // no source stands on them
    std::copy_if(reach.nets.begin(), reach.nets.end(), std::back_inserter(nets),
                 [&](std::uint32_t net) { return !relevance.is_pole_net(net); });
    const auto place_of = [&](std::uint32_t net) {
        const auto found = std::lower_bound(nets.begin(), nets.end(), net);
        return found == nets.end() || *found != net ? none : static_cast<std::uint32_t>(found - nets.begin());
    };
    boost::disjoint_sets_with_storage<> pieces(nets.size());
    std::vector<std::pair<std::uint32_t, std::uint32_t>> to_poles; // a place and a pole that a contact joins it to
    for (const std::uint32_t i : reach.switches) {
        const Switch &contact = context.compiled.switches[i];
        if (contact.closed_at == 0 || contact.a == contact.b)
            continue;
        const std::uint32_t a = place_of(contact.a), b = place_of(contact.b);
        if (a != none && b != none)
            pieces.union_set(a, b);
        else if (a != none || b != none)
            to_poles.emplace_back(a != none ? a : b, a != none ? contact.b : contact.a);
        else
            return true;
    }
    std::vector<std::uint32_t> feed(nets.size(), none), back(nets.size(), none); // per piece: the only pole
    const auto second = [&](std::vector<std::uint32_t> &only, std::uint32_t place, std::uint32_t pole) {
        std::uint32_t &known = only[pieces.find_set(place)];
        if (known == none)
            known = pole;
        return known != pole;
    };
    for (const auto &[place, pole] : to_poles)
        if (second(feed, place, pole))
            return true;
    for (std::uint32_t place = 0; place < nets.size(); ++place) {
        const Context::Loads &loads = context.loads_at[nets[place]];
        if (loads.through || (loads.pole != none && second(back, place, loads.pole)))
            return true;
    }
    return false;
}

bool proves_no_race(const Context &context, const Reach &reach) {
    const Compiled &compiled = context.compiled;
    for (const std::uint32_t i : reach.armatures)
        if (compiled.armatures[i].kind != Armature::Kind::coil || !compiled.armatures[i].interlocked.empty())
            return false;
    std::map<std::uint32_t, std::uint8_t> sense;
    for (const std::uint32_t i : reach.switches) {
        const Switch &contact = compiled.switches[i];
        if (contact.variable == none)
            continue;
        const std::uint32_t armature = context.lookup.armature_of[contact.variable];
        if (armature != none && (contact.closed_at != 0b010 || compiled.armatures[armature].off_delay))
            return false;
        const bool closes = contact.closed_at == 0b010;
        const auto [entry, fresh] = sense.try_emplace(contact.variable, closes);
        if (!fresh && entry->second != static_cast<std::uint8_t>(closes))
            return false;
    }
    return !shares_current(context, reach);
}

} // namespace stopspan
