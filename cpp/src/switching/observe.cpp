#include "switching/observe.hpp"

#include <algorithm>
#include <array>

namespace stopspan {
namespace {

constexpr double load_on = 0.75, load_off = 0.20; // as a coil: what a load does in between nobody can say

using Ends = std::array<std::uint32_t, 3>;

// Potentials of the nets that stand on poles, told apart.
std::size_t different_potentials(const Ends &ends, Network &network) {
    std::vector<Volts> seen;
    for (const std::uint32_t net : ends)
        if (const auto volts = network.pole_potential(net))
            if (std::none_of(seen.begin(), seen.end(), [&](Volts other) { return other.same(*volts); }))
                seen.push_back(*volts);
    return seen.size();
}

bool on_no_pole(const Ends &ends, Network &network) {
    return std::none_of(ends.begin(), ends.end(),
                        [&](std::uint32_t net) { return network.pole_potential(net).has_value(); });
}

bool all_joined(const Ends &ends, Network &network) {
    return network.joined(ends[0], ends[1]) && network.joined(ends[0], ends[2]);
}

bool any_joined(const Ends &ends, Network &network) {
    return network.joined(ends[0], ends[1]) || network.joined(ends[0], ends[2]) || network.joined(ends[1], ends[2]);
}

// Sign of the phase sequence of three potentials: L1 L2 L3 turns forward.
bool forward(const Ends &ends, Network &network) {
    const Volts u = *network.pole_potential(ends[0]);
    const auto v = (*network.pole_potential(ends[1]) - u).ac, w = (*network.pole_potential(ends[2]) - u).ac;
    return (std::conj(v) * w).imag() < 0;
}

Tri winding_power(const MotorSeen &motor, Network &network) {
    for (const MotorSeen::Winding &winding : motor.windings) {
        const Reading reading = network.between(winding.a, winding.b);
        if (reading.unknown || reading.volts >= power_off * winding.rated_v)
            return Tri::maybe;
    }
    return Tri::off;
}

MotorState fed(std::size_t potentials, Mode mode) {
    return {Tri::on, potentials >= 3 ? mode : Mode::single_phasing};
}

MotorState three_phase(const MotorSeen &motor, Network &network) {
    const Ends ends{motor.nets[0], motor.nets[1], motor.nets[2]};
    const std::size_t potentials = different_potentials(ends, network);
    if (potentials < 2)
        return {winding_power(motor, network), Mode::other};
    if (potentials < 3)
        return {Tri::on, Mode::single_phasing};
    return {Tri::on, forward(ends, network) ? Mode::forward : Mode::reverse};
}

MotorState six_lead(const MotorSeen &motor, Network &network) {
    const Ends first{motor.nets[0], motor.nets[1], motor.nets[2]}, second{motor.nets[3], motor.nets[4], motor.nets[5]};
    const std::size_t at_first = different_potentials(first, network),
                      at_second = different_potentials(second, network);
    if (at_first >= 2 && all_joined(second, network))
        return fed(at_first, Mode::star);
    if (at_second >= 2 && all_joined(first, network))
        return fed(at_second, Mode::star);
    if (at_first >= 2 && at_second >= 2) {
        bool every = true;
        for (std::size_t i = 0; i < 3; ++i) {
            const Reading across = network.between(first[i], second[i]);
            every &= across.ideal && across.volts >= power_off * motor.rated_v;
        }
        if (every)
            return fed(std::min(at_first, at_second), Mode::delta);
        for (std::size_t i = 0; i < 3; ++i) // two of three lines: the windings between them carry current
            if (network.between(first[i], second[i]).ideal &&
                network.between(first[i], second[i]).volts >= power_off * motor.rated_v)
                return {Tri::on, Mode::single_phasing};
    }
    return {winding_power(motor, network), Mode::other};
}

MotorState two_speed(const MotorSeen &motor, Network &network) {
    const Ends slow{motor.nets[0], motor.nets[1], motor.nets[2]}, fast{motor.nets[3], motor.nets[4], motor.nets[5]};
    const auto open = [&](const Ends &ends) { return on_no_pole(ends, network) && !any_joined(ends, network); };
    const std::size_t at_slow = different_potentials(slow, network), at_fast = different_potentials(fast, network);
    if (at_slow >= 2 && open(fast))
        return fed(at_slow, Mode::slow);
    if (at_fast >= 2 && (motor.slow_joined ? all_joined(slow, network) : open(slow)))
        return fed(at_fast, Mode::fast);
    return {winding_power(motor, network), Mode::other};
}

MotorState drive(const MotorSeen &motor, const State &state, Network &network) {
    const auto closed = [&](const auto &loop) { return loop.first == none || network.joined(loop.first, loop.second); };
    if (!closed(motor.torque_off) || !closed(motor.run) || (motor.memory != none && state[motor.memory] == 0))
        return {};
    if (different_potentials({motor.nets[0], motor.nets[1], motor.nets[2]}, network) >= 2)
        return {Tri::on, Mode::run};
    return {winding_power(motor, network), Mode::other};
}

MotorState any_motor(const MotorSeen &motor, const State &state, Network &network) {
    switch (motor.kind) {
    case DeviceKind::motor_1ph: {
        const Reading reading = network.between(motor.nets[0], motor.nets[1]);
        if (reading.ideal && reading.volts >= power_off * motor.rated_v)
            return {Tri::on, Mode::run};
        return {winding_power(motor, network), Mode::other};
    }
    case DeviceKind::motor_3ph:
        return three_phase(motor, network);
    case DeviceKind::motor_6lead:
        return six_lead(motor, network);
    case DeviceKind::motor_2speed:
        return two_speed(motor, network);
    default:
        return drive(motor, state, network);
    }
}

} // namespace

std::string_view to_text(Mode mode) {
    static constexpr std::array<std::string_view, 10> words{"stopped", "run",  "forward", "reverse",        "star",
                                                            "delta",   "slow", "fast",    "single-phasing", "maybe"};
    return words[static_cast<std::size_t>(mode)];
}

MotorState observe(const MotorSeen &motor, const State &state, Network &network) {
    MotorState seen = any_motor(motor, state, network);
    if (seen.runs == Tri::off)
        seen.mode = Mode::stopped;
    return seen;
}

Tri observe(const LoadSeen &load, Network &network) {
    const Reading reading = network.between(load.a, load.b);
    if (reading.unknown)
        return Tri::maybe;
    const double ratio = reading.volts / load.rated_v;
    if (reading.ideal)
        return ratio >= load_off ? Tri::on : Tri::off;
    return ratio >= load_on ? Tri::on : ratio < load_off ? Tri::off : Tri::maybe;
}

MotorState observe_machine(const Compiled &circuit, std::uint32_t machine, const State &state, Network &network) {
    MotorState whole;
    for (const MotorSeen &motor : circuit.motors) {
        if (motor.machine != machine)
            continue;
        const MotorState one = observe(motor, state, network);
        if (one.runs == Tri::on && (whole.runs != Tri::on || whole.mode == Mode::single_phasing))
            whole = one;
        else if (one.runs == Tri::maybe && whole.runs == Tri::off)
            whole = one;
    }
    return whole;
}

StillFed still_fed(const Compiled &circuit, const MotorSeen &motor, const State &state, Network &network) {
    if (motor.kind == DeviceKind::drive) {
        const bool torque_off =
            motor.torque_off.first != none && !network.joined(motor.torque_off.first, motor.torque_off.second);
        const bool line_fed = different_potentials({motor.nets[0], motor.nets[1], motor.nets[2]}, network) >= 2;
        return line_fed && !torque_off ? StillFed::through_contactor : StillFed::no;
    }
    std::vector<std::uint8_t> contactor(circuit.variables.size(), 0);
    for (const Armature &armature : circuit.armatures)
        contactor[armature.variable] = 1;
    StillFed worst = StillFed::no;
    for (const std::uint32_t terminal : motor.nets) {
        if (!network.pole_potential(terminal) || !network.live(terminal))
            continue;
        // Is there a way to the pole that no contactor can open?
        std::vector<std::uint8_t> seen(circuit.net_count, 0);
        std::vector<std::uint32_t> queue{terminal};
        seen[terminal] = 1;
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (const Switch &contact : circuit.switches) {
                if (!contact.closed(state) || (contact.pole && contact.variable != none && contactor[contact.variable]))
                    continue;
                for (const auto &[from, to] : {std::pair{contact.a, contact.b}, {contact.b, contact.a}})
                    if (from == queue[k] && !seen[to]) {
                        seen[to] = 1;
                        queue.push_back(to);
                    }
            }
        bool unswitched = false;
        for (const Source &source : circuit.sources)
            for (const Source::Pole &pole : source.poles)
                unswitched |= seen[pole.net] != 0;
        if (!unswitched)
            return StillFed::through_contactor;
        worst = StillFed::unswitched;
    }
    return worst;
}

} // namespace stopspan
