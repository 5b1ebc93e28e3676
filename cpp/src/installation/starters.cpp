#include "stopspan/description.hpp"

#include "base/number_text.hpp"
#include "installation/limits.hpp"
#include "installation/outline.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace stopspan {
namespace {

enum class Phases { one, three, any };

Phases phases_of(Starter starter) {
    switch (starter) {
    case Starter::one_phase_in_line:
    case Starter::one_phase_one_pole:
    case Starter::one_phase_two_pole:
        return Phases::one;
    case Starter::direct:
    case Starter::reversing:
    case Starter::star_delta:
    case Starter::two_speed:
        return Phases::three;
    case Starter::drive:    // fed by either, and it makes its own motor voltage
    case Starter::as_found: // the recorded circuit says
        break;
    }
    return Phases::any;
}

// A motor or coil fed this far from its rated voltage is a mistake in the description, not a tolerance.
bool is_near(double rated_v, double fed_v) {
    return rated_v >= 0.8 * fed_v && rated_v <= 1.2 * fed_v;
}

// What the plate says, in the ranges that devices of a circuit have.
void check_plate(const std::string &object, const Motor &motor) {
    struct Field {
        std::string_view name;
        std::optional<double> value;
        double minimum, maximum;
    };
    for (const Field &field : {Field{"current_a", motor.current_a, 0.01, 1e5},
                               {"efficiency", motor.efficiency, 0.05, 1},
                               {"power_factor", motor.power_factor, 0.05, 1},
                               {"starting_current_ratio", motor.starting_current_ratio, 1, 20},
                               {"starting_time_s", motor.starting_time_s, 0.01, 600},
                               {"capacitor_uf", motor.capacitor_uf, 0.1, 10000},
                               {"slow_power_kw", motor.slow_power_kw, 0.001, 1e5},
                               {"slow_current_a", motor.slow_current_a, 0.01, 1e5}})
        if (field.value)
            check_number(object, field.name, *field.value, field.minimum, field.maximum);
}

std::string volts(double value) {
    return format_fixed(value, 0) + " V";
}

} // namespace

