#pragma once

#include <array>
#include <string_view>

namespace stopspan::ratings {

// Copper, PVC insulation.

/// Amperes of three loaded conductors at 40 degC, by method of installation: B1 wires in a conduit, B2 cable in a
/// conduit, C cable on a wall, E cable on a tray in air.
struct MachineCableRow {
    double csa_mm2, b1_a, b2_a, c_a, e_a;
};
/// IEC 60204-1 table 6, as drive makers' manuals print it (column B1 from memory).
inline constexpr std::string_view machine_cable_source = "IEC 60204-1 table 6 (PVC, 40 degC, three loaded conductors)";
inline constexpr std::array<MachineCableRow, 14> machine_cables{{
    {0.75, 8.6, 8.5, 9.8, 10.4},
    {1, 10.3, 10.1, 11.7, 12.4},
    {1.5, 13.5, 13.1, 15.2, 16.1},
    {2.5, 18.3, 17.4, 21, 22},
    {4, 24, 23, 28, 30},
    {6, 31, 30, 36, 37},
    {10, 44, 40, 50, 52},
    {16, 59, 54, 66, 70},
    {25, 77, 70, 84, 88},
    {35, 96, 86, 104, 110},
    {50, 117, 103, 125, 133},
    {70, 149, 130, 160, 171},
    {95, 180, 156, 194, 207},
    {120, 208, 179, 225, 240},
}};

/// Amperes in buildings at 30 degC, method B enclosed, C clipped direct, two or three loaded conductors.
struct BuildingCableRow {
    double csa_mm2, b_two_a, b_three_a, c_two_a, c_three_a;
};
/// BS 7671 table 4D1A (single-core), two public copies; the figures of IEC 60364-5-52.
inline constexpr std::array<BuildingCableRow, 13> single_core_cables{{
    {1, 13.5, 12, 15.5, 14},
    {1.5, 17.5, 15.5, 20, 18},
    {2.5, 24, 21, 27, 25},
    {4, 32, 28, 37, 33},
    {6, 41, 36, 47, 43},
    {10, 57, 50, 65, 59},
    {16, 76, 68, 87, 79},
    {25, 101, 89, 114, 104},
    {35, 125, 110, 141, 129},
    {50, 151, 134, 182, 167},
    {70, 192, 171, 234, 214},
    {95, 232, 207, 284, 261},
    {120, 269, 239, 330, 303},
}};
/// BS 7671 table 4D2A (multicore); columns of two loaded conductors, and the row of 1 mm2, from memory.
inline constexpr std::array<BuildingCableRow, 13> multicore_cables{{
    {1, 13, 11.5, 15, 13.5},
    {1.5, 16.5, 15, 19.5, 17.5},
    {2.5, 23, 20, 27, 24},
    {4, 30, 27, 36, 32},
    {6, 38, 34, 46, 41},
    {10, 52, 46, 63, 57},
    {16, 69, 62, 85, 76},
    {25, 90, 80, 112, 96},
    {35, 111, 99, 138, 119},
    {50, 133, 118, 168, 144},
    {70, 168, 149, 213, 184},
    {95, 201, 179, 258, 223},
    {120, 232, 206, 299, 259},
}};

/// Ohm per km at 20 degC, IEC 60228 plain copper: solid or stranded (class 1, 2), flexible (class 5).
struct ResistanceRow {
    double csa_mm2, stiff_ohm_per_km, flexible_ohm_per_km;
};
inline constexpr std::string_view resistance_source = "IEC 60228 (plain copper)";
inline constexpr std::array<ResistanceRow, 15> resistances{{
    {0.5, 36.0, 39.0},
    {0.75, 24.5, 26.0},
    {1, 18.1, 19.5},
    {1.5, 12.1, 13.3},
    {2.5, 7.41, 7.98},
    {4, 4.61, 4.95},
    {6, 3.08, 3.3},
    {10, 1.83, 1.91},
    {16, 1.15, 1.21},
    {25, 0.727, 0.78},
    {35, 0.524, 0.554},
    {50, 0.387, 0.386},
    {70, 0.268, 0.272},
    {95, 0.193, 0.206},
    {120, 0.153, 0.161},
}};

/// A factor that holds up to and with a temperature or a number of circuits.
struct FactorRow {
    double up_to, factor;
};
/// IEC 60204-1 table D.1: ambient in degC, base 40.
inline constexpr std::array<FactorRow, 7> machine_ambient{
    {{30, 1.15}, {35, 1.08}, {40, 1.0}, {45, 0.91}, {50, 0.82}, {55, 0.71}, {60, 0.58}}};
/// IEC 60204-1 table D.2 (from memory): loaded circuits side by side, methods B1 and B2, C, E.
inline constexpr std::array<FactorRow, 5> machine_grouping_b{{{1, 1}, {2, 0.8}, {4, 0.65}, {6, 0.57}, {9, 0.5}}};
inline constexpr std::array<FactorRow, 5> machine_grouping_c{{{1, 1}, {2, 0.85}, {4, 0.75}, {6, 0.72}, {9, 0.7}}};
inline constexpr std::array<FactorRow, 5> machine_grouping_e{{{1, 1}, {2, 0.88}, {4, 0.77}, {6, 0.73}, {9, 0.72}}};
/// IEC 60204-1 table D.3 (from memory): loaded conductors in one multicore cable up to 10 mm2.
inline constexpr std::array<FactorRow, 5> machine_loaded_cores{{{3, 1}, {5, 0.75}, {7, 0.65}, {10, 0.55}, {24, 0.4}}};
/// IEC 60364-5-52 table B.52.14 (from memory): ambient in degC, base 30.
inline constexpr std::array<FactorRow, 8> building_ambient{
    {{25, 1.06}, {30, 1.0}, {35, 0.94}, {40, 0.87}, {45, 0.79}, {50, 0.71}, {55, 0.61}, {60, 0.5}}};
/// IEC 60364-5-52 table B.52.17 item 1 (from memory): circuits bunched or enclosed together.
inline constexpr std::array<FactorRow, 9> building_grouping{
    {{1, 1.0}, {2, 0.8}, {3, 0.7}, {4, 0.65}, {5, 0.6}, {6, 0.57}, {7, 0.54}, {8, 0.52}, {9, 0.5}}};

/// R(t) = R20 (234.5 + t) / 254.5, the form of IEC 60228 annex B.
inline constexpr double warming(double celsius) {
    return (234.5 + celsius) / 254.5;
}
inline constexpr double pvc_limit_c = 70;            ///< conductor of a loaded cable
inline constexpr double reactance_ohm_per_km = 0.08; ///< of cables up to 120 mm2, common practice, no source
/// Short-circuit factor of copper in PVC, A s^0.5 / mm2, IEC 60364-4-43 table 43A (from memory).
inline constexpr double adiabatic_k = 115;

} // namespace stopspan::ratings
