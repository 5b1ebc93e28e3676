#include "wiring/draft.hpp"

#include "base/number_text.hpp"
#include "circuit/kinds.hpp"
#include "stopspan/error.hpp"

#include <algorithm>

namespace stopspan::wiring {
namespace {

constexpr int most_rows = 99;

// 13 and 14 are row 1, 121 and 122 row 12; power poles and named terminals have none.
int row_of(std::string_view terminal) {
    const auto number = parse_number(terminal);
    return number && *number >= 10 ? static_cast<int>(*number) / 10 : 0;
}

} // namespace

Draft::Draft(const Circuit &recorded) {
    for (const std::string &net : recorded.nets())
        recorded_nets_.insert(net);
    for (const Device &each : recorded.devices()) {
        Entry entry{each.designation, each.kind, {}, each.parameters, true, {}, {}};
        for (const Device::Terminal &terminal : each.terminals) {
            entry.connections.push_back({terminal.name, recorded.net_name(terminal.net)});
            entry.rows.insert(row_of(terminal.name));
        }
        index_.emplace(each.designation, devices_.size());
        taken_.insert(each.designation);
        devices_.push_back(std::move(entry));
    }
}

const Draft::Entry &Draft::device(std::string_view designation) const {
    return devices_[index_.at(std::string(designation))];
}
Draft::Entry &Draft::device(std::string_view designation) {
    return devices_[index_.at(std::string(designation))];
}

bool Draft::is_recorded(std::string_view designation) const {
    const auto found = index_.find(std::string(designation));
    return found != index_.end() && devices_[found->second].recorded;
}

bool Draft::has_motor_of(std::string_view machine) const {
    for (const Entry &entry : devices_) {
        const bool motor = is_motor(entry.kind) || entry.kind == DeviceKind::drive;
        const auto declared = entry.parameters.find("machine");
        if (motor && (entry.designation == machine ||
                      (declared != entry.parameters.end() && std::get<std::string>(declared->second) == machine)))
            return true;
    }
    return false;
}

void Draft::add(const std::string &owner, const std::string &designation, DeviceKind kind,
                std::vector<Connection> connections, Parameters parameters) {
    if (!index_.emplace(designation, devices_.size()).second)
        throw Error(ErrorCode::duplicate_name, owner + ": " + designation +
                                                   " is already in the recorded circuit, but its wiring is to be made; "
                                                   "take it out there, or describe the machine as found");
    taken_.insert(designation);
    Entry entry{designation, kind, std::move(connections), std::move(parameters), false, {}, owner};
    for (const Connection &each : entry.connections)
        entry.rows.insert(row_of(each.terminal));
    devices_.push_back(std::move(entry));
}

void Draft::stand_recorded(const std::unordered_map<std::string, std::string> &places) {
    for (Entry &entry : devices_)
        if (const auto declared = entry.parameters.find("machine");
            entry.recorded && declared != entry.parameters.end())
            if (const auto place = places.find(std::get<std::string>(declared->second)); place != places.end())
                entry.place = place->second;
}

void Draft::set_missing(std::string_view designation, std::string_view parameter, Parameter value) {
    device(designation).parameters.try_emplace(std::string(parameter), std::move(value));
}

std::string Draft::net_of(std::string_view designation, std::string_view terminal) const {
    for (const Connection &each : device(designation).connections)
        if (each.terminal == terminal)
            return joined(each.net);
    return {};
}

void Draft::contact(std::string_view designation, ContactSense sense, const std::string &from, const std::string &to) {
    Entry &entry = device(designation);
    int row = 1;
    while (entry.rows.contains(row))
        ++row;
    if (row > most_rows)
        throw Error(ErrorCode::bad_terminal, entry.designation + ": the wiring needs more than " +
                                                 std::to_string(most_rows) +
                                                 " contacts of it; divide its zone, or link it by a zone relay");
    entry.rows.insert(row);
    const int first = 10 * row + (sense == ContactSense::make ? 3 : 1);
    entry.connections.push_back({std::to_string(first), from});
    entry.connections.push_back({std::to_string(first + 1), to});
}

void Draft::connect(std::string_view designation, std::string_view terminal, const std::string &net) {
    Entry &entry = device(designation);
    entry.connections.push_back({std::string(terminal), net});
    entry.rows.insert(row_of(terminal));
}

std::size_t Draft::contacts(std::string_view designation, ContactSense sense) const {
    const char first = sense == ContactSense::make ? '3' : '1';
    std::size_t count = 0;
    for (const Connection &each : device(designation).connections)
        count += row_of(each.terminal) > 0 && each.terminal.back() == first;
    return count;
}

std::string Draft::free_designation(const std::string &wanted) {
    std::string designation = wanted;
    for (int i = 2; !taken_.insert(designation).second; ++i)
        designation = wanted + "_" + std::to_string(i);
    return designation;
}

std::string Draft::free_net(const std::string &wanted) {
    std::string net = wanted;
    for (int i = 2; recorded_nets_.contains(net) || !nets_.insert(net).second; ++i)
        net = wanted + "_" + std::to_string(i);
    return net;
}

void Draft::alias(const std::string &name, const std::string &net) {
    if (name != net)
        aliases_.emplace(name, net);
}

const std::string &Draft::joined(const std::string &net) const {
    const auto found = aliases_.find(net);
    return found == aliases_.end() ? net : joined(found->second);
}

// A neutral that nothing behind an isolator uses needs no pole there: it would end in the air. With one left out, the
// pole ahead of it may be the next.
std::vector<Draft::Entry> Draft::without_idle_neutrals() const {
    std::vector<Entry> devices = devices_;
    std::unordered_map<std::string, int> uses;
    for (Entry &entry : devices)
        for (Connection &each : entry.connections) {
            each.net = joined(each.net);
            ++uses[each.net];
        }
    for (bool more = true; more;) {
        more = false;
        for (Entry &entry : devices) {
            if (entry.kind != DeviceKind::isolator || entry.recorded)
                continue;
            // Poles come first, pair by pair, the neutral's last.
            const auto auxiliary = std::find_if(entry.connections.begin(), entry.connections.end(),
                                                [](const Connection &each) { return each.terminal.size() > 1; });
            const auto poles = auxiliary - entry.connections.begin();
            if (poles <= 2 || uses[(auxiliary - 1)->net] > 1)
                continue;
            --uses[(auxiliary - 2)->net];
            entry.connections.erase(auxiliary - 2, auxiliary);
            more = true;
        }
    }
    return devices;
}

Wired Draft::build() const {
    Wired wired;
    for (const Entry &entry : without_idle_neutrals()) {
        wired.circuit.add(entry.designation, entry.kind, entry.connections, entry.parameters);
        wired.places.push_back(entry.place);
    }
    return wired;
}

} // namespace stopspan::wiring
