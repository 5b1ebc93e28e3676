#include "checks/repair_change.hpp"

#include "base/words.hpp"

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

// A block is taken off and another put on by adding the device anew: half a contact is never there.
// @param on  with empty names: none
void rewire(Circuit &circuit, const std::string &owner, const Contact &off, const Contact &on, const std::string &first,
            const std::string &second) {
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

// Is there another way that is closed at rest? Then the contact stood beside it, and nothing needs its place.
bool bridged(const Circuit &circuit, const std::string &from, const std::string &to, const std::string &except) {
    std::vector<NetId> reached{*circuit.find_net(from)};
    for (std::size_t k = 0; k < reached.size(); ++k)
        for (const Device &device : circuit.devices())
            for (const Contact &contact : contacts_of(device)) {
                if (contact.sense != ContactSense::break_ && contact.sense != ContactSense::trip_break)
                    continue;
                const NetId a = *device.net_of(contact.first), b = *device.net_of(contact.second);
                if (device.designation == except || (a != reached[k] && b != reached[k]))
                    continue;
                const NetId next = a == reached[k] ? b : a;
                if (circuit.net_name(next) == to)
                    return true;
                if (std::find(reached.begin(), reached.end(), next) == reached.end())
                    reached.push_back(next);
            }
    return false;
}

// Nets to be joined where a moved contact stood in series.
std::optional<std::pair<std::string, std::string>> left_open(const Circuit &circuit, const Change &change) {
    if (change.kind != Change::Kind::contact_moved)
        return std::nullopt;
    const std::string &from = net_at(circuit, change.owner, change.block.first);
    const std::string &to = net_at(circuit, change.owner, change.block.second);
    const auto used_elsewhere = [&](const std::string &net) {
        std::size_t ends = 0;
        for (const Device &device : circuit.devices())
            for (const Device::Terminal &terminal : device.terminals)
                ends += circuit.net_name(terminal.net) == net;
        return ends > 1;
    };
    if (!used_elsewhere(from) || !used_elsewhere(to) || bridged(circuit, from, to, change.owner))
        return std::nullopt;
    return std::pair{from, to};
}

void join(Circuit &circuit, const std::string &net, const std::string &into) {
    std::vector<std::pair<std::string, std::string>> moved;
    for (const Device &device : circuit.devices())
        for (const Device::Terminal &terminal : device.terminals)
            if (circuit.net_name(terminal.net) == net)
                moved.emplace_back(device.designation, terminal.name);
    for (const auto &[device, terminal] : moved)
        circuit.connect(device, terminal, into);
}

bool is_wire(const Change &change) {
    return change.kind == Change::Kind::wire_moved || change.kind == Change::Kind::wire_added;
}

// A contact stays where it stands, or goes from there.
bool in_place(const Change &change) {
    return change.kind == Change::Kind::contact_exchanged || change.kind == Change::Kind::contact_removed ||
           change.kind == Change::Kind::contact_bridged;
}

// Contacts of an armature that conduct while it is in.
std::vector<Contact> make_contacts(const Device &device) {
    std::vector<Contact> found = contacts_of(device);
    std::erase_if(found, [](const Contact &contact) {
        return contact.sense != ContactSense::pole && contact.sense != ContactSense::make;
    });
    return found;
}

// Its coil stands beside the other's, and each contact that conducts while the other is in has one in series.
void add_twin(Circuit &circuit, const std::string &owner, const std::string &twin) {
    const Device device = circuit.at(owner);
    std::vector<Connection> connections{{"A1", net_at(circuit, owner, "A1")}, {"A2", net_at(circuit, owner, "A2")}};
    for (const Contact &contact : make_contacts(device)) {
        const std::string end = net_at(circuit, owner, contact.second);
        const std::string between = end + " behind " + owner + ":" + contact.second;
        connections.push_back({contact.first, between});
        connections.push_back({contact.second, end});
        circuit.connect(owner, contact.second, between);
    }
    circuit.add(twin, device.kind, connections, device.parameters);
}

void add_start_relay(Circuit &circuit, const Change &change) {
    const Device contactor = circuit.at(change.contactor);
    const std::string from = net_at(circuit, change.owner, change.block.first),
                      to = net_at(circuit, change.owner, change.block.second),
                      back = net_at(circuit, change.contactor, "A2");
    const std::string coil = change.device + ":A1", held = change.device + ":14", behind = change.device + ":23";
    Parameters parameters = contactor.parameters;
    for (const std::string_view of_contactors : {"ac3_rating_a", "interlocked_with"})
        parameters.erase(std::string(of_contactors));
    circuit.connect(change.owner, change.block.second, behind);
    rewire(circuit, change.owner, {}, change.instead, from, coil);
    rewire(circuit, change.contactor, {}, change.lock, held, coil);
    circuit.add(
        change.device, DeviceKind::relay,
        std::vector<Connection>{{"A1", coil}, {"A2", back}, {"13", from}, {"14", held}, {"23", behind}, {"24", to}},
        parameters);
}

} // namespace

