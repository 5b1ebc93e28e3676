#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace stopspan::ratings {

// Copper conductors in PVC. Ampacity by two standards: machines at 40 degC, buildings at 30 degC.

/// Sizes that IEC 60204-1 table 6 has, mm2.
std::vector<double> conductor_sizes_mm2();

/// Amperes by IEC 60204-1 table 6, D.1 and D.2.
/// @param method    "B1", "B2", "C" or "E"
/// @param grouping  loaded circuits side by side; the next larger row is taken
/// @returns nothing for a size, method, temperature above 60 degC or grouping above 9 that the tables do not have
std::optional<double> machine_ampacity_a(double csa_mm2, std::string_view method, double ambient_c = 40,
                                         double grouping = 1);
/// Thinnest conductor of a power circuit that is taken, mm2: common practice. IEC 60204-1 table 5 asks for less, 0.75
/// in an enclosure and in cables of several cores (from memory).
inline constexpr double smallest_power_csa_mm2 = 1.5;
/// Smallest size of a power circuit that carries a current; nothing where none of the table does.
std::optional<double> carrying_csa_mm2(double current_a, std::string_view method, double ambient_c = 40,
                                       double grouping = 1);
/// Factor of IEC 60204-1 table D.3: loaded conductors in one cable.
std::optional<double> loaded_cores_factor(double loaded);

/// Amperes by IEC 60364-5-52 (figures of BS 7671 tables 4D1A and 4D2A), B.52.14 and B.52.17.
/// @param method  "B" or "C"
std::optional<double> building_ampacity_a(double csa_mm2, std::string_view method, bool multicore, bool three_loaded,
                                          double ambient_c = 30, double grouping = 1);

/// Ohm per km of one conductor, IEC 60228 warmed by (234.5 + t)/254.5; any other size: 1000/(58 A) at 20 degC.
double resistance_ohm_per_km(double csa_mm2, bool flexible, double celsius);

/// Volts lost along a cable: I l (R cos phi + X sin phi), twice for one phase, sqrt3 times for three.
/// Leaves out: skin effect, and any heating but to the temperature given.
double voltage_drop_v(bool three_phase, double current_a, double length_m, double csa_mm2, double power_factor,
                      double celsius = 70, bool flexible = false);

/// Smallest conductor that survives a short circuit: sqrt(I^2 t) / k. IEC 60364-4-43 434.5.2, for up to 5 s.
double withstand_csa_mm2(double energy_a2s);

} // namespace stopspan::ratings
