#include "checks/repairs/change.hpp"
#include "checks/repairs/wiring.hpp"

#include "circuit/kinds.hpp"

#include <algorithm>
#include <array>

namespace stopspan {
namespace {

constexpr std::size_t most_fault_places = 6; // for a contact
constexpr std::size_t most_moves = 12;       // of stops

// A second one in series with this one.
void double_device(const Circuit &names, const Device &device, std::vector<Change> &changes) {
    if (device.kind == DeviceKind::contactor || device.kind == DeviceKind::relay ||
        (device.kind == DeviceKind::overload && device.net_of("95")))
        changes.push_back({.kind = Change::Kind::device_doubled,
                           .device = free_name(names, device.designation, 'B'),
                           .terminal = {},
                           .net = {},
                           .owner = device.designation,
                           .block = {},
                           .instead = {}});
}

// A start device that jams is then good for no second start.
void add_start_relays(const Circuit &part, const Device &start, const Circuit &names, std::vector<Change> &changes) {
    for (StartRelay &relay : start_relays(part, start, names))
        changes.push_back({.kind = Change::Kind::start_relay_added,
                           .device = relay.relay,
                           .terminal = {},
                           .net = {},
                           .owner = start.designation,
                           .block = {},
                           .instead = {},
                           .start_relay = relay});
}

// A second block that stands in the way where one is in the wrong place.
void take_out_block(const Device &device, std::vector<Change> &changes) {
    const auto contacts = contacts_of(device);
    if (contacts.size() > 1)
        for (const Contact &contact : contacts)
            if (contact.sense == ContactSense::make)
                changes.push_back({.kind = Change::Kind::contact_removed,
                                   .device = {},
                                   .terminal = {},
                                   .net = {},
                                   .owner = device.designation,
                                   .block = contact,
                                   .instead = {}});
}

// A second block of the same device in series with one that comes off its actuator.
void double_block(const Device &device, const std::string &terminal, std::vector<Change> &changes) {
    const auto block = free_block(device, ContactSense::break_);
    for (const Contact &contact : contacts_of(device))
        if (block && contact.sense == ContactSense::break_ && (terminal.empty() || contact.first == terminal))
            changes.push_back({.kind = Change::Kind::contact_added,
                               .device = device.designation,
                               .terminal = contact.first,
                               .net = {},
                               .owner = device.designation,
                               .block = *block,
                               .instead = {}});
}

} // namespace

bool is_fault(const std::string &act) {
    static constexpr std::array<std::string_view, 7> verbs{"weld ",  "jam ",   "detach ", "blind ",
                                                           "break ", "earth ", "bridge "};
    return std::any_of(verbs.begin(), verbs.end(), [&](std::string_view verb) { return act.starts_with(verb); });
}

std::optional<FaultAct> fault_of(const Finding &finding) {
    const auto &acts = finding.witness.acts;
    const auto fault = std::find_if(acts.begin(), acts.end(), is_fault);
    if (fault == acts.end() || fault->starts_with("earth ") || fault->starts_with("bridge "))
        return std::nullopt;
    return fault_of(*fault);
}

FaultAct fault_of(const std::string &act) {
    const std::size_t space = act.find(' '), colon = act.find(':');
    return {act.substr(0, space), act.substr(space + 1, colon == std::string::npos ? colon : colon - space - 1),
            colon == std::string::npos ? std::string() : act.substr(colon + 1)};
}

std::vector<Change> stops_by_break_contacts(const Circuit &part, const Finding &finding) {
    std::vector<Change> changes;
    for (const std::string &subject : finding.subjects) {
        const auto stop = part.find(subject);
        if (!stop || !is_actuator(part.device(*stop).kind) || role_of(part.device(*stop)) != Role::stop)
            continue;
        const auto block = free_block(part.device(*stop), ContactSense::break_);
        for (const Device &device : part.devices())
            if (block && device.kind == DeviceKind::contactor && device.net_of("A1") &&
                changes.size() < most_fault_places)
                changes.push_back({.kind = Change::Kind::contact_added,
                                   .device = device.designation,
                                   .terminal = "A1",
                                   .net = {},
                                   .owner = subject,
                                   .block = *block,
                                   .instead = {}});
    }
    return changes;
}

std::vector<Change> stops_moved_ahead(const Circuit &part, const Finding &finding) {
    std::vector<std::pair<const Device *, std::string>> places; // the nearest to the source first
    const auto &path = finding.witness.path;
    for (std::size_t i = 1; i < path.size(); i += 2) { // nets stand in between
        const auto id = part.find(path[i].substr(0, path[i].find(':')));
        if (!id)
            continue;
        const Device &device = part.device(*id);
        if (device.kind == DeviceKind::fuse)
            places.emplace_back(&device, "2");
        for (const Contact &contact : contacts_of(device))
            if (contact.sense != ContactSense::pole && path[i] == contact_text(device.designation, contact))
                places.emplace_back(&device, net_at(part, device.designation, contact.first) == path[i - 1]
                                                 ? contact.first
                                                 : contact.second);
    }
    std::vector<Change> changes;
    for (auto place = places.rbegin(); place != places.rend(); ++place)
        for (const Device &stop : part.devices())
            for (const Contact &contact : contacts_of(stop))
                if (contact.sense == ContactSense::break_ && is_actuator(stop.kind) && role_of(stop) == Role::stop &&
                    place->first != &stop && changes.size() < most_moves)
                    changes.push_back({.kind = Change::Kind::contact_moved,
                                       .device = place->first->designation,
                                       .terminal = place->second,
                                       .net = {},
                                       .owner = stop.designation,
                                       .block = contact,
                                       .instead = {}});
    return changes;
}

std::vector<Change> changes_against(const Circuit &part, const FaultAct &fault, const Circuit &names) {
    std::vector<Change> changes;
    if (!part.find(fault.device))
        return changes;
    const Device &device = part.at(fault.device);
    if (fault.verb == "weld" || fault.verb == "blind")
        double_device(names, device, changes);
    if (fault.verb == "jam" && role_of(device) != Role::stop && is_momentary(device)) {
        take_out_block(device, changes);
        if (role_of(device) != Role::test)
            add_start_relays(part, device, names, changes);
    }
    if (fault.verb == "detach")
        double_block(device, fault.terminal, changes);
    return changes;
}

} // namespace stopspan
