#pragma once

#include "checks/context.hpp"
#include "switching/faults.hpp"

namespace stopspan {

/// A fault and the machines it may matter to: indices into the machines seen.
struct FaultCase {
    Fault fault;
    std::vector<std::uint32_t> machines;
};

/// Faults to look at, and how many each exclusion leaves out.
struct FaultList {
    std::vector<FaultCase> cases;
    std::map<std::string_view, std::size_t> left_out;
};

/// The nets that contacts, fuses, buttons and long wires join to a coil or a drive's loop, up to where a source stands
/// or a power pole ends. Nets of the whole circuit, sorted.
struct ControlCircuit {
    std::vector<std::uint32_t> nets;
    std::vector<std::uint32_t> borders; ///< where it ends at a contact: this conductor lies beside the others
};
std::vector<ControlCircuit> control_circuits(const Context &context);

/// An earth fault on every net of every control circuit.
FaultList earth_faults(const Context &context, const std::vector<MachineSeen> &machines);

/// Every fault of one part: contacts that do not open (welded contactors and relays, jammed and detached actuators,
/// overloads that never trip), conductors of one control circuit that touch each other, wires of control circuits that
/// come off. The list follows ISO 13849-2:2012 annex D, tables D.4, D.8 and D.9.
FaultList single_faults(const Context &context, const std::vector<MachineSeen> &machines);

} // namespace stopspan
