#include "ratings/conductor.hpp"

#include "ratings/conductor_tables.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stopspan::ratings {
namespace {

// The first row that reaches as far; what lies between two rows is treated as the worse.
std::optional<double> factor(std::span<const FactorRow> rows, double value) {
    for (const FactorRow &row : rows)
        if (value <= row.up_to)
            return row.factor;
    return std::nullopt;
}

template <class Rows>
auto row_of(const Rows &rows, double csa_mm2) {
    return std::ranges::find_if(rows, [&](const auto &row) { return std::abs(row.csa_mm2 - csa_mm2) < 1e-9; });
}

std::optional<double> times(std::optional<double> value, std::optional<double> one, std::optional<double> other) {
    return value && one && other ? std::optional(*value * *one * *other) : std::nullopt;
}

} // namespace

std::vector<double> conductor_sizes_mm2() {
    std::vector<double> sizes;
    for (const MachineCableRow &row : machine_cables)
        sizes.push_back(row.csa_mm2);
    return sizes;
}

std::optional<double> machine_ampacity_a(double csa_mm2, std::string_view method, double ambient_c, double grouping) {
    const auto row = row_of(machine_cables, csa_mm2);
    if (row == machine_cables.end())
        return std::nullopt;
    const auto ambient = factor(machine_ambient, ambient_c);
    if (method == "B1")
        return times(row->b1_a, ambient, factor(machine_grouping_b, grouping));
    if (method == "B2")
        return times(row->b2_a, ambient, factor(machine_grouping_b, grouping));
    if (method == "C")
        return times(row->c_a, ambient, factor(machine_grouping_c, grouping));
    if (method == "E")
        return times(row->e_a, ambient, factor(machine_grouping_e, grouping));
    return std::nullopt;
}

std::optional<double> carrying_csa_mm2(double current_a, std::string_view method, double ambient_c, double grouping) {
    for (const MachineCableRow &row : machine_cables)
        if (row.csa_mm2 >= smallest_power_csa_mm2 &&
            machine_ampacity_a(row.csa_mm2, method, ambient_c, grouping).value_or(0) >= current_a)
            return row.csa_mm2;
    return std::nullopt;
}

std::optional<double> loaded_cores_factor(double loaded) {
    return factor(machine_loaded_cores, loaded);
}

std::optional<double> building_ampacity_a(double csa_mm2, std::string_view method, bool multicore, bool three_loaded,
                                          double ambient_c, double grouping) {
    const std::span<const BuildingCableRow> rows =
        multicore ? std::span<const BuildingCableRow>(multicore_cables) : single_core_cables;
    const auto row = row_of(rows, csa_mm2);
    if (row == rows.end() || (method != "B" && method != "C"))
        return std::nullopt;
    const double amperes =
        method == "B" ? (three_loaded ? row->b_three_a : row->b_two_a) : (three_loaded ? row->c_three_a : row->c_two_a);
    return times(amperes, factor(building_ambient, ambient_c), factor(building_grouping, grouping));
}

double resistance_ohm_per_km(double csa_mm2, bool flexible, double celsius) {
    const auto row = row_of(resistances, csa_mm2);
    const double at_20 = row == resistances.end() ? 1000 / (58 * csa_mm2)
                         : flexible               ? row->flexible_ohm_per_km
                                                  : row->stiff_ohm_per_km;
    return at_20 * warming(celsius);
}

double voltage_drop_v(bool three_phase, double current_a, double length_m, double csa_mm2, double power_factor,
                      double celsius, bool flexible) {
    const double sine = std::sqrt(std::max(0.0, 1 - power_factor * power_factor));
    const double ohm_per_km =
        resistance_ohm_per_km(csa_mm2, flexible, celsius) * power_factor + reactance_ohm_per_km * sine;
    return (three_phase ? std::numbers::sqrt3 : 2) * current_a * length_m / 1000 * ohm_per_km;
}

double withstand_csa_mm2(double energy_a2s) {
    return std::sqrt(energy_a2s) / adiabatic_k;
}

} // namespace stopspan::ratings
