#include "base/number_text.hpp"
#include "installation/motor_current.hpp"
#include "stopspan/error.hpp"
#include "wiring/rung.hpp"

namespace stopspan::wiring {
namespace {

constexpr double button_rating_a = 10; // usual contact blocks of start buttons

// Motors behind one line and neutral, each with its overload.
std::vector<std::string> add_motors(Bench &bench, const std::string &line, const std::string &neutral) {
    std::vector<std::string> overloads;
    for (const Motor &motor : bench.machine.motors) {
        std::vector<std::string> out = nets(bench, {motor.name + ".L"});
        overloads.push_back(add_overload(bench, {line}, out, usual_current_a(motor, false)));
        bench.site.draft.add(bench.names.owner(), motor.name, DeviceKind::motor_1ph, {{"L", out[0]}, {"N", neutral}},
                             motor_parameters(bench, motor));
    }
    return overloads;
}

} // namespace

// The stops stand in the line ahead of button and pole: in the coil's branch alone, a button held would run the motor
// past them.
void wire_in_line(Bench &bench) {
    double current_a = 0;
    for (const Motor &motor : bench.machine.motors)
        current_a += usual_current_a(motor, false);
    if (current_a > button_rating_a)
        throw Error(ErrorCode::contradiction,
                    bench.names.owner() + ": its motors take about " + format_fixed(current_a, 1) +
                        " A and a start button in line carries " + format_fixed(button_rating_a, 0) +
                        " A; give starter one-phase-one-pole or one-phase-two-pole");
    const std::string ahead = through_stops(bench, bench.power.lines[0]);
    const std::string load = bench.names.net("load");
    const std::vector<std::string> overloads = add_motors(bench, load, bench.power.neutral);
    const Rung rung = control_of(bench, load, bench.power.neutral);
    const std::string held = through_trips(bench, rung.line, overloads);
    const std::string contactor = add_armature(bench, DeviceKind::contactor, held, rung);
    poles(bench.site.draft, contactor, {ahead}, {load});
    start_button(bench, ahead, load, "", button_rating_a);
}

void wire_one_phase(Bench &bench) {
    const bool both = bench.machine.starter == Starter::one_phase_two_pole;
    const Feed &power = bench.power;
    const std::string load = bench.names.net("load");
    const std::string neutral = both ? bench.names.net("loadN") : power.neutral;
    const std::vector<std::string> overloads = add_motors(bench, load, neutral);
    const Rung rung = control_of(bench);
    const std::string ready = through_stops(bench, through_trips(bench, rung.line, overloads));
    const std::string held = bench.names.next_net();
    const std::string contactor = add_armature(bench, DeviceKind::contactor, held, rung);
    if (both)
        poles(bench.site.draft, contactor, {power.lines[0], power.neutral}, {load, neutral});
    else
        poles(bench.site.draft, contactor, {power.lines[0]}, {load});
    start_button(bench, ready, held, contactor);
}

} // namespace stopspan::wiring
