#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan::ratings {

/// Power factor of a motor that starts: IEC 60947-4-1, making in AC-3 up to 100 A.
inline constexpr double start_power_factor = 0.45;

/// Of a supply that does not say it.
inline constexpr double usual_to_earth_v = 230;

inline constexpr std::string_view too_thin_for_power = "too thin for a power circuit";

/// What a cable has to do.
struct CableCase {
    bool three_phase = true;
    double to_earth_v = usual_to_earth_v;
    double running_a = 0, start_a = 0;
    double must_carry_a = 0; ///< what its protection against overload lets through for good
    double power_factor = 0.8;
    std::optional<double> length_m{}; ///< unknown: only the ampacity is judged
    std::string method = "B2";
    double ambient_c = 40, grouping = 1;
    double source_ohm = 0;                              ///< of the fault loop up to the cable
    double feeder_running_v = 0, feeder_starting_v = 0; ///< lost before it
    std::string protection_type = "gG";
    double protection_a = 0;   ///< 0: unknown, no fault is judged
    bool distribution = false; ///< feeds other circuits: more time to disconnect
    double running_drop_percent = 5, starting_drop_percent = 15;
};

/// What one size does.
struct CableJudged {
    double csa_mm2 = 0;
    std::optional<double> ampacity_a{};
    double running_percent = 0, starting_percent = 0; ///< of the voltage between lines, or to neutral
    double loop_ohm = 0, fault_a = 0;
    std::optional<double> clears_s{}; ///< nothing: not for sure within 5 s
    double longest_s = 0;             ///< allowed
    double withstand_mm2 = 0;
    std::vector<std::string> reasons{}; ///< why it does not do
};
/// Ampacity, voltage drop, disconnection of an earth fault at its far end (TN, protective conductor of the same size),
/// and what a short circuit at either end asks for. At the near end a short circuit between lines is taken as twice
/// the earth fault: lines and protective conductor alike (assumed).
CableJudged judge_cable(const CableCase &cable, double csa_mm2);

/// Its reasons in one line; empty: it does.
std::string reasons_of(const CableJudged &it);
/// As reasons_of(); a size that is too thin for any power circuit says that first.
std::string reasons_in_power_circuit(const CableJudged &it);

} // namespace stopspan::ratings
