#include "ratings/control_supply.hpp"

#include "ratings/control_tables.hpp"

#include <cmath>

namespace stopspan::ratings {
namespace {

// The same as in circuit/compiled.cpp, where they make impedances of coils (DESIGN 4.2).
constexpr double power_factor_sealed = 0.3, power_factor_inrush = 0.75;
constexpr double stated_drop_percent = 5;

double sine(double cosine) {
    return std::sqrt(1 - cosine * cosine);
}

double active_w(const ControlLoad &load) {
    return load.sealed_va * power_factor_sealed + load.inrush_va * power_factor_inrush + load.other_w;
}

} // namespace

double momentary_va(const ControlLoad &load) {
    return std::hypot(active_w(load),
                      load.sealed_va * sine(power_factor_sealed) + load.inrush_va * sine(power_factor_inrush));
}

double momentary_power_factor(const ControlLoad &load) {
    const double all = momentary_va(load);
    return all > 0 ? active_w(load) / all : 1;
}

double called_va(double sealed_va, double lamps_w, double largest_inrush_va) {
    return 0.8 * (sealed_va + lamps_w + largest_inrush_va);
}

std::vector<double> transformer_sizes_va() {
    std::vector<double> sizes;
    for (const TransformerRow &row : transformers)
        sizes.push_back(row.rated_va);
    return sizes;
}

std::optional<double> transformer_inrush_va(double rated_va, bool older) {
    for (const TransformerRow &row : transformers)
        if (row.rated_va == rated_va)
            return older ? row.inrush_older_va : row.inrush_newer_va;
    return std::nullopt;
}

std::optional<double> transformer_for_va(double inrush_va, double permanent_va, bool older) {
    for (const TransformerRow &row : transformers)
        if ((older ? row.inrush_older_va : row.inrush_newer_va) >= inrush_va && row.rated_va >= permanent_va)
            return row.rated_va;
    return std::nullopt;
}

std::vector<double> dc_supply_sizes_w() {
    return {ratings::dc_supply_sizes.begin(), ratings::dc_supply_sizes.end()};
}

double transformer_dip_percent(double inrush_va, double capacity_va) {
    return stated_drop_percent * inrush_va / capacity_va;
}

bool transformer_may_be_left_out(int starters, int outside_devices, double power_kw, bool older_edition) {
    return starters <= 1 && outside_devices <= 2 && (!older_edition || power_kw < 3);
}

} // namespace stopspan::ratings
