#include "ratings/control_line.hpp"

#include <array>
#include <limits>
#include <numbers>
#include <utility>

namespace stopspan::ratings {

double loop_drop_v(double coil_v, double inrush_va, double length_m, double ohm_per_km, double power_factor) {
    return 2 * ohm_per_km * length_m / 1000 * inrush_va / coil_v * power_factor;
}

double longest_by_drop_m(double coil_v, double drop_percent, double ohm_per_km, double inrush_va, double power_factor) {
    return 5 * coil_v * coil_v * drop_percent / (ohm_per_km * inrush_va * power_factor);
}

double most_capacitance_uf(double coil_v, double hold_va, double drop_out, double frequency_hz) {
    return drop_out / (1 + drop_out) * hold_va * 1e6 / (2 * std::numbers::pi * frequency_hz * coil_v * coil_v);
}

double longest_by_capacitance_m(double coil_v, double hold_va, double drop_out, double uf_per_km, double frequency_hz) {
    return 1000 * most_capacitance_uf(coil_v, hold_va, drop_out, frequency_hz) / uf_per_km;
}

double volts_left_v(double coil_v, double hold_va, double capacitance_uf, double frequency_hz) {
    const double ratio =
        coil_v * coil_v / hold_va * 2 * std::numbers::pi * frequency_hz * capacitance_uf / 1e6; // XL / XC
    return ratio < 1 ? coil_v * ratio / (1 - ratio) : std::numeric_limits<double>::infinity();
}

double bleeder_ohm(double capacitance_uf) {
    return 1000 / capacitance_uf;
}

double longest_supply_and_return_m(double coil_v, double drop_percent, double csa_mm2, double inrush_va) {
    constexpr double kappa = 57;
    return drop_percent * coil_v * coil_v * kappa * csa_mm2 / (100 * inrush_va);
}

double longest_by_factor_m(double coil_v, double inrush_va, double csa_mm2, bool direct_current) {
    static constexpr std::array<std::pair<double, double>, 4> factors{{{20, 1.38}, {40, 1.5}, {100, 1.8}, {150, 2}}};
    double factor = direct_current ? 1.38 : 2.15;
    if (!direct_current)
        for (auto row = factors.rbegin(); row != factors.rend(); ++row)
            if (inrush_va <= row->first)
                factor = row->second;
    return coil_v * coil_v / inrush_va * csa_mm2 * factor;
}

} // namespace stopspan::ratings
