#include "ratings/motor_current.hpp"

#include "installation/motor_current.hpp"
#include "installation/motor_tables.hpp"

#include <algorithm>

namespace stopspan::ratings {
double typical_power_factor(bool three_phase, double power_kw) {
    if (!three_phase)
        return 0.8;
    for (const ThreePhaseMotorRow &row : three_phase_motors)
        if (power_kw <= row.power_kw)
            return row.power_factor;
    return three_phase_motors.back().power_factor;
}

double usual_start_ratio(Start start) {
    switch (start) {
    case Start::star_delta:
        return 2;
    case Start::by_drive:
        return 1;
    case Start::direct:
        break;
    }
    return 6;
}

double usual_start_time_s(Start start) {
    return start == Start::star_delta ? 15 : 5;
}

namespace {

template <class Rows>
bool is_row(const Rows &rows, double power_kw) {
    return std::ranges::any_of(rows, [&](const auto &row) { return row.power_kw == power_kw; });
}

} // namespace

std::optional<Size> rated_current(const MotorData &motor) {
    Size size{.subject = motor.name, .quantity = "rated current", .unit = "A"};
    const auto plate = [&](std::string_view field, double value, std::string_view unit) {
        size.inputs.push_back({std::string(field), value, std::string(unit), Origin::plate, motor.name});
    };
    if (motor.current_a) {
        size.value = *motor.current_a;
        size.formula = "I as on the plate";
        plate("current_a", *motor.current_a, "A");
        size.source = "rating plate";
        return size;
    }
    if (!motor.power_kw)
        return std::nullopt;
    const double voltage_v = motor.voltage_v.value_or(motor.three_phase ? 400 : 230);
    plate("power_kw", *motor.power_kw, "kW");
    if (motor.voltage_v)
        plate("voltage_v", voltage_v, "V");
    else
        size.inputs.push_back({"voltage_v", voltage_v, "V", Origin::assumed, "usual"});
    if (motor.efficiency && motor.power_factor) {
        size.value =
            current_from_power_a(motor.three_phase, *motor.power_kw, voltage_v, *motor.efficiency, *motor.power_factor);
        size.formula = motor.three_phase ? "I = P / (sqrt3 U eta cos phi)" : "I = P / (U eta cos phi)";
        plate("efficiency", *motor.efficiency, "");
        plate("power_factor", *motor.power_factor, "");
        size.source = "power balance, from the rating plate";
        return size;
    }
    const auto current_a = motor.three_phase ? table_current_three_phase_a(*motor.power_kw, voltage_v)
                                             : table_current_one_phase_a(*motor.power_kw, voltage_v);
    if (!current_a)
        return std::nullopt;
    const bool row =
        motor.three_phase ? is_row(three_phase_motors, *motor.power_kw) : is_row(one_phase_motors, *motor.power_kw);
    size.value = *current_a;
    size.formula = row ? "I of the table's row, at other voltages as 1/U"
                       : "I between the table's rows by power, at other voltages as 1/U";
    size.source = motor.three_phase ? three_phase_source : one_phase_source;
    size.inputs.push_back({"table current", *current_a, "A", Origin::table, size.source});
    return size;
}

} // namespace stopspan::ratings
