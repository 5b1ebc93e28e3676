#include "checks/repairs/wiring.hpp"

#include <algorithm>

namespace stopspan {

const std::string &net_at(const Circuit &circuit, const std::string &device, const std::string &terminal) {
    return circuit.net_name(*circuit.at(device).net_of(terminal));
}

void exchange_contact(Circuit &circuit, const std::string &owner, const Contact &off, const Contact &on,
                      const std::string &first, const std::string &second) {
    const Device old = circuit.at(owner);
    std::vector<Connection> connections;
    for (const Device::Terminal &each : old.terminals)
        if (each.name != off.first && each.name != off.second)
            connections.push_back({each.name, circuit.net_name(each.net)});
    if (!on.first.empty()) {
        connections.push_back({on.first, first});
        connections.push_back({on.second, second});
    }
    circuit.remove(owner);
    circuit.add(owner, old.kind, connections, old.parameters);
}

std::vector<Contact> contacts_to_double(const Device &device) {
    std::vector<Contact> found = contacts_of(device);
    std::erase_if(found, [](const Contact &contact) {
        return contact.sense != ContactSense::pole && contact.sense != ContactSense::make &&
               contact.sense != ContactSense::trip_break;
    });
    return found;
}

std::vector<Connection> in_series_behind(Circuit &circuit, const std::string &owner,
                                         const std::vector<Contact> &contacts) {
    std::vector<Connection> connections;
    for (const Contact &contact : contacts) {
        const std::string end = net_at(circuit, owner, contact.second);
        const std::string between = end + " behind " + owner + ":" + contact.second;
        connections.push_back({contact.first, between});
        connections.push_back({contact.second, end});
        circuit.connect(owner, contact.second, between);
    }
    return connections;
}

std::string free_name(const Circuit &circuit, const std::string &like, char letter) {
    std::string name = like;
    for (; circuit.find(name); ++letter)
        name = like + letter;
    return name;
}

std::optional<Contact> free_block(const Device &device, ContactSense sense) {
    if (device.kind == DeviceKind::overload)
        return device.net_of("95") ? std::nullopt : std::optional<Contact>({"95", "96", ContactSense::trip_break});
    const bool make = sense == ContactSense::make;
    for (char row = '1'; row <= '9'; ++row)
        if (std::none_of(device.terminals.begin(), device.terminals.end(), [&](const Device::Terminal &terminal) {
                return terminal.name.size() == 2 && terminal.name[0] == row;
            }))
            return Contact{row + std::string(make ? "3" : "1"), row + std::string(make ? "4" : "2"), sense};
    return std::nullopt;
}

} // namespace stopspan