void Description::check_starter(const Machine &machine, const std::string &object) const {
    const bool as_found = machine.starter == Starter::as_found;
    const std::string starter_word(to_text(machine.starter));
    if (machine.motors.empty() && !as_found)
        throw Error(ErrorCode::missing_value,
                    object + ": a " + starter_word + " starter needs a motor to start; give at least one motor");
    for (const Motor &motor : machine.motors) {
        const std::string motor_text = "motor " + motor.name + " of " + object;
        check_number(motor_text, "power_kw", motor.power_kw, 0.001, 1e5);
        check_number(motor_text, "voltage_v", motor.voltage_v, 10, 1000);
        check_plate(motor_text, motor);
    }
    static constexpr std::array<double, 5> control_voltages{24, 48, 110, 230, 400};
    check_number(object, "control_voltage_v", machine.control_voltage_v, 24, 400);
    if (std::find(control_voltages.begin(), control_voltages.end(), machine.control_voltage_v) ==
        control_voltages.end())
        throw Error(ErrorCode::bad_value, object + ": control_voltage_v is " +
                                              format_number(machine.control_voltage_v) +
                                              "; use 24, 48, 110, 230 or 400");
    if (machine.control == ControlSupply::dc_supply && machine.control_voltage_v > 110)
        throw Error(ErrorCode::contradiction, object + ": control is dc-supply but control_voltage_v is " +
                                                  format_number(machine.control_voltage_v) +
                                                  "; give the 24, 48 or 110 V that it puts out");
    check_number(object, "star_time_s", machine.star_time_s, 0, 3600);
    check_number(object, "stop_category", machine.stop_category, 0, 1);
    check_number(object, "stop_delay_s", machine.stop_delay_s, 0, 3600);
    for (const auto &[field, value] : {std::pair{"run_down_s", machine.run_down_s},
                                       std::pair{"run_down_without_supply_s", machine.run_down_without_supply_s}})
        if (value)
            check_number(object, field, *value, 0, 1e5);
    if (machine.cable_length_m)
        check_number(object, "cable_length_m", *machine.cable_length_m, 0, 1e5);
    if (machine.cable_grouping)
        check_number(object, "cable_grouping", *machine.cable_grouping, 1, 9);
    if (machine.ambient_c)
        check_number(object, "ambient_c", *machine.ambient_c, -40, 60);
    if (machine.days_per_year)
        check_number(object, "days_per_year", *machine.days_per_year, 1, 366);
    if (machine.hours_per_day)
        check_number(object, "hours_per_day", *machine.hours_per_day, 0.01, 24);
    if (machine.cycle_time_s)
        check_number(object, "cycle_time_s", *machine.cycle_time_s, 0.01, 1e8);
    if (machine.stop_category == 1 && machine.starter != Starter::drive && !as_found)
        throw Error(ErrorCode::contradiction, object + ": a " + starter_word +
                                                  " starter cannot brake before power is taken off; give "
                                                  "stop_category 0, or starter drive");
    if (machine.stop_category == 0 && machine.stop_delay_s > 0)
        throw Error(ErrorCode::contradiction, object + ": stop_delay_s is " + format_number(machine.stop_delay_s) +
                                                  " but stop category 0 takes power off at once; leave the delay "
                                                  "away, or give stop_category 1");

    const std::optional<BoardId> board = board_of(machine);
    if (!board || as_found)
        return; // without a board nothing is seen here; wiring the machine asks for one
    const Supply &feed = supplies_[supply_of(*board).value];
    const bool three_phase = feed.kind == DeviceKind::mains_3ph;
    const Phases phases = phases_of(machine.starter);
    const double line_to_line_v = feed.voltage_v * std::numbers::sqrt3;
    const std::string from = " (board " + boards_[board->value].name + ", supply " + feed.name + ")";
    if (phases == Phases::three && !three_phase)
        throw Error(ErrorCode::contradiction, object + ": a " + starter_word +
                                                  " starter needs three phases but its feed has one" + from +
                                                  "; name a board with three phases, or a one-phase starter");
    const double motor_feed_v = phases == Phases::one ? feed.voltage_v : line_to_line_v;
    if (phases != Phases::any)
        for (const Motor &motor : machine.motors)
            if (!is_near(motor.voltage_v, motor_feed_v))
                throw Error(ErrorCode::contradiction, object + ": motor " + motor.name + " is rated " +
                                                          volts(motor.voltage_v) + " but a " + starter_word +
                                                          " starter here gives it " + volts(motor_feed_v) + from +
                                                          "; correct voltage_v of the motor, the starter or the board");
    const bool control_fits = is_near(machine.control_voltage_v, feed.voltage_v) ||
                              (three_phase && is_near(machine.control_voltage_v, line_to_line_v));
    if (machine.control == ControlSupply::same_supply && !control_fits)
        throw Error(ErrorCode::contradiction,
                    object + ": its feed has no " + volts(machine.control_voltage_v) + " for control" + from +
                        "; give control transformer or dc-supply, or the control voltage its feed has");
}

void Description::check_inside(const std::string &object, AreaId id, Position at) const {
    const Area &area = areas_[id.value];
    if (is_inside(area.outline, at))
        return;
    for (const Area &other : areas_)
        if (is_inside(other.outline, at))
            throw Error(ErrorCode::contradiction, object + ": it is said to be in area " + area.name + " but " +
                                                      describe(at) + " is in area " + other.name +
                                                      "; name that area, or correct the place");
    throw Error(ErrorCode::contradiction, object + ": " + describe(at) +
                                              " is outside every area; correct the place, or the outline of area " +
                                              area.name);
}

// Of the area and of those it lies in.
void Description::check_accessible(const std::string &object, AreaId id, Position at) const {
    for (std::optional<AreaId> here = id; here; here = areas_[here->value].within)
        for (const Obstacle &obstacle : areas_[here->value].obstacles)
            if (is_well_inside(obstacle.outline, at))
                throw Error(ErrorCode::contradiction, object + ": " + describe(at) + " is inside obstacle " +
                                                          obstacle.name + " of area " + areas_[here->value].name +
                                                          "; give the place where people stand before it, or "
                                                          "correct the outline");
}

} // namespace stopspan
