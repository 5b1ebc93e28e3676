#pragma once

#include <array>
#include <string_view>

namespace stopspan {

/// A cage motor of four poles at 50 Hz, typical: what it takes, and the gG fuses ahead of it. 0: not printed.
struct ThreePhaseMotorRow {
    double power_kw, power_factor, efficiency;
    double current_230v_a, current_400v_a, current_500v_a, current_690v_a;
    double fuse_230v_direct_a, fuse_230v_star_delta_a, fuse_400v_direct_a, fuse_400v_star_delta_a;
};
/// "Rated currents of three-phase motors", a switchgear maker's handbook; 230 and 400 V columns also in the EN 60947
/// appendix of another maker, page 21. Its fuses: started direct at 6 times the rated current for up to 5 s, star-delta
/// at twice for up to 15 s.
inline constexpr std::string_view three_phase_source = "handbook table of rated currents of four-pole motors, 50 Hz";
inline constexpr std::array<ThreePhaseMotorRow, 29> three_phase_motors{{
    {0.06, 0.7, 0.58, 0.37, 0.21, 0.17, 0.12, 2, 0, 2, 0},
    {0.09, 0.7, 0.6, 0.54, 0.31, 0.25, 0.18, 2, 0, 2, 0},
    {0.12, 0.7, 0.6, 0.72, 0.41, 0.33, 0.24, 4, 2, 2, 0},
    {0.18, 0.7, 0.62, 1.04, 0.6, 0.48, 0.35, 4, 2, 2, 0},
    {0.25, 0.7, 0.62, 1.4, 0.8, 0.7, 0.5, 4, 2, 4, 2},
    {0.37, 0.72, 0.66, 2, 1.1, 0.9, 0.7, 6, 4, 4, 2},
    {0.55, 0.75, 0.69, 2.7, 1.5, 1.2, 0.9, 10, 4, 4, 2},
    {0.75, 0.79, 0.74, 3.2, 1.9, 1.5, 1.1, 10, 4, 6, 4},
    {1.1, 0.81, 0.74, 4.6, 2.6, 2.1, 1.5, 10, 6, 6, 4},
    {1.5, 0.81, 0.74, 6.3, 3.6, 2.9, 2.1, 16, 10, 6, 4},
    {2.2, 0.81, 0.78, 8.7, 5, 4, 2.9, 20, 10, 10, 6},
    {3, 0.82, 0.8, 11.5, 6.6, 5.3, 3.8, 25, 16, 16, 10},
    {4, 0.82, 0.83, 14.8, 8.5, 6.8, 4.9, 32, 16, 20, 10},
    {5.5, 0.82, 0.86, 19.6, 11.3, 9, 6.5, 32, 25, 25, 16},
    {7.5, 0.82, 0.87, 26.4, 15.2, 12.1, 8.8, 50, 32, 32, 16},
    {11, 0.84, 0.87, 38, 21.7, 17.4, 12.6, 80, 40, 40, 25},
    {15, 0.84, 0.88, 51, 29.3, 23.4, 17, 100, 63, 63, 32},
    {18.5, 0.84, 0.88, 63, 36, 28.9, 20.9, 125, 80, 63, 40},
    {22, 0.84, 0.92, 71, 41, 33, 23.8, 125, 80, 80, 50},
    {30, 0.85, 0.92, 96, 55, 44, 32, 200, 100, 100, 63},
    {37, 0.86, 0.92, 117, 68, 54, 39, 200, 125, 125, 80},
    {45, 0.86, 0.93, 141, 81, 65, 47, 250, 160, 160, 100},
    {55, 0.86, 0.93, 173, 99, 79, 58, 250, 200, 200, 125},
    {75, 0.86, 0.94, 233, 134, 107, 78, 315, 250, 200, 160},
    {90, 0.86, 0.94, 279, 161, 129, 93, 400, 315, 250, 200},
    {110, 0.86, 0.94, 342, 196, 157, 114, 500, 400, 315, 200},
    {132, 0.87, 0.95, 401, 231, 184, 134, 630, 500, 400, 250},
    {160, 0.87, 0.95, 486, 279, 224, 162, 630, 630, 400, 315},
    {200, 0.87, 0.95, 607, 349, 279, 202, 800, 630, 500, 400},
}};

/// A one-phase motor at 50 Hz, typical; single motors are up to 15 % off.
struct OnePhaseMotorRow {
    double power_kw, current_a, voltage_v;
};
/// From 0.37 kW the 240 V column of a public note "Useful motor technical information", below the 220 V column of
/// another on full-load currents.
inline constexpr std::string_view one_phase_source = "public tables of one-phase motor currents, 50 Hz, +/- 15 %";
inline constexpr std::array<OnePhaseMotorRow, 14> one_phase_motors{{
    {0.1, 1.6, 220},
    {0.12, 1.9, 220},
    {0.18, 2.3, 220},
    {0.25, 2.9, 220},
    {0.37, 3.6, 240},
    {0.55, 4.8, 240},
    {0.75, 6.1, 240},
    {1.1, 8.8, 240},
    {1.5, 11.7, 240},
    {1.8, 14.4, 240},
    {2.2, 17.1, 240},
    {3, 22.2, 240},
    {4, 27.1, 240},
    {5.5, 38.7, 240},
}};

} // namespace stopspan
