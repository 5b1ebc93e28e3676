#include "installation/motor_current.hpp"

#include "installation/motor_tables.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace stopspan {
namespace {

// `value` of a row at a power between two rows, in a straight line; nothing outside the table.
template <class Rows, class Value>
std::optional<double> interpolated(const Rows &rows, double power_kw, const Value &value) {
    const auto above =
        std::find_if(rows.begin(), rows.end(), [&](const auto &row) { return row.power_kw >= power_kw; });
    if (above == rows.end() || (above == rows.begin() && above->power_kw > power_kw))
        return std::nullopt;
    if (above->power_kw == power_kw)
        return value(*above);
    const auto &below = *(above - 1);
    const double share = (power_kw - below.power_kw) / (above->power_kw - below.power_kw);
    return value(below) + share * (value(*above) - value(below));
}

} // namespace

double current_from_power_a(bool three_phase, double power_kw, double voltage_v, double efficiency,
                            double power_factor) {
    return power_kw * 1000 / ((three_phase ? std::numbers::sqrt3 : 1) * voltage_v * efficiency * power_factor);
}

std::optional<double> table_current_three_phase_a(double power_kw, double voltage_v) {
    struct Column {
        double voltage_v;
        double ThreePhaseMotorRow::*current_a;
    };
    static constexpr std::array<Column, 4> columns{{{230, &ThreePhaseMotorRow::current_230v_a},
                                                    {400, &ThreePhaseMotorRow::current_400v_a},
                                                    {500, &ThreePhaseMotorRow::current_500v_a},
                                                    {690, &ThreePhaseMotorRow::current_690v_a}}};
    const Column &nearest = *std::ranges::min_element(
        columns, {}, [&](const Column &each) { return std::abs(std::log(each.voltage_v / voltage_v)); });
    const auto current_a = interpolated(three_phase_motors, power_kw,
                                        [&](const ThreePhaseMotorRow &row) { return row.*nearest.current_a; });
    return current_a ? std::optional(*current_a * nearest.voltage_v / voltage_v) : std::nullopt;
}

std::optional<double> table_current_one_phase_a(double power_kw, double voltage_v) {
    const auto volt_amperes = interpolated(one_phase_motors, power_kw,
                                           [](const OnePhaseMotorRow &row) { return row.current_a * row.voltage_v; });
    return volt_amperes ? std::optional(*volt_amperes / voltage_v) : std::nullopt;
}

double usual_current_a(const Motor &motor, bool three_phase) {
    // Efficiency times power factor of a motor smaller or larger than the tables know.
    constexpr double typical_yield = 0.65;
    if (motor.current_a)
        return *motor.current_a;
    if (motor.efficiency && motor.power_factor)
        return current_from_power_a(three_phase, motor.power_kw, motor.voltage_v, *motor.efficiency,
                                    *motor.power_factor);
    const auto of_table = three_phase ? table_current_three_phase_a(motor.power_kw, motor.voltage_v)
                                      : table_current_one_phase_a(motor.power_kw, motor.voltage_v);
    return of_table.value_or(current_from_power_a(three_phase, motor.power_kw, motor.voltage_v, typical_yield, 1));
}

Motor slow_speed_of(Motor motor) {
    if (motor.slow_power_kw || motor.slow_current_a) {
        motor.power_kw = motor.slow_power_kw.value_or(motor.power_kw);
        motor.current_a = motor.slow_current_a;
        motor.efficiency = motor.power_factor = std::nullopt; // of the fast one
    }
    return motor;
}

} // namespace stopspan
