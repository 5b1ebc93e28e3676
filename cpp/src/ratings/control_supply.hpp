#pragma once

#include <optional>
#include <vector>

namespace stopspan::ratings {

/// What a control supply has to give at one moment: coils that are in, lamps, and coils that pull in just then.
struct ControlLoad {
    double sealed_va = 0, inrush_va = 0, other_w = 0;
};

/// Volt-amperes a transformer must stand for a moment: the sealed load, at power factor 0.3, the inrush, at 0.75, and
/// the rest at 1, joined as P and Q. Power factors as the voltages of coils are worked out with.
double momentary_va(const ControlLoad &load);
/// Its power factor.
double momentary_power_factor(const ControlLoad &load);
/// The rule of a maker's guide: 0.8 (sealed + lamps + largest inrush), no two inrushes together.
double called_va(double sealed_va, double lamps_w, double largest_inrush_va);

/// Ratings of control transformers, VA.
std::vector<double> transformer_sizes_va();
/// What a transformer gives for a moment at power factor 0.5 with 5 % drop; nothing for an unknown rating.
/// @param older  of the older of two product generations
std::optional<double> transformer_inrush_va(double rated_va, bool older = false);
/// Smallest that gives this for a moment, and the permanent load for good; nothing if none does.
std::optional<double> transformer_for_va(double inrush_va, double permanent_va = 0, bool older = false);
/// Ratings of DC control supplies, W.
std::vector<double> dc_supply_sizes_w();

/// Percent of its secondary voltage that a transformer loses to a momentary load: 5 % at its stated capacity, in
/// proportion (assumed: as a resistance, at power factor 0.5).
double transformer_dip_percent(double inrush_va, double capacity_va);

/// A control transformer may be left out for one motor starter with at most two control devices outside the enclosure
/// (IEC 60204-1:2016 9.1.1); an older edition asks for less than 3 kW, too.
bool transformer_may_be_left_out(int starters, int outside_devices, double power_kw, bool older_edition);

} // namespace stopspan::ratings