bool fits(const Circuit &circuit, const Change &change) {
    const auto has = [&](const std::string &device, const std::string &terminal) {
        const auto id = circuit.find(device);
        return id && circuit.device(*id).net_of(terminal);
    };
    if (change.kind == Change::Kind::armature_doubled)
        return has(change.owner, "A1") && !circuit.find(change.device);
    if (change.kind == Change::Kind::start_relay_added)
        return has(change.owner, change.block.first) && !has(change.owner, change.instead.first) &&
               has(change.contactor, "A1") && !has(change.contactor, change.lock.first) && !circuit.find(change.device);
    if (in_place(change))
        return has(change.owner, change.block.first) &&
               (change.kind != Change::Kind::contact_exchanged || !has(change.owner, change.instead.first));
    if (!has(change.device, change.terminal))
        return false;
    if (change.kind == Change::Kind::link_removed || change.kind == Change::Kind::pole_earthed)
        return true;
    if (is_wire(change))
        return circuit.find_net(change.net).has_value();
    return circuit.find(change.owner) &&
           has(change.owner, change.block.first) == (change.kind == Change::Kind::contact_moved);
}

void apply(Circuit &circuit, const Change &change) {
    if (change.kind == Change::Kind::armature_doubled) {
        add_twin(circuit, change.owner, change.device);
        return;
    }
    if (change.kind == Change::Kind::start_relay_added) {
        add_start_relay(circuit, change);
        return;
    }
    if (change.kind == Change::Kind::pole_earthed) {
        circuit.set_parameter(change.device, "earthed_pole", change.terminal);
        return;
    }
    if (change.kind == Change::Kind::link_removed) {
        circuit.remove(change.device);
        return;
    }
    if (change.kind == Change::Kind::wire_moved) {
        circuit.connect(change.device, change.terminal, change.net);
        return;
    }
    if (change.kind == Change::Kind::wire_added) {
        const std::string net = net_at(circuit, change.device, change.terminal);
        join(circuit, net, change.net);
        return;
    }
    if (in_place(change)) {
        const std::string first = net_at(circuit, change.owner, change.block.first),
                          second = net_at(circuit, change.owner, change.block.second);
        rewire(circuit, change.owner, change.block, change.instead, first, second);
        if (change.kind == Change::Kind::contact_bridged)
            join(circuit, second, first);
        return;
    }
    if (const auto open = left_open(circuit, change))
        join(circuit, open->second, open->first);
    const std::string net = net_at(circuit, change.device, change.terminal);
    const std::string between = net + " behind " + change.owner + ":" + change.block.second;
    circuit.connect(change.device, change.terminal, between);
    rewire(circuit, change.owner, change.block, change.block, net, between);
}

