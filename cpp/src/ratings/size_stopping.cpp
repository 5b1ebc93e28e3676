#include "base/number_text.hpp"
#include "ratings/ground.hpp"
#include "ratings/stopping.hpp"

#include <algorithm>

namespace stopspan::ratings {
namespace {

constexpr double reaction_s = 0.1; // of a contactor or drive from the stop contact to power off, assumed

void size_machine(Ground &ground, const Machine &machine) {
    if (!machine.run_down_s) {
        ground.unknown(machine.name, "run_down_s", "its stopping time and distances");
        return;
    }
    const SizeInput run_down{"run_down_s", *machine.run_down_s, "s", Origin::plan, machine.name};
    const SizeInput reaction = assumed("reaction", reaction_s, "s", "contactor or drive");
    if (machine.stop_category == 1) {
        Size delay{.subject = machine.name,
                   .quantity = "delay of the category 1 stop",
                   .value = category_1_delay_s(*machine.run_down_s),
                   .unit = "s",
                   .formula = "1.2 x run-down",
                   .inputs = {run_down, assumed("margin", 1.2, "", "load and wear")},
                   .source = "IEC 60204-1:2016 9.2.2 (category 1); margin: common practice, no source"};
        delay.as_wired = machine.stop_delay_s;
        delay.fit = machine.stop_delay_s >= *machine.run_down_s ? Fit::fits : Fit::does_not_fit;
        if (delay.fit == Fit::does_not_fit)
            delay.remark = "Power goes before it stands: the rest of the way it runs down without its brake.";
        ground.add(std::move(delay));
    }
    const double time_s = reaction_s + *machine.run_down_s;
    ground.add({.subject = machine.name,
                .quantity = "stopping time",
                .value = time_s,
                .unit = "s",
                .formula = "reaction + run-down",
                .inputs = {reaction, run_down},
                .source = "ISO 13855 (T of the whole chain)"});
    for (const StopDevice &stop : ground.description.stops()) {
        const bool guards = stop.kind == DeviceKind::guard_switch, floor = stop.kind == DeviceKind::floor_bar;
        if (!stop.machine || ground.description[*stop.machine].name != machine.name || (!guards && !floor))
            continue;
        const double height_mm = stop.height_m.value_or(0) * 1000;
        Size distance{.subject = stop.name,
                      .quantity = "least distance from what moves",
                      .value = (guards ? guard_distance_mm(time_s) : floor_distance_mm(time_s, height_mm)) / 1000,
                      .unit = "m",
                      .formula = guards ? "1600 T, at least 100 mm" : "1600 T + (1200 - 0.4 H, at least 850 mm)",
                      .inputs = {computed("T", time_s, "s", machine.name)},
                      .source = "ISO 13855:2010 (from memory)"};
        if (floor)
            distance.inputs.push_back(
                {"height_m", height_mm / 1000, "m", stop.height_m ? Origin::plan : Origin::assumed, stop.name});
        distance.remark =
            "For what is reached or walked up to while it still runs; an emergency stop has no such distance.";
        ground.add(std::move(distance));
    }
}

} // namespace

void size_stopping(Ground &ground) {
    for (const Machine &machine : ground.description.machines())
        size_machine(ground, machine);
}

} // namespace stopspan::ratings
