#include "ratings/contactor.hpp"
#include "ratings/ground.hpp"

#include "installation/motor_current.hpp"
#include "installation/motor_tables.hpp"

#include <algorithm>
#include <numbers>

namespace stopspan::ratings {
namespace {

bool is_three_phase(DeviceKind kind) {
    return kind != DeviceKind::motor_1ph;
}

MotorData data_of(const Device &device) {
    return {.name = device.designation,
            .three_phase = is_three_phase(device.kind),
            .power_kw = device.number("power_kw"),
            .voltage_v = device.number("voltage_v"),
            .current_a = device.number("current_a"),
            .efficiency = device.number("efficiency"),
            .power_factor = device.number("power_factor")};
}

// Somebody declared a jog device for the machine.
std::set<std::string_view> jogged_machines(const Circuit &circuit) {
    std::set<std::string_view> found;
    for (const Device &device : circuit.devices())
        if (is_actuator(device.kind) && role_of(device) == Role::jog)
            found.insert(stopspan::machine_of(device));
    return found;
}

class MotorSizing {
public:
    MotorSizing(Ground &ground, std::uint32_t path)
        : ground_(ground), path_(path), device_(ground.motor_device(path)), sizes_(ground.motors[path]) {}

    void size() {
        std::optional<Size> rated = rated_current(data_of(device_));
        if (!rated) {
            ground_.unknown(device_.designation, device_.number("power_kw") ? "current_a" : "power_kw",
                            "all that carries its current cannot be sized");
            return;
        }
        sizes_.rated_a = rated->value;
        sizes_.typical =
            std::ranges::any_of(rated->inputs, [](const SizeInput &input) { return input.origin == Origin::table; });
        if (device_.kind == DeviceKind::drive)
            rated->remark = "Of the motor behind the drive, taken for the drive's input; its own plate goes first.";
        ground_.add(std::move(*rated));
        if (device_.number("capacitor_uf"))
            size_capacitor();
        if (device_.kind == DeviceKind::motor_2speed)
            size_slow();
        size_start();
    }

private:
    void size_capacitor() {
        const double volts = device_.number("voltage_v").value_or(230), hertz = frequency_hz(ground_.circuit);
        ground_.add({.subject = device_.designation,
                     .quantity = "capacitor current",
                     .value = 2 * std::numbers::pi * hertz * *device_.number("capacitor_uf") / 1e6 * volts,
                     .unit = "A",
                     .formula = "2 pi f C U",
                     .inputs = {from_device(device_, "capacitor_uf", "uF"),
                                {"f", hertz, "Hz", Origin::wired, "supply"},
                                {"U", volts, "V", Origin::plate, device_.designation}},
                     .source = "Ohm's law",
                     .remark = "At the voltage of the line; across a running capacitor it is higher. It is part of the "
                               "rated current."});
    }

    void size_slow() {
        MotorData slow = data_of(device_);
        const auto power = device_.number("slow_power_kw"), current = device_.number("slow_current_a");
        if (power || current) {
            slow.power_kw = power;
            slow.current_a = current;
            slow.efficiency = slow.power_factor = std::nullopt;
        }
        std::optional<Size> rated = rated_current(slow);
        if (!rated)
            return;
        if (!power && !current) {
            ground_.unknown(device_.designation, "slow_current_a",
                            "its slow speed is sized as if it took the current of the fast one");
            rated->inputs = {assumed("current of the slow speed", rated->value, "A", "as of the fast speed")};
            rated->formula = "I as of the fast speed";
            rated->source = common_practice;
        }
        rated->quantity = "rated current, slow";
        sizes_.slow_a = rated->value;
        ground_.add(std::move(*rated));
    }

    void size_start() {
        const MotorPath &path = ground_.paths[path_];
        sizes_.start = device_.kind == DeviceKind::drive ? Start::by_drive
                       : path.starts_in_star             ? Start::star_delta
                                                         : Start::direct;
        const auto ratio = device_.kind == DeviceKind::drive ? std::nullopt : device_.number("starting_current_ratio");
        const double usual = usual_start_ratio(sizes_.start);
        const double multiple = !ratio ? usual : *ratio * (sizes_.start == Start::star_delta ? star_share() : 1);
        Size start{.subject = device_.designation,
                   .quantity = "starting current",
                   .value = sizes_.rated_a * multiple,
                   .unit = "A",
                   .formula = sizes_.start == Start::star_delta && ratio ? "I start = k I / 3" : "I start = k I",
                   .inputs = {computed("rated current", sizes_.rated_a, "A", device_.designation)},
                   .source = std::string(ratio ? "rating plate" : three_phase_source)};
        if (ratio) {
            start.inputs.push_back(from_device(device_, "starting_current_ratio", ""));
        } else if (device_.kind == DeviceKind::drive) {
            start.inputs.push_back(assumed("k", usual, "", "a drive holds its input to the rated current"));
            start.source = common_practice;
        } else {
            start.inputs.push_back(
                assumed("k", usual, "", sizes_.start == Start::star_delta ? "in star a third of 6" : "started direct"));
            if (device_.kind == DeviceKind::motor_1ph)
                start.source = common_practice;
            ground_.unknown(device_.designation, "starting_current_ratio",
                            "its start is sized at " + amperes(start.value) + ", the handbook's multiple");
        }
        if (sizes_.start == Start::star_delta)
            start.remark = "In star; at the change to delta there is a short peak that is left out.";
        sizes_.start_a = start.value;
        ground_.add(std::move(start));

        const auto time_s = device_.kind == DeviceKind::drive ? std::nullopt : device_.number("starting_time_s");
        Size time{.subject = device_.designation,
                  .quantity = "starting time",
                  .value = time_s.value_or(usual_start_time_s(sizes_.start)),
                  .unit = "s",
                  .formula = "as given",
                  .source = std::string(time_s ? "given" : three_phase_source)};
        if (time_s) {
            time.inputs.push_back(from_device(device_, "starting_time_s", "s"));
        } else {
            if (device_.kind == DeviceKind::motor_1ph || device_.kind == DeviceKind::drive)
                time.source = common_practice;
            time.inputs.push_back(assumed("starting time", time.value, "s", "longest the handbook's fuses are for"));
            if (device_.kind != DeviceKind::drive)
                ground_.unknown(device_.designation, "starting_time_s",
                                "fuse and trip class are chosen for the longest start the handbook has");
        }
        sizes_.start_s = time.value;
        ground_.add(std::move(time));
    }

    Ground &ground_;
    std::uint32_t path_;
    const Device &device_;
    MotorSizes &sizes_;
};

} // namespace

void size_motors(Ground &ground) {
    const std::set<std::string_view> jogged = jogged_machines(ground.circuit);
    for (std::uint32_t path = 0; path < ground.paths.size(); ++path) {
        ground.motors[path].jogged = jogged.contains(ground.machine_of(path));
        MotorSizing(ground, path).size();
    }
}

} // namespace stopspan::ratings
