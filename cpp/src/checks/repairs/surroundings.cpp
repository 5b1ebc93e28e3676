#include "checks/repairs/surroundings.hpp"

#include "circuit/kinds.hpp"

#include <array>

namespace stopspan {
namespace {

Net net(const Device &device, std::string_view terminal) {
    return device.net_of(terminal)->value;
}

} // namespace

bool has_coil(const Device &device) {
    return device.net_of("A1").has_value();
}

bool two_terminals(DeviceKind kind) {
    return kind == DeviceKind::lamp || kind == DeviceKind::load || kind == DeviceKind::resistor ||
           kind == DeviceKind::capacitor;
}

Surroundings::Surroundings(const Circuit &circuit)
    : edges_(circuit.nets().size()), source_(circuit.nets().size(), 0), pole_(circuit.nets().size(), 0),
      motor_(circuit.nets().size(), 0) {
    ends_.resize(edges_.size());
    for (const Device &device : circuit.devices()) {
        for (const Device::Terminal &terminal : device.terminals)
            ++ends_[terminal.net.value];
        for (const Contact &contact : contacts_of(device)) {
            const bool is_pole = contact.sense == ContactSense::pole;
            join(device, contact.first, contact.second, is_pole ? power : control);
            if (is_pole)
                pole_[net(device, contact.first)] = pole_[net(device, contact.second)] = 1;
        }
        if (device.kind == DeviceKind::fuse)
            join(device, "1", "2", power);
        if (device.kind == DeviceKind::link)
            join(device, "1", "2", power | control);
        if (two_terminals(device.kind))
            join(device, "1", "2", loads);
        for (const auto &[a, b] : std::array<std::pair<const char *, const char *>, 5>{
                 {{"A1", "A2"}, {"C1", "C2"}, {"E1", "E2"}, {"RUN1", "RUN2"}, {"STO1", "STO2"}}})
            join(device, a, b, loads);
        if (is_motor(device.kind))
            for (const Device::Terminal &terminal : device.terminals)
                motor_[terminal.net.value] = 1;
        for (const char *terminal : {"L1", "L2", "L3", "N", "L", "P", "M", "s1", "s2"})
            if (is_source(device.kind) && device.net_of(terminal))
                source_[net(device, terminal)] = 1;
    }
    for (const Device &device : circuit.devices()) // what an overload stands ahead of
        if (device.kind == DeviceKind::overload)
            for (const Contact &contact : contacts_of(device))
                if (contact.sense == ContactSense::pole)
                    motor_[net(device, contact.first)] |= motor_[net(device, contact.second)];
}

void Surroundings::join(const Device &device, std::string_view a, std::string_view b, unsigned kind) {
    if (!device.net_of(a) || !device.net_of(b))
        return;
    edges_[net(device, a)].emplace_back(net(device, b), kind);
    edges_[net(device, b)].emplace_back(net(device, a), kind);
}

std::vector<std::uint32_t> Surroundings::distances(const std::vector<Net> &from, unsigned through,
                                                   bool past_sources) const {
    std::vector<std::uint32_t> steps(edges_.size(), far);
    std::vector<Net> queue;
    for (const Net start : from)
        if (steps[start] == far) {
            steps[start] = 0;
            queue.push_back(start);
        }
    for (std::size_t k = 0; k < queue.size(); ++k) {
        if (steps[queue[k]] > 0 && source_[queue[k]] && !past_sources)
            continue;
        for (const auto &[next, kind] : edges_[queue[k]])
            if ((kind & through) && steps[next] == far) {
                steps[next] = steps[queue[k]] + 1;
                queue.push_back(next);
            }
    }
    return steps;
}

} // namespace stopspan
