#include "circuit/kinds.hpp"

#include "base/words.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::array<std::string_view, 4> action_words{"momentary", "latching", "maintained", "spring-return"};
constexpr std::array<std::string_view, 7> role_words{"none", "start", "stop", "reset", "jog", "test", "select"};

} // namespace

std::optional<NetId> Device::net_of(std::string_view terminal) const {
    for (const Terminal &each : terminals)
        if (each.name == terminal)
            return each.net;
    return std::nullopt;
}

std::optional<double> Device::number(std::string_view parameter) const {
    const auto found = parameters.find(parameter);
    if (found == parameters.end() || !std::holds_alternative<double>(found->second))
        return std::nullopt;
    return std::get<double>(found->second);
}

std::optional<std::string_view> Device::word(std::string_view parameter) const {
    const auto found = parameters.find(parameter);
    if (found == parameters.end() || !std::holds_alternative<std::string>(found->second))
        return std::nullopt;
    return std::get<std::string>(found->second);
}

bool Device::flag(std::string_view parameter, bool otherwise) const {
    const auto found = parameters.find(parameter);
    if (found == parameters.end() || !std::holds_alternative<bool>(found->second))
        return otherwise;
    return std::get<bool>(found->second);
}

bool is_actuator(DeviceKind kind) {
    return kind_rule(kind).actuator;
}

bool is_source(DeviceKind kind) {
    return kind == DeviceKind::mains_3ph || kind == DeviceKind::mains_1ph || kind == DeviceKind::dc_supply ||
           kind == DeviceKind::transformer;
}

bool has_armature(DeviceKind kind) {
    switch (kind) {
    case DeviceKind::contactor:
    case DeviceKind::relay:
    case DeviceKind::timer:
    case DeviceKind::latched_contactor:
    case DeviceKind::stop_relay:
        return true;
    default:
        return false;
    }
}

Action action_of(const Device &device) {
    if (const auto declared = device.word("action"))
        return from_word<Action>(action_words, *declared, "action");
    switch (device.kind) {
    case DeviceKind::selector:
    case DeviceKind::guard_switch:
        return Action::maintained;
    case DeviceKind::key_switch:
        return Action::spring_return;
    case DeviceKind::emergency_stop:
    case DeviceKind::pull_wire:
        return Action::latching;
    default:
        return Action::momentary;
    }
}

Role role_of(const Device &device) {
    if (const auto declared = device.word("role"))
        return from_word<Role>(role_words, *declared, "role");
    switch (device.kind) {
    case DeviceKind::selector:
        return Role::select;
    case DeviceKind::key_switch:
        return Role::reset;
    case DeviceKind::push_button:
        return Role::none;
    default:
        return Role::stop;
    }
}

bool is_momentary(const Device &device) {
    const Action action = action_of(device);
    return action == Action::momentary || action == Action::spring_return;
}

std::string_view machine_of(const Device &device) {
    if (const auto declared = device.word("machine"))
        return *declared;
    switch (device.kind) {
    case DeviceKind::motor_1ph:
    case DeviceKind::motor_3ph:
    case DeviceKind::motor_6lead:
    case DeviceKind::motor_2speed:
    case DeviceKind::drive:
        return device.designation;
    default:
        return {};
    }
}

std::string contact_text(const std::string &designation, const Contact &contact) {
    return designation + ":" + contact.first + "-" + contact.second;
}

std::optional<Contact> contact_at(const Device &device, std::size_t terminal) {
    const std::string &name = device.terminals[terminal].name;
    const auto known = contact_terminal(kind_rule(device.kind), name);
    return known && known->first ? std::optional(Contact{name, known->partner, known->sense}) : std::nullopt;
}

std::vector<std::pair<NetId, NetId>> cores_of(const Device &device) {
    std::vector<std::pair<NetId, NetId>> cores;
    for (const Device::Terminal &terminal : device.terminals) {
        if (terminal.name.back() != '1')
            continue;
        std::string other = terminal.name;
        other.back() = '2';
        cores.emplace_back(terminal.net, *device.net_of(other));
    }
    return cores;
}

std::string_view earthed_pole_of(const Device &device) {
    const bool mains = device.kind == DeviceKind::mains_3ph || device.kind == DeviceKind::mains_1ph;
    return device.word("earthed_pole").value_or(mains ? "N" : "none");
}

bool is_motor(DeviceKind kind) {
    return kind == DeviceKind::motor_1ph || kind == DeviceKind::motor_3ph || kind == DeviceKind::motor_6lead ||
           kind == DeviceKind::motor_2speed;
}

std::vector<Contact> contacts_of(const Device &device) {
    std::vector<Contact> contacts;
    contacts.reserve(device.terminals.size() / 2);
    for (std::size_t terminal = 0; terminal < device.terminals.size(); ++terminal)
        if (const auto contact = contact_at(device, terminal))
            contacts.push_back(*contact);
    return contacts;
}

} // namespace stopspan
