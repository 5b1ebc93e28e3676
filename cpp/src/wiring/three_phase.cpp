#include "wiring/rung.hpp"

#include "installation/motor_current.hpp"

namespace stopspan::wiring {
namespace {

// Overload and three-phase motor each, in parallel behind the same lines.
std::vector<std::string> add_motors(Bench &bench, const std::vector<std::string> &lines) {
    std::vector<std::string> overloads;
    for (const Motor &motor : bench.machine.motors) {
        std::vector<std::string> out = nets(bench, {motor.name + ".U", motor.name + ".V", motor.name + ".W"});
        overloads.push_back(add_overload(bench, lines, out, usual_current_a(motor, true)));
        bench.site.draft.add(bench.names.owner(), motor.name, DeviceKind::motor_3ph,
                             {{"U", out[0]}, {"V", out[1]}, {"W", out[2]}}, motor_parameters(bench, motor));
    }
    return overloads;
}

// Two windings, each behind its own contactor and overload.
std::vector<std::string> add_two_speed_motors(Bench &bench, const std::vector<std::string> &slow,
                                              const std::vector<std::string> &fast) {
    std::vector<std::string> overloads;
    for (const Motor &motor : bench.machine.motors) {
        const std::string &m = motor.name;
        std::vector<std::string> slow_out = nets(bench, {m + ".U1", m + ".V1", m + ".W1"});
        std::vector<std::string> fast_out = nets(bench, {m + ".U2", m + ".V2", m + ".W2"});
        overloads.push_back(add_overload(bench, slow, slow_out, usual_current_a(slow_speed_of(motor), true)));
        overloads.push_back(add_overload(bench, fast, fast_out, usual_current_a(motor, true)));
        Parameters parameters = motor_parameters(bench, motor);
        parameters.emplace("slow_ends", std::string("apart"));
        bench.site.draft.add(bench.names.owner(), m, DeviceKind::motor_2speed,
                             {{"U1", slow_out[0]},
                              {"V1", slow_out[1]},
                              {"W1", slow_out[2]},
                              {"U2", fast_out[0]},
                              {"V2", fast_out[1]},
                              {"W2", fast_out[2]}},
                             parameters);
    }
    return overloads;
}

} // namespace

void wire_direct(Bench &bench) {
    const std::vector<std::string> load = nets(bench, {"load1", "load2", "load3"});
    const std::vector<std::string> overloads = add_motors(bench, load);
    const Rung rung = control_of(bench);
    const std::string ready = through_stops(bench, through_trips(bench, rung.line, overloads));
    const std::string held = bench.names.next_net();
    const std::string contactor = add_armature(bench, DeviceKind::contactor, held, rung);
    poles(bench.site.draft, contactor, bench.power.lines, load);
    start_button(bench, ready, held, contactor);
}

// Two contactors, each with its start button and holding contact, each coil through a break contact of the other and of
// the other's button: with both buttons held when power returns, neither comes in.
void wire_change_over(Bench &bench) {
    Draft &draft = bench.site.draft;
    const bool reversing = bench.machine.starter == Starter::reversing;
    const std::vector<std::string> one = nets(bench, {"load1", "load2", "load3"});
    const std::vector<std::string> other =
        reversing ? std::vector{one[2], one[1], one[0]} : nets(bench, {"fast1", "fast2", "fast3"});
    const std::vector<std::string> overloads =
        reversing ? add_motors(bench, one) : add_two_speed_motors(bench, one, other);
    const Rung rung = control_of(bench);
    const std::string ready = through_stops(bench, through_trips(bench, rung.line, overloads));
    const auto next = [&] { return bench.names.next_net(); };
    const std::string held_one = next(), past_other_button = next(), coil_one = next();
    const std::string held_other = next(), past_one_button = next(), coil_other = next();
    const std::string first = add_armature(bench, DeviceKind::contactor, coil_one, rung);
    const std::string second = add_armature(bench, DeviceKind::contactor, coil_other, rung);
    poles(draft, first, bench.power.lines, one);
    poles(draft, second, bench.power.lines, other);
    const std::string start_one = start_button(bench, ready, held_one, first);
    const std::string start_other = start_button(bench, ready, held_other, second);
    draft.contact(start_other, ContactSense::break_, held_one, past_other_button);
    draft.contact(second, ContactSense::break_, past_other_button, coil_one);
    draft.contact(start_one, ContactSense::break_, held_other, past_one_button);
    draft.contact(first, ContactSense::break_, past_one_button, coil_other);
    if (bench.machine.mechanical_interlock) {
        draft.set_missing(first, "interlocked_with", second);
        draft.set_missing(second, "interlocked_with", first);
    }
}

} // namespace stopspan::wiring
