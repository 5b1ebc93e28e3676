#include "switching/cone.hpp"

#include <algorithm>
#include <tuple>

// What two cones have in common that does the same. Every field is named, so that a new one must be thought of here.

namespace stopspan {
namespace {

auto what_counts(const Variable &one) {
    const auto &[kind, device] = one;
    return std::tie(kind);
}

auto what_counts(const ActorInfo &one) {
    const auto &[designation, action, role, changes_over, early_make, automatic] = one;
    return std::tie(action, role, changes_over, early_make, automatic);
}

auto what_counts(const Switch &one) {
    const auto &[a, b, variable, closed_at, pole, device, terminal] = one;
    return std::tie(a, b, variable, closed_at, pole);
}

auto what_counts(const Impedance &one) {
    const auto &[a, b, ac_out, ac_in, dc, armature, unknown_coil, device] = one;
    return std::tie(a, b, ac_out, ac_in, dc, armature, unknown_coil);
}

auto what_counts(const Armature &one) {
    const auto &[kind, device, variable, timed, off_delay, dc_coil, rated_v, a1, a2, e1, e2, interlocked, unknown_coil,
                 memory, automatic, inputs, input_missing, channels_in, reset, feedback] = one;
    return std::tie(kind, variable, timed, off_delay, dc_coil, rated_v, a1, a2, e1, e2, interlocked, unknown_coil,
                    memory, automatic, inputs, input_missing, channels_in, reset, feedback);
}

auto what_counts(const Source::Pole &one) {
    const auto &[net, volts, name] = one;
    return std::tie(net, volts.ac, volts.dc);
}

auto what_counts(const MotorSeen::Winding &one) {
    const auto &[a, b, rated_v] = one;
    return std::tie(a, b, rated_v);
}

auto what_counts(const FaultSeen &one) {
    const auto &[variable, frozen, comes_and_goes] = one;
    return std::tie(variable, frozen, comes_and_goes);
}

template <class Things>
bool alike(const Things &these, const Things &those) {
    return std::ranges::equal(these, those,
                              [](const auto &a, const auto &b) { return what_counts(a) == what_counts(b); });
}

bool alike(const Source &one, const Source &other) {
    const auto count = [](const Source &source) {
        const auto &[device, variable, poles, earthed, feed, feed_a, feed_b, primary_v, feed_part, short_circuit_a] =
            source;
        return std::tie(variable, earthed, feed, feed_a, feed_b, primary_v, feed_part, short_circuit_a);
    };
    return count(one) == count(other) && alike(one.poles, other.poles);
}

bool alike(const MotorSeen &one, const MotorSeen &other) {
    const auto count = [](const MotorSeen &motor) {
        const auto &[kind, device, machine, rated_v, nets, windings, slow_joined, waits, memory, run, torque_off] =
            motor;
        return std::tie(kind, rated_v, nets, slow_joined, waits, memory, run, torque_off);
    };
    return count(one) == count(other) && alike(one.windings, other.windings);
}

} // namespace

bool same_but_for_names(const Cone &one, const Cone &other) {
    const auto &[net_count, earth, net_names, device_names, variables, switches, impedances, armatures, sources, motors,
                 loads, machines, variable_of, fuse_rating_a, unknown_links, faults, cut_out] = one.circuit;
    const Compiled &there = other.circuit;
    const auto each = [](const auto &a, const auto &b) { return alike(a, b); };
    return net_count == there.net_count && earth == there.earth && cut_out == there.cut_out &&
           alike(variables, there.variables) && alike(switches, there.switches) &&
           alike(impedances, there.impedances) && alike(armatures, there.armatures) &&
           std::ranges::equal(sources, there.sources, each) && std::ranges::equal(motors, there.motors, each) &&
           fuse_rating_a == there.fuse_rating_a && unknown_links == there.unknown_links &&
           alike(faults, there.faults) && alike(one.actors, other.actors) && one.held == other.held;
}

} // namespace stopspan