std::string text_of(const Change &change, const Circuit &before) {
    if (change.kind == Change::Kind::armature_doubled) {
        std::vector<std::string> contacts;
        for (const Contact &contact : make_contacts(before.at(change.owner)))
            contacts.push_back(contact.first + "-" + contact.second);
        return "add a " + std::string(to_text(before.at(change.owner).kind)) + " " + change.device + " like " +
               change.owner + ", its coil beside " + change.owner + "'s and its contacts " + listed(contacts) +
               " in series behind those of " + change.owner;
    }
    if (change.kind == Change::Kind::start_relay_added)
        return "add a relay " + change.device + " with a coil like " + change.contactor + "'s, fed from " +
               net_at(before, change.owner, change.block.first) + " through a break contact " +
               contact_text(change.owner, change.instead) +
               " and beside that through its own contact 13-14 in series " + "with a break contact " +
               contact_text(change.contactor, change.lock) + ", and its contact 23-24 in series behind " +
               change.owner + ":" + change.block.second + " (net " + net_at(before, change.owner, change.block.second) +
               ")";
    if (in_place(change)) {
        const std::string block = contact_text(change.owner, change.block),
                          nets = net_at(before, change.owner, change.block.first) + " and " +
                                 net_at(before, change.owner, change.block.second);
        if (change.kind == Change::Kind::contact_exchanged)
            return "wire the contact " + contact_text(change.owner, change.instead) + " in place of " + block +
                   " between " + nets;
        if (change.kind == Change::Kind::contact_removed)
            return "take out the contact " + block + " between " + nets;
        return "take out the contact " + block + ", and join " + nets + " where it stood";
    }
    const std::string at = change.device + ":" + change.terminal;
    const std::string &net = net_at(before, change.device, change.terminal);
    if (change.kind == Change::Kind::link_removed)
        return "take out the link " + change.device + " between " + net + " and " +
               net_at(before, change.device, partners(before.at(change.device), change.terminal)[0]);
    if (change.kind == Change::Kind::wire_added)
        return "add a wire from " + at + " (net " + net + ") to " + change.net;
    if (change.kind == Change::Kind::wire_moved)
        return "move the wire at " + at + " from " + net + " to " + change.net;
    if (change.kind == Change::Kind::pole_earthed)
        return "earth the pole " + change.terminal + " of " + change.device + " (net " + net + ")";
    const bool moved = change.kind == Change::Kind::contact_moved;
    std::string joined;
    if (const auto open = left_open(before, change))
        joined = ", and join " + open->first + " and " + open->second + " where it stood";
    const bool fuse = before.at(change.device).kind == DeviceKind::fuse;
    return std::string(moved ? "move the contact " : "add a contact ") + contact_text(change.owner, change.block) +
           (moved ? " to stand" : "") + " in series " + (fuse ? "behind " : "ahead of ") + at + " (net " + net + ")" +
           joined;
}

std::vector<std::string> touched_nets(const Change &change, const Circuit &before) {
    std::vector<std::string> nets;
    const auto add = [&](const std::string &device, const std::string &terminal) {
        nets.push_back(net_at(before, device, terminal));
    };
    if (in_place(change) || change.kind == Change::Kind::contact_moved) {
        add(change.owner, change.block.first);
        add(change.owner, change.block.second);
    }
    if (change.kind == Change::Kind::armature_doubled)
        for (const Device::Terminal &terminal : before.at(change.owner).terminals)
            add(change.owner, terminal.name);
    if (change.kind == Change::Kind::start_relay_added)
        for (const std::string &name : {change.owner, change.contactor})
            for (const Device::Terminal &terminal : before.at(name).terminals)
                if (name == change.owner || terminal.name[0] == 'A')
                    add(name, terminal.name);
    if (in_place(change) || change.kind == Change::Kind::armature_doubled ||
        change.kind == Change::Kind::start_relay_added)
        return nets;
    if (change.kind == Change::Kind::pole_earthed) { // all that it feeds
        const Device &source = before.at(change.device);
        for (const Device &device : before.devices())
            if (std::any_of(device.terminals.begin(), device.terminals.end(), [&](const Device::Terminal &end) {
                    return std::any_of(source.terminals.begin(), source.terminals.end(),
                                       [&](const Device::Terminal &pole) { return pole.net == end.net; });
                }))
                for (const Device::Terminal &terminal : device.terminals)
                    add(device.designation, terminal.name);
        return nets;
    }
    add(change.device, change.terminal);
    for (const std::string &partner : partners(before.at(change.device), change.terminal))
        add(change.device, partner);
    if (is_wire(change))
        nets.push_back(change.net);
    return nets;
}

} // namespace stopspan
