#pragma once

namespace stopspan::ratings {

// The loop of a coil: how much it loses while the coil pulls in, and what its capacitance keeps in after a stop.
// Lengths are of the run, one way: supply and return are both counted.

/// Volts lost while a coil pulls in: 2 R l I cos phi, I = inrush / U. A maker's contactor manual has it as
/// l = 5 U^2 u / (R S cos phi).
/// @param ohm_per_km  of one conductor
double loop_drop_v(double coil_v, double inrush_va, double length_m, double ohm_per_km, double power_factor);
/// Longest run by drop, m: 5 U^2 u / (R S cos phi); direct current: power factor 1, S in W.
/// @param drop_percent  u, of the coil voltage
double longest_by_drop_m(double coil_v, double drop_percent, double ohm_per_km, double inrush_va, double power_factor);

/// Longest run by capacitance, m: m/(1+m) PH 10^9 / (2 pi f r U^2), the coil a pure inductor in series with the cable.
/// @param drop_out       m, drop-out over rated voltage
/// @param uf_per_km      r, between the cores
double longest_by_capacitance_m(double coil_v, double hold_va, double drop_out, double uf_per_km, double frequency_hz);
/// Capacitance a coil outlives, uF: m/(1+m) PH 10^6 / (2 pi f U^2).
double most_capacitance_uf(double coil_v, double hold_va, double drop_out, double frequency_hz);
/// Volts left on a coil after a stop opened, its cable in series: U x/(1-x), x = XL/XC. From x = 1/2 on, where it is
/// the full voltage, resonance is near and the figure means no more than "held".
double volts_left_v(double coil_v, double hold_va, double capacitance_uf, double frequency_hz);
/// Resistor beside a coil that takes what the cable brings, ohm: 1000/C, C in uF. A maker's guide on remote control.
double bleeder_ohm(double capacitance_uf);

/// Longest run by drop of another maker, m: u U^2 kappa A / (100 S), kappa = 57 m/(ohm mm2), cos phi left out. The sum
/// of supply and return.
double longest_supply_and_return_m(double coil_v, double drop_percent, double csa_mm2, double inrush_va);
/// And of a third, m: U^2/S A K, by a factor K of the inrush: up to 20 VA 1.38, 40 VA 1.5, 100 VA 1.8, 150 VA 2, then
/// 2.15; direct current 1.38 with S in W.
double longest_by_factor_m(double coil_v, double inrush_va, double csa_mm2, bool direct_current);

} // namespace stopspan::ratings
