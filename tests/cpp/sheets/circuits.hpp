#pragma once

#include "stopspan/circuit.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace stopspan::test {

/// Adds one device; connections as in a netlist: "A1=e A2=N".
void wire_up(Circuit &circuit, const std::string &designation, DeviceKind kind, const std::string &connections,
             const Parameters &parameters = {});

Circuit direct_on_line();   ///< starter with emergency stop, stop, start
Circuit room_zone();        ///< three emergency stops, key reset, two machines, kept loads
Circuit star_delta();       ///< with an emergency stop in the wrong place
Circuit joined_coils();     ///< two machines whose coil wires are tied together by links
Circuit stops_in_neutral(); ///< contacts on the earthed side of the coil
Circuit between_phases();   ///< a 400 V coil between L1 and L2, fuses on both sides
Circuit direct_current();   ///< 24 V DC control from a supply with its own feed
Circuit long_chain();       ///< 24 contacts in series: more than one column
Circuit bridged_paths();    ///< contacts between the middles of two current paths
Circuit common_rail();      ///< a chain of stops that feeds the control circuits of three machines
Circuit every_kind();       ///< one of each kind of device
/// Devices of all control kinds wired to nets at random: what no arrangement would make.
Circuit random_circuit(std::uint32_t seed, std::size_t devices, std::size_t nets);

struct NamedCircuit {
    std::string name;
    Circuit circuit;
};
std::vector<NamedCircuit> sample_circuits();

} // namespace stopspan::test
