#include "ratings/cable_check.hpp"

#include "base/number_text.hpp"
#include "ratings/conductor.hpp"
#include "ratings/conductor_tables.hpp"
#include "ratings/fault_loop.hpp"
#include "ratings/ground.hpp"
#include "ratings/protection.hpp"

#include <algorithm>
#include <numbers>

namespace stopspan::ratings {
namespace {

// Highest rating of a final circuit to which the short times apply, fixed equipment (IEC 60364-4-41:2017).
constexpr double final_circuit_a = 32;

std::string percent(double value) {
    return format_fixed(value, 1) + " %";
}

void judge_fault(const CableCase &cable, CableJudged &it) {
    constexpr double stiffest_ohm = 0.001; // a supply said to have no impedance at all
    const double source_ohm = std::max(cable.source_ohm, stiffest_ohm);
    it.loop_ohm = loop_impedance_ohm(source_ohm, *cable.length_m, it.csa_mm2);
    it.fault_a = fault_current_a(cable.to_earth_v, it.loop_ohm);
    if (cable.protection_a <= 0)
        return;
    it.longest_s = !cable.distribution && cable.protection_a <= final_circuit_a
                       ? longest_disconnection_s(cable.to_earth_v).value_or(5)
                       : longest_disconnection_distribution_s();
    it.clears_s = clears_s(cable.protection_type, cable.protection_a, it.fault_a);
    const double near_a = (cable.three_phase ? 2 : 1) * cable.to_earth_v / source_ohm;
    const double energy = std::max(energy_a2s(cable.protection_type, cable.protection_a, it.fault_a).value_or(0),
                                   energy_a2s(cable.protection_type, cable.protection_a, near_a).value_or(0));
    it.withstand_mm2 = withstand_csa_mm2(energy);
    const std::string of = cable.protection_type + " " + format_number(cable.protection_a) + " A";
    if (!it.clears_s || *it.clears_s > it.longest_s)
        it.reasons.push_back("an earth fault of " + amperes(it.fault_a) + " does not clear " + of + " within " +
                             format_number(it.longest_s) + " s");
    else if (it.withstand_mm2 > it.csa_mm2)
        it.reasons.push_back("a short circuit behind " + of + " asks for " + format_fixed(it.withstand_mm2, 2) +
                             " mm2");
}

} // namespace

CableJudged judge_cable(const CableCase &cable, double csa_mm2) {
    CableJudged it{.csa_mm2 = csa_mm2,
                   .ampacity_a = machine_ampacity_a(csa_mm2, cable.method, cable.ambient_c, cable.grouping)};
    if (!it.ampacity_a)
        it.reasons.push_back("the tables have no ampacity for it");
    else if (*it.ampacity_a < cable.must_carry_a)
        it.reasons.push_back("carries " + amperes(*it.ampacity_a) + ", " + amperes(cable.must_carry_a) + " wanted");
    if (!cable.length_m)
        return it;
    const double to_percent = 100 / (cable.to_earth_v * (cable.three_phase ? std::numbers::sqrt3 : 1));
    const auto lost_v = [&](double current_a, double power_factor) {
        return voltage_drop_v(cable.three_phase, current_a, *cable.length_m, csa_mm2, power_factor);
    };
    it.running_percent = to_percent * (cable.feeder_running_v + lost_v(cable.running_a, cable.power_factor));
    it.starting_percent = to_percent * (cable.feeder_starting_v + lost_v(cable.start_a, start_power_factor));
    if (it.running_percent > cable.running_drop_percent)
        it.reasons.push_back("drops " + percent(it.running_percent) + " running, " +
                             percent(cable.running_drop_percent) + " allowed");
    if (it.starting_percent > cable.starting_drop_percent)
        it.reasons.push_back("drops " + percent(it.starting_percent) + " starting, " +
                             percent(cable.starting_drop_percent) + " allowed");
    judge_fault(cable, it);
    return it;
}

std::string reasons_of(const CableJudged &it) {
    std::string text;
    for (const std::string &reason : it.reasons)
        text += (text.empty() ? "" : "; ") + reason;
    return text;
}

std::string reasons_in_power_circuit(const CableJudged &it) {
    const std::string reasons = reasons_of(it);
    if (it.csa_mm2 >= smallest_power_csa_mm2)
        return reasons;
    return std::string(too_thin_for_power) + (reasons.empty() ? "" : "; ") + reasons;
}

} // namespace stopspan::ratings
