#pragma once

#include "stopspan/sizes.hpp"

namespace stopspan::ratings {

/// What is known of a motor.
struct MotorData {
    std::string name; ///< for the inputs
    bool three_phase = true;
    std::optional<double> power_kw{}, voltage_v{}, current_a{}, efficiency{}, power_factor{};
};

/// Rated current: from the plate, else P / (sqrt3 U eta cos phi) (one-phase without sqrt3) from the plate's efficiency
/// and power factor, else from the table of typical motors. Between two rows it is interpolated by power, at other
/// voltages it goes with 1/U; both are said in the inputs.
/// @returns nothing when power and current are unknown, or the power lies outside the table
std::optional<Size> rated_current(const MotorData &motor);
/// Power factor of a typical motor: three-phase by the table, one-phase from 0.8 (assumed).
double typical_power_factor(bool three_phase, double power_kw);

/// How a motor is started, for the current it takes meanwhile.
enum class Start { direct, star_delta, by_drive };
/// Starting current over rated current where the plate does not say: 6 direct, a third of it in star; a drive holds its
/// input to the rated current. The handbook's figures for its fuses.
double usual_start_ratio(Start start);
double usual_start_time_s(Start start);

} // namespace stopspan::ratings
