#pragma once

#include <optional>

namespace stopspan::ratings {

enum class Earthing { tn, tt };

/// Longest time to disconnection in a final circuit (up to 32 A, fixed equipment), AC. IEC 60364-4-41 table 41.1.
/// @param to_earth_v  of a line conductor
/// @returns nothing up to 50 V, where the table asks for none
std::optional<double> longest_disconnection_s(double to_earth_v, Earthing earthing = Earthing::tn);
/// Of a distribution circuit, or a final one above 32 A: 5 s (TN), 1 s (TT). IEC 60364-4-41 411.3.2.3 and .4.
double longest_disconnection_distribution_s(Earthing earthing = Earthing::tn);

/// Impedance of a fault loop, ohm: of the source and of line and protective conductor of the same size, out and back,
/// warm. Adds magnitudes, which is on the safe side.
double loop_impedance_ohm(double source_ohm, double length_m, double csa_mm2, double celsius = 70);
/// Least current of a dead earth fault, A: c U0 / Zs, c = 0.95 (BS 7671 411.4.4).
double fault_current_a(double to_earth_v, double loop_ohm);
/// Largest loop in which a breaker that surely releases at m times its rating does so, ohm: 0.95 U0 / (m In).
double largest_loop_ohm(double to_earth_v, double rating_a, double releases_at);

} // namespace stopspan::ratings
