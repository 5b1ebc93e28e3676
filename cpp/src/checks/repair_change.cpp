#include "checks/repair_change.hpp"

#include <algorithm>

namespace stopspan {
namespace {

const std::string &net_at(const Circuit &circuit, const std::string &device, const std::string &terminal) {
    return circuit.net_name(*circuit.at(device).net_of(terminal));
}

// The other terminals of the same contact, or of a device with no contacts.
std::vector<std::string> partners(const Device &device, const std::string &terminal) {
    std::vector<std::string> found;
    const auto contacts = contacts_of(device);
    for (const Contact &contact : contacts)
        if (contact.first == terminal || contact.second == terminal)
            found.push_back(contact.first == terminal ? contact.second : contact.first);
    if (contacts.empty() || found.empty())
        for (const Device::Terminal &other : device.terminals)
            if (other.name != terminal && (contacts.empty() || other.name[0] == terminal[0]))
                found.push_back(other.name);
    return found;
}

// A block is taken off or put on by adding the device anew: half a contact is never there.
void rewire(Circuit &circuit, const std::string &owner, const Contact &block, const std::string &first,
            const std::string &second) {
    const Device old = circuit.at(owner);
    std::vector<Connection> connections;
    for (const Device::Terminal &each : old.terminals)
        if (each.name != block.first && each.name != block.second)
            connections.push_back({each.name, circuit.net_name(each.net)});
    connections.push_back({block.first, first});
    connections.push_back({block.second, second});
    circuit.remove(owner);
    circuit.add(owner, old.kind, connections, old.parameters);
}

void join(Circuit &circuit, const std::string &net, const std::string &into, const std::string &except) {
    std::vector<std::pair<std::string, std::string>> moved;
    for (const Device &device : circuit.devices())
        for (const Device::Terminal &terminal : device.terminals)
            if (circuit.net_name(terminal.net) == net && device.designation != except)
                moved.emplace_back(device.designation, terminal.name);
    for (const auto &[device, terminal] : moved)
        circuit.connect(device, terminal, into);
}

} // namespace

bool fits(const Circuit &circuit, const Change &change) {
    const auto has = [&](const std::string &device, const std::string &terminal) {
        const auto id = circuit.find(device);
        return id && circuit.device(*id).net_of(terminal);
    };
    if (!has(change.device, change.terminal))
        return false;
    if (change.kind == Change::Kind::wire)
        return circuit.find_net(change.net).has_value();
    return circuit.find(change.owner) &&
           has(change.owner, change.block.first) == (change.kind == Change::Kind::contact_moved);
}

void apply(Circuit &circuit, const Change &change) {
    if (change.kind == Change::Kind::wire) {
        circuit.connect(change.device, change.terminal, change.net);
        return;
    }
    if (change.kind == Change::Kind::contact_moved) // what it stood between is joined
        join(circuit, net_at(circuit, change.owner, change.block.second),
             net_at(circuit, change.owner, change.block.first), change.owner);
    const std::string net = net_at(circuit, change.device, change.terminal);
    const std::string between = net + " behind " + change.owner + ":" + change.block.second;
    circuit.connect(change.device, change.terminal, between);
    rewire(circuit, change.owner, change.block, net, between);
}

std::string text_of(const Change &change, const Circuit &before) {
    const std::string at = change.device + ":" + change.terminal;
    const std::string &net = net_at(before, change.device, change.terminal);
    if (change.kind == Change::Kind::wire)
        return "move the wire at " + at + " from " + net + " to " + change.net;
    const bool moved = change.kind == Change::Kind::contact_moved;
    const bool fuse = before.at(change.device).kind == DeviceKind::fuse;
    return std::string(moved ? "move the contact " : "add a contact ") + change.owner + ":" + change.block.first + "-" +
           change.block.second + (moved ? " to stand" : "") + " in series " + (fuse ? "behind " : "ahead of ") + at +
           " (net " + net + ")";
}

std::vector<std::string> touched_nets(const Change &change, const Circuit &before) {
    std::vector<std::string> nets;
    const auto add = [&](const std::string &device, const std::string &terminal) {
        nets.push_back(net_at(before, device, terminal));
    };
    add(change.device, change.terminal);
    for (const std::string &partner : partners(before.at(change.device), change.terminal))
        add(change.device, partner);
    if (change.kind == Change::Kind::wire)
        nets.push_back(change.net);
    if (change.kind == Change::Kind::contact_moved) {
        add(change.owner, change.block.first);
        add(change.owner, change.block.second);
    }
    return nets;
}

} // namespace stopspan
