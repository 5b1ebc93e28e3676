#pragma once

#include "stopspan/check.hpp"
#include "stopspan/circuit.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

class Description;

/// Where a number that a size was worked out from came from.
enum class Origin {
    plate,    ///< of the device or motor, as somebody read it there
    wired,    ///< found in the circuit: what stands behind what
    plan,     ///< from the places on the plan, or what the description says of the machine
    table,    ///< typical value of a table
    computed, ///< an earlier size of the same list
    assumed,  ///< nobody said; named so that somebody can
};
std::string_view to_text(Origin origin);

/// One number that a size was worked out from.
struct SizeInput {
    std::string name;
    double value = 0;
    std::string unit{}; ///< empty: a plain ratio or count
    Origin origin = Origin::assumed;
    std::string from; ///< "M1 power_kw", "IEC 60204-1 table 6"
    friend bool operator==(const SizeInput &, const SizeInput &) = default;
};

/// What else could have been chosen, and why it was not.
struct Rejected {
    std::string candidate;
    std::string reason;
    friend bool operator==(const Rejected &, const Rejected &) = default;
};

/// What a size says of the device as it is wired.
enum class Fit {
    not_compared, ///< the device does not say what it has
    fits,
    does_not_fit,
};
std::string_view to_text(Fit fit);

/// One sized value.
struct Size {
    std::string subject;  ///< designation of the device, or name of the machine
    std::string quantity; ///< "rated current"
    double value = 0;
    std::string unit{};   ///< empty: a plain ratio or count
    std::string choice{}; ///< what was chosen in words: "gG 20 A"; empty: the value says it
    std::string formula{};
    std::vector<SizeInput> inputs{};
    std::string source{}; ///< standard and table; "common practice, no source"
    std::vector<Rejected> rejected{};
    std::optional<double> as_wired{}; ///< in the same unit
    Fit fit = Fit::not_compared;
    std::string remark{}; ///< what to change, or what the value leaves out
};

/// Something nobody said that a size needs.
struct UnknownInput {
    std::string subject, parameter;
    std::string needed_for; ///< what was assumed instead, or could not be sized
    friend bool operator==(const UnknownInput &, const UnknownInput &) = default;
};

struct Sizes {
    std::vector<Size> values; ///< motors, then what carries their current, cables, control supplies, kept
                              ///< loads, feeds, control, stopping, stops
    std::vector<UnknownInput> unknown;
    /// Null if there is none. Where a subject has several of a quantity, the first.
    const Size *find(std::string_view subject, std::string_view quantity) const;
};

/// Numbers that hold for all sizes of one call; what a machine or cable says of itself goes first.
struct SizeOptions {
    double ambient_c = 40;                    ///< around cables; IEC 60204-1 table 6 is for 40
    double running_drop_percent = 5;          ///< of the rated voltage, along a motor's cable
    double starting_drop_percent = 15;        ///< while it starts: a coil on the same lines keeps 85 %
    double control_drop_percent = 5;          ///< of the coil voltage, along its loop while it pulls in
    double control_csa_mm2 = 1;               ///< of control wires, in enclosures and to stop devices
    double cable_capacitance_uf_per_km = 0.3; ///< between two cores
    double source_impedance_ohm = 0.35;       ///< of the fault loop up to the supply, where the supply does not say
    std::size_t state_budget = 20'000;        ///< to find what can be in at once; past it everything is added up
    /// Of every stop and machine: it takes as long as the check of single faults.
    bool performance_levels = true;
    std::optional<double> common_cause_score{};  ///< ISO 13849-1 annex F, of stops whose zone does not say
    std::vector<std::string> fault_exclusions{}; ///< ids, beside the description's
};

/// Sizes of what is wired. What motor sits behind which contactor, overload, fuse and cable comes from the circuit;
/// the description gives lengths and what it says of machines, and may be empty.
/// @throws Error: bad_value for an option that is not finite or out of range; unknown_name for a fault exclusion
Sizes sizes(const Description &description, const Circuit &circuit, const SizeOptions &options = {});

/// Of every coil whose hand devices have places on the plan, and whose line is not recorded as cables.
std::vector<ControlLine> control_lines(const Description &description, const Circuit &circuit);

} // namespace stopspan
