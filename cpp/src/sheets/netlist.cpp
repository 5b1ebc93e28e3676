#include "sheets/netlist.hpp"

namespace stopspan {

std::vector<WiredDevice> netlist_of(const Circuit &circuit) {
    std::vector<WiredDevice> netlist;
    netlist.reserve(circuit.devices().size());
    for (const Device &device : circuit.devices()) {
        WiredDevice &row = netlist.emplace_back();
        row.designation = device.designation;
        row.kind = to_text(device.kind);
        for (const auto &[name, net] : device.terminals)
            row.terminals.emplace_back(name, circuit.net_name(net));
        for (const auto &[name, value] : device.parameters)
            row.parameters.emplace_back(name, to_text(value));
    }
    return netlist;
}

} // namespace stopspan
