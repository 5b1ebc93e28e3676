#include "checks/repairs/change.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "checks/repairs/second_row.hpp"
#include "checks/repairs/wiring.hpp"

#include <algorithm>
#include <array>
#include <set>

namespace stopspan {
namespace {

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

bool is_output(std::string_view terminal) {
    return !terminal.starts_with("ac") && !terminal.starts_with("p");
}

// Nets of earth and of what sources feed.
std::set<std::uint32_t> pole_nets(const Circuit &circuit) {
    std::set<std::uint32_t> nets;
    if (const auto earth = circuit.find_net("PE"))
        nets.insert(earth->value);
    for (const Device &device : circuit.devices())
        if (is_source(device.kind))
            for (const Device::Terminal &terminal : device.terminals)
                if (is_output(terminal.name))
                    nets.insert(terminal.net.value);
    return nets;
}

void turn_coil(Circuit &circuit, const std::string &name) {
    const Device coil = circuit.at(name);
    const ReturnLine line = *return_line(circuit, coil);
    const std::string ahead = net_at(circuit, name, "A1"), behind = net_at(circuit, name, "A2"), end = name + ":A1";
    for (const auto &[device, terminal] : line.ends)
        circuit.connect(device, terminal, end);
    circuit.connect(name, "A1", end);
    circuit.connect(name, "A2", line.pole);
    join(circuit, behind, ahead);
}

// The block that stood in the return, and more of its device: one for each coil.
std::vector<Contact> blocks_for(Device owner, const Contact &block, std::size_t coils) {
    std::vector<Contact> blocks{block};
    while (blocks.size() < coils) {
        const auto next = free_block(owner, block.sense);
        if (!next)
            return {};
        blocks.push_back(*next);
        owner.terminals.push_back({next->first, NetId{0}});
    }
    return blocks;
}

void put_ahead(Circuit &circuit, const std::string &owner, const Contact &block, const std::string &device,
               const std::string &terminal) {
    const std::string net = net_at(circuit, device, terminal);
    const std::string between = net + " behind " + owner + ":" + block.second;
    circuit.connect(device, terminal, between);
    exchange_contact(circuit, owner, block, block, net, between);
}

bool is_wire(const Change &change) {
    return change.kind == Change::Kind::wire_moved || change.kind == Change::Kind::wire_added;
}

// A contact stays where it stands, or goes from there.
bool in_place(const Change &change) {
    return change.kind == Change::Kind::contact_exchanged || change.kind == Change::Kind::contact_removed ||
           change.kind == Change::Kind::contact_bridged;
}

// Its coil, if it has one, stands beside the other's, and each such contact of the other has one in series.
void add_twin(Circuit &circuit, const std::string &owner, const std::string &twin) {
    const Device device = circuit.at(owner);
    std::vector<Connection> connections;
    for (const Device::Terminal &terminal : device.terminals)
        if (terminal.name[0] == 'A')
            connections.push_back({terminal.name, circuit.net_name(terminal.net)});
    for (Connection &end : in_series_behind(circuit, owner, contacts_to_double(device)))
        connections.push_back(std::move(end));
    circuit.add(twin, device.kind, connections, device.parameters);
}

// Its coil stands in a line of its own, and each contact of the other has one beside it.
void add_beside(Circuit &circuit, const Change &change) {
    const Device device = circuit.at(change.like);
    std::vector<Connection> connections;
    for (const Device::Terminal &terminal : device.terminals)
        connections.push_back({terminal.name, terminal.name == "A1" ? change.net : circuit.net_name(terminal.net)});
    circuit.remove(change.owner);
    circuit.add(change.device, device.kind, connections, device.parameters);
}

} // namespace

std::vector<Change> thicker(const Device &conductor) {
    // IEC 60228, copper.
    static constexpr std::array cross_sections_mm2{0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0};
    static constexpr std::array parts{0.5, 0.25, 0.125};
    std::vector<Change> changes;
    const auto add = [&](double value) {
        changes.push_back({.kind = Change::Kind::conductor_thickened,
                           .device = conductor.designation,
                           .terminal = {},
                           .net = {},
                           .owner = {},
                           .block = {},
                           .instead = {},
                           .value = value});
    };
    const auto csa_mm2 = conductor.number("csa_mm2"), resistance_ohm = conductor.number("resistance_ohm");
    if (conductor.kind == DeviceKind::cable && csa_mm2) {
        for (const double larger_mm2 : cross_sections_mm2)
            if (larger_mm2 > *csa_mm2 && changes.size() < parts.size())
                add(larger_mm2);
    } else if (conductor.kind == DeviceKind::resistor && resistance_ohm) {
        for (const double part : parts)
            add(*resistance_ohm * part);
    }
    return changes;
}

std::optional<ReturnLine> return_line(const Circuit &circuit, const Device &coil) {
    const auto start = coil.net_of("A2");
    const std::set<std::uint32_t> poles = pole_nets(circuit);
    if (!start || poles.contains(start->value))
        return std::nullopt;
    std::set<std::uint32_t> ends;
    ReturnLine line;
    std::vector<NetId> reached{*start};
    for (std::size_t k = 0; k < reached.size(); ++k)
        for (const Device &device : circuit.devices()) {
            const auto contacts = contacts_of(device);
            for (const Device::Terminal &terminal : device.terminals) {
                if (terminal.net != reached[k] || (device.designation == coil.designation && terminal.name == "A2"))
                    continue;
                const auto contact = std::find_if(contacts.begin(), contacts.end(), [&](const Contact &each) {
                    return each.first == terminal.name || each.second == terminal.name;
                });
                if (contact == contacts.end() || contact->sense == ContactSense::pole)
                    return std::nullopt;
                const std::string &other = contact->first == terminal.name ? contact->second : contact->first;
                const NetId next = *device.net_of(other);
                if (poles.contains(next.value)) {
                    ends.insert(next.value);
                    line.ends.emplace_back(device.designation, other);
                } else if (std::find(reached.begin(), reached.end(), next) == reached.end()) {
                    reached.push_back(next);
                }
            }
        }
    if (ends.size() != 1)
        return std::nullopt;
    line.pole = circuit.net_name(NetId{*ends.begin()});
    return line;
}

std::vector<std::string> coils_behind(const Circuit &circuit, const Device &owner, const Contact &block) {
    const std::set<std::uint32_t> poles = pole_nets(circuit);
    NetId from = *owner.net_of(block.first), to = *owner.net_of(block.second);
    if (poles.contains(from.value))
        std::swap(from, to);
    std::vector<std::string> coils;
    if (!poles.contains(from.value) && poles.contains(to.value))
        for (const Device &device : circuit.devices())
            if (device.net_of("A2") == from && device.net_of("A1"))
                coils.push_back(device.designation);
    return coils;
}

std::optional<std::pair<double, std::string>> coil_to_neutral(const Circuit &circuit, const Device &device) {
    const auto rated = device.number("coil_voltage_v");
    const auto back = device.net_of("A2");
    if (!rated || !back)
        return std::nullopt;
    for (const Device &mains : circuit.devices()) {
        if (mains.kind != DeviceKind::mains_3ph || !mains.net_of("N") ||
            mains.word("earthed_pole").value_or("N") != "N")
            continue;
        const double volts = mains.number("voltage_v").value_or(230);
        // The square root of three, as far as names of voltages are true to it.
        if (*rated < 1.6 * volts || *rated > 1.9 * volts || back == mains.net_of("N"))
            continue;
        return std::pair{volts, circuit.net_name(*mains.net_of("N"))};
    }
    return std::nullopt;
}

bool fits(const Circuit &circuit, const Change &change) {
    const auto has = [&](const std::string &device, const std::string &terminal) {
        const auto id = circuit.find(device);
        return id && circuit.device(*id).net_of(terminal);
    };
    if (change.kind == Change::Kind::device_doubled)
        return circuit.find(change.owner) && !circuit.find(change.device);
    if (change.kind == Change::Kind::conductor_thickened)
        return circuit.find(change.device).has_value();
    if (change.kind == Change::Kind::line_parted)
        return circuit.find(change.owner) && circuit.find(change.like) && !circuit.find(change.device) &&
               circuit.find_net(change.net);
    if (change.kind == Change::Kind::start_relay_added)
        return fits(circuit, change.start_relay);
    if (change.kind == Change::Kind::row_added)
        return fits(circuit, change.row);
    if (change.kind == Change::Kind::monitor_added)
        return circuit.find_net(change.net) && !circuit.find(change.device);
    if (change.kind == Change::Kind::coil_turned)
        return has(change.device, "A1") && return_line(circuit, circuit.at(change.device));
    if (change.kind == Change::Kind::coil_exchanged)
        return has(change.device, "A1") && coil_to_neutral(circuit, circuit.at(change.device));
    if (change.kind == Change::Kind::contact_per_coil) {
        const auto coils = has(change.owner, change.block.first)
                               ? coils_behind(circuit, circuit.at(change.owner), change.block)
                               : std::vector<std::string>();
        return coils.size() > 1 && !blocks_for(circuit.at(change.owner), change.block, coils.size()).empty();
    }
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
    if (change.kind == Change::Kind::device_doubled) {
        add_twin(circuit, change.owner, change.device);
        return;
    }
    if (change.kind == Change::Kind::conductor_thickened) {
        const bool cable = circuit.at(change.device).kind == DeviceKind::cable;
        circuit.set_parameter(change.device, cable ? "csa_mm2" : "resistance_ohm", change.value);
        return;
    }
    if (change.kind == Change::Kind::line_parted) {
        add_beside(circuit, change);
        return;
    }
    if (change.kind == Change::Kind::start_relay_added) {
        apply(circuit, change.start_relay);
        return;
    }
    if (change.kind == Change::Kind::row_added) {
        apply(circuit, change.row);
        return;
    }
    if (change.kind == Change::Kind::pole_earthed) {
        circuit.set_parameter(change.device, "earthed_pole", change.terminal);
        return;
    }
    if (change.kind == Change::Kind::monitor_added) {
        circuit.add(change.device, DeviceKind::insulation_monitor,
                    std::vector<Connection>{{"L", change.net}, {"PE", "PE"}}, {});
        return;
    }
    if (change.kind == Change::Kind::coil_turned) {
        turn_coil(circuit, change.device);
        return;
    }
    if (change.kind == Change::Kind::contact_per_coil) {
        const auto coils = coils_behind(circuit, circuit.at(change.owner), change.block);
        const auto blocks = blocks_for(circuit.at(change.owner), change.block, coils.size());
        const std::string back = net_at(circuit, coils[0], "A2");
        join(circuit, back, change.net);
        for (std::size_t i = 0; i < coils.size(); ++i)
            put_ahead(circuit, change.owner, blocks[i], coils[i], "A1");
        return;
    }
    if (change.kind == Change::Kind::coil_exchanged) {
        circuit.set_parameter(change.device, "coil_voltage_v",
                              coil_to_neutral(circuit, circuit.at(change.device))->first);
        circuit.connect(change.device, "A2", change.net);
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
        exchange_contact(circuit, change.owner, change.block, change.instead, first, second);
        if (change.kind == Change::Kind::contact_bridged)
            join(circuit, second, first);
        return;
    }
    if (const auto open = left_open(circuit, change))
        join(circuit, open->second, open->first);
    put_ahead(circuit, change.owner, change.block, change.device, change.terminal);
}

std::string text_of(const Change &change, const Circuit &before) {
    if (change.kind == Change::Kind::row_added)
        return text_of(change.row, before);
    if (change.kind == Change::Kind::start_relay_added)
        return text_of(change.start_relay, before);
    if (change.kind == Change::Kind::monitor_added)
        return "add an insulation monitor " + change.device + " between " + change.net + " and PE";
    if (change.kind == Change::Kind::coil_turned) {
        const Device &coil = before.at(change.device);
        const ReturnLine line = *return_line(before, coil);
        std::vector<std::string> ends;
        for (const auto &[device, terminal] : line.ends)
            ends.push_back(device + ":" + terminal);
        return "move the coil of " + change.device + " to the end of its line: join " +
               net_at(before, change.device, "A1") + " and " + net_at(before, change.device, "A2") +
               " where it stood, take " + listed(ends) + " off " + line.pole + " and wire it to " + change.device +
               ":A1, and wire " + change.device + ":A2 to " + line.pole;
    }
    if (change.kind == Change::Kind::contact_per_coil) {
        const auto coils = coils_behind(before, before.at(change.owner), change.block);
        const auto blocks = blocks_for(before.at(change.owner), change.block, coils.size());
        std::vector<std::string> places;
        for (std::size_t i = 0; i < coils.size(); ++i)
            places.push_back(contact_text(change.owner, blocks[i]) + " ahead of " + coils[i] + ":A1 (net " +
                             net_at(before, coils[i], "A1") + ")");
        return "take out the contact " + contact_text(change.owner, change.block) + ", join " + change.net + " and " +
               net_at(before, coils[0], "A2") +
               " where it stood, and put one in series in the line of each coil: " + listed(places);
    }
    if (change.kind == Change::Kind::coil_exchanged) {
        const Device &device = before.at(change.device);
        return "give " + change.device + " a coil for " + format_number(coil_to_neutral(before, device)->first) +
               " V, and move the wire at " + change.device + ":A2 from " + net_at(before, change.device, "A2") +
               " to " + change.net;
    }
    if (change.kind == Change::Kind::device_doubled) {
        const Device &device = before.at(change.owner);
        std::vector<std::string> contacts;
        for (const Contact &contact : contacts_to_double(device))
            contacts.push_back(contact.first + "-" + contact.second);
        return "add " + std::string(device.kind == DeviceKind::overload ? "an " : "a ") +
               std::string(to_text(device.kind)) + " " + change.device + " like " + change.owner + ", its " +
               (device.net_of("A1") ? "coil beside " + change.owner + "'s and its " : std::string()) + "contacts " +
               listed(contacts) + " in series behind those of " + change.owner;
    }
    if (change.kind == Change::Kind::conductor_thickened) {
        const Device &device = before.at(change.device);
        if (device.kind == DeviceKind::cable)
            return "lay the cable " + change.device + " with " + format_number(change.value) + " mm2 instead of " +
                   format_number(*device.number("csa_mm2")) + " mm2";
        return "lower the resistance of " + change.device + " from " + format_number(*device.number("resistance_ohm")) +
               " to " + format_number(change.value) + " ohm, of conductors by thicker or shorter ones";
    }
    if (change.kind == Change::Kind::line_parted) {
        const Device &device = before.at(change.like);
        std::vector<std::string> contacts;
        for (const Contact &contact : contacts_of(device))
            contacts.push_back(contact.first + "-" + contact.second);
        return "take out the link " + change.owner + " between " + net_at(before, change.owner, "1") + " and " +
               net_at(before, change.owner, "2") + ", and add a " + std::string(to_text(device.kind)) + " " +
               change.device + " like " + change.like + ", its coil from " + change.net + " to " +
               net_at(before, change.like, "A2") + " and its contacts " + listed(contacts) + " beside those of " +
               change.like;
    }
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
    if (change.kind == Change::Kind::pole_earthed) {
        const auto other = before.at(change.device).word("earthed_pole");
        return "earth the pole " + change.terminal + " of " + change.device + " (net " + net + ")" +
               (other ? " instead of " + std::string(*other) : std::string());
    }
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
    if (change.kind == Change::Kind::device_doubled)
        for (const Device::Terminal &terminal : before.at(change.owner).terminals)
            add(change.owner, terminal.name);
    if (change.kind == Change::Kind::conductor_thickened)
        for (const Device::Terminal &terminal : before.at(change.device).terminals)
            add(change.device, terminal.name);
    if (change.kind == Change::Kind::line_parted)
        for (const std::string &name : {change.owner, change.like})
            for (const Device::Terminal &terminal : before.at(name).terminals)
                add(name, terminal.name);
    if (change.kind == Change::Kind::start_relay_added)
        nets = touched_nets(change.start_relay, before);
    if (change.kind == Change::Kind::monitor_added)
        nets.push_back(change.net);
    if (change.kind == Change::Kind::row_added) {
        for (const auto &[net, second] : change.row.nets)
            nets.push_back(net);
        for (const SecondRow::Twin &twin : change.row.twins)
            for (const Device::Terminal &terminal : before.at(twin.like).terminals)
                add(twin.like, terminal.name);
    }
    if (change.kind == Change::Kind::coil_turned || change.kind == Change::Kind::coil_exchanged) {
        add(change.device, "A1");
        add(change.device, "A2");
        nets.push_back(change.net);
    }
    if (change.kind == Change::Kind::contact_per_coil) {
        nets.push_back(change.net);
        for (const std::string &coil : coils_behind(before, before.at(change.owner), change.block))
            for (const char *end : {"A1", "A2"})
                add(coil, end);
    }
    if (!nets.empty() && change.kind != Change::Kind::contact_moved)
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
