#include "checks/owners.hpp"

#include <algorithm>
#include <utility>

namespace stopspan {

bool is_stop_device(const Device &device) {
    return is_actuator(device.kind) && role_of(device) == Role::stop;
}

bool is_unfed_source(const Device &device) {
    return is_source(device.kind) && !device.net_of("ac1") && !device.net_of("ac2") && !device.net_of("p1") &&
           !device.net_of("p2");
}

std::vector<std::uint32_t> owners_of_nets(const Circuit &circuit, const Compiled &compiled) {
    std::vector<std::uint32_t> owners(compiled.net_count, none), found;
    std::vector<std::uint8_t> ends(compiled.net_count, 0), stop;
    ends[compiled.earth] = 1;
    for (std::uint32_t d = 0; d < circuit.devices().size(); ++d) {
        const Device &device = circuit.devices()[d];
        stop.push_back(is_stop_device(device));
        const bool unfed = is_unfed_source(device);
        for (const Device::Terminal &terminal : device.terminals) {
            const std::uint32_t net = terminal.net.value;
            ends[net] |= unfed;
            if (!unfed && !stop[d] && owners[net] == none) {
                owners[net] = d;
                found.push_back(net);
            }
        }
    }
    // Nets of a chain of stops have the device at its end.
    std::vector<std::pair<std::uint32_t, std::uint32_t>> joined;
    for (const Switch &contact : compiled.switches)
        if (stop[contact.device] && !ends[contact.a] && !ends[contact.b])
            joined.insert(joined.end(), {{contact.a, contact.b}, {contact.b, contact.a}});
    std::sort(joined.begin(), joined.end());
    for (std::size_t k = 0; k < found.size(); ++k)
        for (auto at = std::lower_bound(joined.begin(), joined.end(), std::pair(found[k], std::uint32_t{0}));
             !ends[found[k]] && at != joined.end() && at->first == found[k]; ++at)
            if (owners[at->second] == none) {
                owners[at->second] = owners[found[k]];
                found.push_back(at->second);
            }
    return owners;
}

} // namespace stopspan
