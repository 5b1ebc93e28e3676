#include "stopspan/error.hpp"
#include "wiring/rung.hpp"

#include "installation/motor_current.hpp"

namespace stopspan::wiring {

void wire_star_delta(Bench &bench) {
    if (bench.machine.motors.size() > 1)
        throw Error(ErrorCode::contradiction, bench.names.owner() +
                                                  ": a star-delta starter switches the windings of one motor; make "
                                                  "each motor a machine of its own");
    Draft &draft = bench.site.draft;
    const Motor &motor = bench.machine.motors.front();
    const std::string &m = motor.name;
    const std::vector<std::string> load = nets(bench, {"load1", "load2", "load3"});
    std::vector<std::string> starts = nets(bench, {m + ".U1", m + ".V1", m + ".W1"});
    const std::vector<std::string> ends = nets(bench, {m + ".U2", m + ".V2", m + ".W2"});
    const std::string star_point = bench.names.net("star");
    const std::string overload = add_overload(bench, load, starts, usual_current_a(motor, true));
    draft.add(
        bench.names.owner(), m, DeviceKind::motor_6lead,
        {{"U1", starts[0]}, {"V1", starts[1]}, {"W1", starts[2]}, {"U2", ends[0]}, {"V2", ends[1]}, {"W2", ends[2]}},
        motor_parameters(bench, motor));
    const Rung rung = control_of(bench);
    const std::string ready = through_stops(bench, through_trips(bench, rung.line, {overload}));
    const auto next = [&] { return bench.names.next_net(); };
    const std::string held = next(), to_star = next(), star_coil = next(), to_delta = next(), delta_coil = next();
    const std::string line = add_armature(bench, DeviceKind::contactor, held, rung);
    const std::string star = add_armature(bench, DeviceKind::contactor, star_coil, rung);
    const std::string delta = add_armature(bench, DeviceKind::contactor, delta_coil, rung);
    const std::string timer = add_armature(bench, DeviceKind::timer, held, rung,
                                           {{"delay_s", bench.machine.star_time_s}, {"delay", std::string("on")}});
    start_button(bench, ready, held, line);
    draft.connect(timer, "15", held);
    draft.connect(timer, "16", to_star);
    draft.connect(timer, "17", held);
    draft.connect(timer, "18", to_delta);
    draft.contact(delta, ContactSense::break_, to_star, star_coil);
    draft.contact(star, ContactSense::break_, to_delta, delta_coil);
    poles(draft, line, bench.power.lines, load);
    poles(draft, star, ends, {star_point, star_point, star_point});
    poles(draft, delta, starts, {ends[2], ends[0], ends[1]});
    if (bench.machine.mechanical_interlock) {
        draft.set_missing(star, "interlocked_with", delta);
        draft.set_missing(delta, "interlocked_with", star);
    }
}

} // namespace stopspan::wiring
