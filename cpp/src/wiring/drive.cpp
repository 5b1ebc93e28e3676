#include "wiring/rung.hpp"

namespace stopspan::wiring {

// Category 0: one contactor, held by itself, feeds the drive and makes its run input. Category 1: a relay makes the run
// input, and an off-delay timer beside it keeps the contactor until the drive has braked.
void wire_drive(Bench &bench) {
    Draft &draft = bench.site.draft;
    const bool brakes = bench.machine.stop_category == 1;
    const bool three = bench.power.three_phase();
    const std::vector<std::string> load =
        three ? nets(bench, {"load1", "load2", "load3"}) : nets(bench, {"load1", "load2"});
    const std::vector<std::string> feed =
        three ? bench.power.lines : std::vector{bench.power.lines[0], bench.power.neutral};
    const Rung rung = control_of(bench);
    const std::string ready = through_stops(bench, rung.line);
    const std::string held = bench.names.next_net();
    const std::string supply_coil = brakes ? bench.names.next_net() : held;
    const std::string contactor = add_armature(bench, DeviceKind::contactor, supply_coil, rung);
    poles(draft, contactor, feed, load);
    std::string runs = contactor;
    if (brakes) {
        runs = add_armature(bench, DeviceKind::relay, held, rung);
        const std::string timer =
            add_armature(bench, DeviceKind::timer, held, rung,
                         {{"delay_s", bench.machine.stop_delay_s}, {"delay", std::string("off")}});
        draft.connect(timer, "17", rung.line);
        draft.connect(timer, "18", supply_coil);
    }
    start_button(bench, ready, held, brakes ? "" : runs);
    if (brakes) { // the contactor alone dropping in a dip must end the run command too
        const std::string half = bench.names.next_net();
        draft.contact(runs, ContactSense::make, ready, half);
        draft.contact(contactor, ContactSense::make, half, held);
    }
    for (const Motor &motor : bench.machine.motors) {
        const std::vector<std::string> run = nets(bench, {motor.name + ".RUN1", motor.name + ".RUN2"});
        draft.add(bench.names.owner(), motor.name, DeviceKind::drive,
                  {{"R", load[0]}, {"S", load[1]}, {"T", load.back()}, {"RUN1", run[0]}, {"RUN2", run[1]}},
                  motor_parameters(bench, motor));
        draft.contact(runs, ContactSense::make, run[0], run[1]);
    }
}

} // namespace stopspan::wiring
