#include "stopspan/circuit.hpp"

#include "base/names.hpp"
#include "base/number_text.hpp"
#include "base/words.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <unordered_set>

namespace stopspan {
namespace {

void check_designation(std::string_view designation) {
    if (!is_designation(designation))
        throw Error(ErrorCode::bad_value, "designation '" + std::string(designation) +
                                              "' must be letters, digits and . _ - + = / only, at least one");
}

void check_net(const std::string &device, std::string_view terminal, std::string_view net) {
    if (!is_name(net))
        throw Error(ErrorCode::bad_value, device + ":" + std::string(terminal) +
                                              ": a net needs a name of printable characters, no blank at its ends");
}

std::string cable_partner(std::string_view terminal) {
    std::string partner(terminal);
    partner.back() = partner.back() == '1' ? '2' : '1';
    return partner;
}

void check_terminal_known(const std::string &device, const KindRule &rule, std::string_view terminal) {
    if (has_terminal(rule, terminal))
        return;
    std::vector<std::string> known(rule.terminals.begin(), rule.terminals.end());
    if (rule.poles)
        known.emplace_back("poles 1-2 3-4 5-6 7-8");
    if (rule.contacts)
        known.emplace_back("contacts x1-x2 (break) x3-x4 (make)");
    if (rule.delayed)
        known.emplace_back("delayed contacts x5-x6 x7-x8");
    if (rule.kind == DeviceKind::overload)
        known.emplace_back("95-96 97-98");
    if (rule.kind == DeviceKind::cable)
        known.emplace_back("1 2 or 1.1 1.2 2.1 2.2 ... (core.end)");
    throw Error(ErrorCode::bad_terminal, device + ": " + with_article(rule.text) + " has no terminal '" +
                                             std::string(terminal) + "'; it has " + listed(known));
}

void check_terminals(const std::string &device, const KindRule &rule, std::span<const Connection> connections) {
    std::unordered_set<std::string_view> wired;
    for (const Connection &each : connections) {
        check_terminal_known(device, rule, each.terminal);
        check_net(device, each.terminal, each.net);
        if (!wired.insert(each.terminal).second)
            throw Error(ErrorCode::bad_terminal, device + ": terminal " + each.terminal +
                                                     " is given twice; join its nets under one name instead");
    }
    const auto needs = [&](std::string_view terminal, const std::string &why) {
        if (!wired.contains(terminal))
            throw Error(ErrorCode::bad_terminal,
                        device + ": terminal " + std::string(terminal) + " is not wired; " + why);
    };
    for (const std::string_view terminal : rule.needed)
        needs(terminal, "a " + std::string(rule.text) + " needs it");
    for (const Connection &each : connections) {
        if (const auto contact = contact_terminal(rule, each.terminal))
            needs(contact->partner, "contact " + each.terminal + " has it as its other side");
        else if (rule.kind == DeviceKind::cable)
            needs(cable_partner(each.terminal), "core end " + each.terminal + " has it as its other end");
    }
    const auto both = [&](std::string_view a, std::string_view b) {
        if (wired.contains(a) != wired.contains(b))
            needs(wired.contains(a) ? b : a, "it belongs to " + std::string(wired.contains(a) ? a : b));
    };
    if (rule.kind == DeviceKind::dc_supply)
        both("ac1", "ac2");
    if (rule.kind == DeviceKind::transformer)
        both("p1", "p2");
    if (rule.kind == DeviceKind::drive || rule.kind == DeviceKind::stop_relay)
        for (const auto &[a, b] : {std::pair{"RUN1", "RUN2"},
                                   {"STO1", "STO2"},
                                   {"S11", "S12"},
                                   {"S21", "S22"},
                                   {"S33", "S34"},
                                   {"Y1", "Y2"}})
            both(a, b);
    if (connections.empty())
        throw Error(ErrorCode::bad_terminal, device + ": no terminal is wired; give at least one");
}

void check_parameter(const std::string &device, const KindRule &kind, const std::string &name, const Parameter &value) {
    const auto rules = parameter_rules(kind.kind);
    const auto rule = std::find_if(rules.begin(), rules.end(), [&](const auto &each) { return each.name == name; });
    if (rule == rules.end()) {
        std::vector<std::string_view> known;
        for (const ParameterRule &each : rules)
            known.push_back(each.name);
        throw Error(ErrorCode::bad_value, device + ": " + with_article(kind.text) + " has no parameter '" + name +
                                              "'; known: " + (known.empty() ? "none" : listed(known)));
    }
    const auto refuse = [&](const std::string &what) {
        throw Error(ErrorCode::bad_value, device + ": " + name + " " + what);
    };
    switch (rule->type) {
    case ParameterRule::Type::number: {
        const double *number = std::get_if<double>(&value);
        if (!number)
            refuse("must be a number");
        if (!std::isfinite(*number))
            refuse("must be a finite number");
        if (*number < rule->minimum || *number > rule->maximum)
            refuse("is " + format_number(*number) + "; allowed is " + format_number(rule->minimum) + " to " +
                   format_number(rule->maximum));
        break;
    }
    case ParameterRule::Type::flag:
        if (!std::holds_alternative<bool>(value))
            refuse("must be true or false");
        break;
    case ParameterRule::Type::word: {
        const std::string *word = std::get_if<std::string>(&value);
        const std::string padded = " " + std::string(rule->words) + " ";
        if (!word || word->empty() || word->find(' ') != std::string::npos ||
            padded.find(" " + *word + " ") == std::string::npos)
            refuse("must be one of: " + std::string(rule->words));
        break;
    }
    case ParameterRule::Type::text: {
        const std::string *text = std::get_if<std::string>(&value);
        if (!text || (!text->empty() && !is_name(*text)))
            refuse("must be a text of printable characters, no blank at its ends");
        break;
    }
    }
}

// An earthed pole is one of the device's own poles.
void check_earthed_pole(const std::string &device, const KindRule &rule, const Parameters &parameters) {
    const auto found = parameters.find("earthed_pole");
    if (found == parameters.end())
        return;
    const std::string &pole = std::get<std::string>(found->second);
    if (pole == "none" || pole.empty())
        return;
    std::vector<std::string_view> poles;
    for (const std::string_view terminal : rule.terminals)
        if (terminal != "ac1" && terminal != "ac2" && terminal != "p1" && terminal != "p2")
            poles.push_back(terminal);
    if (std::find(poles.begin(), poles.end(), pole) == poles.end())
        throw Error(ErrorCode::bad_value,
                    device + ": earthed_pole '" + pole + "' is no pole of it; known: none, " + listed(poles));
}

void check_parameters(const std::string &device, const KindRule &kind, const Parameters &parameters) {
    for (const auto &[name, value] : parameters)
        check_parameter(device, kind, name, value);
    check_earthed_pole(device, kind, parameters);
    for (const ParameterRule &rule : parameter_rules(kind.kind))
        if (rule.required && parameters.find(rule.name) == parameters.end())
            throw Error(ErrorCode::missing_value, device + ": " + with_article(kind.text) + " needs " +
                                                      std::string(rule.name) +
                                                      "; without it nothing can be said of it");
}

} // namespace

NetId Circuit::net(std::string_view name, Spot used_at) {
    const auto [entry, fresh] = net_index_.try_emplace(std::string(name), static_cast<std::uint32_t>(nets_.size()));
    if (fresh) {
        nets_.emplace_back(name);
        first_use_.push_back(used_at);
    }
    return {entry->second};
}

DeviceId Circuit::add(std::string_view designation, DeviceKind kind, std::span<const Connection> connections,
                      const Parameters &parameters) {
    check_designation(designation);
    const std::string name(designation);
    if (device_index_.contains(name))
        throw Error(ErrorCode::duplicate_name, name + ": this designation is already used; choose another");
    const KindRule &rule = kind_rule(kind);
    check_terminals(name, rule, connections);
    check_parameters(name, rule, parameters);

    const DeviceId id{static_cast<std::uint32_t>(devices_.size())};
    Device device{name, kind, {}, parameters};
    for (const Connection &each : connections)
        device.terminals.push_back(
            {each.terminal, net(each.net, {id.value, static_cast<std::uint32_t>(device.terminals.size())})});
    devices_.push_back(std::move(device));
    device_index_.emplace(name, id.value);
    return id;
}

void Circuit::connect(std::string_view designation, std::string_view terminal, std::string_view net_name) {
    if (!move(designation, terminal, net_name))
        number_nets_again();
}

bool Circuit::move(std::string_view designation, std::string_view terminal, std::string_view net_name) {
    const Device &device = at(designation);
    check_net(device.designation, terminal, net_name);
    const std::uint32_t index = device_index_.at(device.designation);
    auto &terminals = devices_[index].terminals;
    const auto found =
        std::find_if(terminals.begin(), terminals.end(), [&](const auto &each) { return each.name == terminal; });
    if (found == terminals.end()) {
        std::vector<std::string_view> known;
        for (const auto &each : terminals)
            known.push_back(each.name);
        throw Error(ErrorCode::bad_terminal, device.designation + ": terminal '" + std::string(terminal) +
                                                 "' is not wired; wired are " + listed(known));
    }
    const Spot here{index, static_cast<std::uint32_t>(found - terminals.begin())};
    const std::uint32_t old = found->net.value, now = net(net_name, here).value;
    found->net = {now};
    // Mostly both nets are used before this terminal, and then their numbers stay.
    return now == old || (first_use_[old] != here && first_use_[now] < here);
}

void Circuit::set_parameter(std::string_view designation, std::string_view parameter, Parameter value) {
    const Device &device = at(designation);
    Parameters changed = device.parameters;
    changed.insert_or_assign(std::string(parameter), std::move(value));
    set_parameters(designation, std::move(changed));
}

void Circuit::set_parameters(std::string_view designation, Parameters values) {
    const Device &device = at(designation);
    check_parameters(device.designation, kind_rule(device.kind), values);
    devices_[device_index_.at(device.designation)].parameters = std::move(values);
}

void Circuit::remove(std::string_view designation) {
    const std::uint32_t index = device_index_.at(at(designation).designation);
    device_index_.erase(devices_[index].designation);
    for (auto &[name, number] : device_index_)
        number -= number > index;
    devices_.erase(devices_.begin() + index);
    number_nets_again();
}

// In the order of first use, the unused ones forgotten. Looks no name up: on a site there are hundreds of thousands.
void Circuit::number_nets_again() {
    constexpr std::uint32_t unused = std::numeric_limits<std::uint32_t>::max();
    std::vector<std::uint32_t> number(nets_.size(), unused);
    std::vector<std::string> nets;
    nets.reserve(nets_.size());
    first_use_.clear();
    for (std::uint32_t d = 0; d < devices_.size(); ++d)
        for (std::uint32_t t = 0; t < devices_[d].terminals.size(); ++t) {
            NetId &net = devices_[d].terminals[t].net;
            std::uint32_t &now = number[net.value];
            if (now == unused) {
                now = static_cast<std::uint32_t>(nets.size());
                nets.push_back(std::move(nets_[net.value]));
                first_use_.push_back({d, t});
            }
            net = {now};
        }
    nets_ = std::move(nets);
    std::erase_if(net_index_, [&](const auto &entry) { return number[entry.second] == unused; });
    for (auto &[name, net] : net_index_)
        net = number[net];
}

std::optional<DeviceId> Circuit::find(std::string_view designation) const {
    const auto found = device_index_.find(std::string(designation));
    if (found == device_index_.end())
        return std::nullopt;
    return DeviceId{found->second};
}

const Device &Circuit::at(std::string_view designation) const {
    if (const auto id = find(designation))
        return devices_[id->value];
    throw Error(ErrorCode::unknown_name,
                "no device '" + std::string(designation) + "' in the circuit; " +
                    known_names(
                        devices_.size(), [&](std::size_t i) { return std::string_view(devices_[i].designation); },
                        "it is empty"));
}

std::optional<NetId> Circuit::find_net(std::string_view name) const {
    const auto found = net_index_.find(std::string(name));
    if (found == net_index_.end())
        return std::nullopt;
    return NetId{found->second};
}

std::vector<std::string> Circuit::machines() const {
    std::vector<std::string> names;
    std::unordered_set<std::string_view> seen;
    for (const Device &device : devices_)
        if ((is_motor(device.kind) || device.kind == DeviceKind::drive) && seen.insert(machine_of(device)).second)
            names.emplace_back(machine_of(device));
    return names;
}

std::vector<std::string> Circuit::stops() const {
    std::vector<std::string> names;
    for (const Device &device : devices_)
        if (is_actuator(device.kind) && role_of(device) == Role::stop)
            names.push_back(device.designation);
    return names;
}

bool operator==(const Circuit &a, const Circuit &b) {
    return a.devices_ == b.devices_ && a.nets_ == b.nets_;
}

} // namespace stopspan
