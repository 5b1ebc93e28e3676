#pragma once

#include "checks/machine_check.hpp"
#include "switching/faults.hpp"

namespace stopspan {

/// A fault and the machines it may matter to: indices into the machines seen.
struct FaultCase {
    Fault fault;
    std::vector<std::uint32_t> machines;
    std::uint32_t device = none; ///< that stands where the fault is, and no stop; none: there is none such
    Order order{};               ///< in the list
};

/// Faults to look at, and how many each exclusion leaves out.
struct FaultList {
    std::vector<FaultCase> cases;
    std::map<std::string_view, std::size_t> left_out;
};

/// As much work was done as may be. What is spent in the whole and in a part of it differs by a little, so a part tells
/// sooner that it may be another part of the work that the whole leaves.
inline bool is_at_bounds(const Context &context, std::size_t work, std::size_t most) {
    return work + (context.compiled.cut_out ? most / 8 : 0) > most;
}

/// A stop device jams, or its only contact comes off: that matters to all machines it is asked to cut.
bool is_of_stop(const Context &context, const Fault &fault);

/// The nets that contacts, fuses, buttons and long wires join to a coil or a drive's loop, up to where a source stands
/// or a power pole ends. Nets of the whole circuit, sorted.
struct ControlCircuit {
    std::vector<std::uint32_t> nets;
    std::vector<std::uint32_t> borders; ///< where it ends at a contact: this conductor lies beside the others
    std::uint32_t device = none;        ///< whose coil or loop it was found at
    bool of_loop = false;               ///< of a drive: found after those of coils
};
std::vector<ControlCircuit> control_circuits(const Context &context);

/// An earth fault on every net of every control circuit.
FaultList earth_faults(const Context &context, const std::vector<MachineSeen> &machines);

/// Every fault of one part: contacts that do not open (welded contactors and relays, jammed and detached actuators,
/// overloads that never trip), conductors of one control circuit that touch each other, wires of control circuits that
/// come off. The list follows ISO 13849-2:2012 annex D, tables D.4, D.8 and D.9.
FaultList single_faults(const Context &context, const std::vector<MachineSeen> &machines);

} // namespace stopspan
