#pragma once

#include "stopspan/description.hpp"

#include <optional>

namespace stopspan {

/// P / (sqrt3 U eta cos phi), A; one-phase without sqrt3.
double current_from_power_a(bool three_phase, double power_kw, double voltage_v, double efficiency,
                            double power_factor);
/// Of a typical four-pole motor, A; nothing outside 0.06 to 200 kW.
std::optional<double> table_current_three_phase_a(double power_kw, double voltage_v);
/// Of a typical one-phase motor, A; nothing outside 0.1 to 5.5 kW.
std::optional<double> table_current_one_phase_a(double power_kw, double voltage_v);
/// As on the plate, else from its efficiency and power factor, else of a typical motor; outside the tables with
/// efficiency times power factor 0.65, assumed.
double usual_current_a(const Motor &motor, bool three_phase);
/// The slow winding of a motor of two speeds as a motor of its own; what is not said of it is as of the fast one.
Motor slow_speed_of(Motor motor);

} // namespace stopspan
