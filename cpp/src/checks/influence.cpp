#include "checks/influence.hpp"

#include "base/add_unique.hpp"
#include "checks/owners.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>

namespace stopspan {
namespace {

bool is_machine(const Device &device) {
    return !is_actuator(device.kind) && !machine_of(device).empty();
}

} // namespace

Influence::Influence(const Circuit &circuit) {
    number("PE");
    edge_[0] = 1;
    nets_.reserve(circuit.devices().size());
    std::vector<std::uint32_t> number_of; // each name is looked up once
    for (const std::string &net : circuit.nets())
        number_of.push_back(number(net));
    for (const Device &device : circuit.devices())
        add(device, [&](NetId net) { return number_of[net.value]; });
}

template <class NumberOf>
void Influence::add(const Device &device, const NumberOf &number_of) {
    const auto d = static_cast<std::uint32_t>(nets_.size());
    nets_.emplace_back();
    stop_.push_back(is_stop_device(device));
    unfed_.push_back(is_unfed_source(device));
    for (std::uint32_t t = 0; t < device.terminals.size(); ++t) {
        const std::uint32_t net = number_of(device.terminals[t].net);
        nets_[d].push_back(net);
        at_[net].push_back({d, t});
        if (unfed_[d]) {
            edge_[net] = 1;
            add_unique(sources_[net], d);
        }
    }
    if (unfed_[d] && !device.net_of("N"))
        add_unique(sources_[0], d); // a neutral that is not brought out stands on earth
    if (is_machine(device))
        motors_of_[std::string(machine_of(device))].push_back(d);
    if (const auto partner = device.word("interlocked_with"))
        interlocked_with_[std::string(*partner)].push_back(d);
}

void Influence::added(const Circuit &circuit) {
    add(circuit.devices().back(), [&](NetId net) { return number(circuit.net_name(net)); });
}

void Influence::removed_last() {
    const auto device = static_cast<std::uint32_t>(nets_.size() - 1);
    for (const std::uint32_t net : nets_.back())
        std::erase_if(at_[net], [&](const Place &place) { return place.device == device; });
    for (auto &[name, devices] : interlocked_with_)
        std::erase(devices, device);
    nets_.pop_back();
    stop_.pop_back();
    unfed_.pop_back();
}

std::uint32_t Influence::number(std::string_view net) {
    const auto [entry, fresh] = number_of_.try_emplace(std::string(net), static_cast<std::uint32_t>(at_.size()));
    if (fresh) {
        at_.emplace_back();
        sources_.emplace_back();
        edge_.push_back(0);
    }
    return entry->second;
}

std::optional<std::uint32_t> Influence::net(std::string_view name) const {
    const auto found = number_of_.find(std::string(name));
    return found == number_of_.end() ? std::nullopt : std::optional(found->second);
}

bool Influence::is_edge(std::string_view name) const {
    const auto number = net(name);
    return number && edge_[*number];
}

// Of a contact of a stop device.
std::uint32_t Influence::other_end(const Circuit &circuit, Place at) const {
    const auto &terminals = circuit.devices()[at.device].terminals;
    const std::string partner =
        contact_terminal(kind_rule(circuit.devices()[at.device].kind), terminals[at.terminal].name)->partner;
    for (const std::uint32_t near : {at.terminal + 1, at.terminal - 1}) // mostly; a stop of a site has thousands
        if (near < terminals.size() && terminals[near].name == partner)
            return near;
    return static_cast<std::uint32_t>(
        std::find_if(terminals.begin(), terminals.end(), [&](const auto &each) { return each.name == partner; }) -
        terminals.begin());
}

Influence::Ends Influence::ends_of(const Circuit &circuit, std::uint32_t device, std::uint32_t terminal) const {
    Ends ends{{nets_[device][terminal]}, {}};
    if (stop_[device])
        ends.nets.push_back(nets_[device][other_end(circuit, {device, terminal})]);
    else
        ends.devices.push_back(device);
    return ends;
}

Influence::Ends Influence::ends_of(const Circuit &circuit, std::uint32_t device) const {
    Ends ends;
    for (std::uint32_t t = 0; t < nets_[device].size(); ++t) {
        const Ends here = ends_of(circuit, device, t);
        ends.nets.insert(ends.nets.end(), here.nets.begin(), here.nets.end());
        ends.devices = here.devices;
    }
    return ends;
}

std::span<const std::uint32_t> Influence::motors_of(const std::string &machine) const {
    const auto found = motors_of_.find(machine);
    return found == motors_of_.end() ? std::span<const std::uint32_t>() : found->second;
}

void Influence::moved(std::uint32_t device, std::uint32_t terminal, std::string_view net) {
    std::erase(at_[nets_[device][terminal]], Place{device, terminal});
    const std::uint32_t now = number(net);
    nets_[device][terminal] = now;
    at_[now].push_back({device, terminal});
}

std::optional<Group> Influence::around(const Circuit &circuit, const Ends &ends, std::size_t most) const {
    Group group;
    const auto meet = [&](std::uint32_t net) { (edge_[net] ? group.edge : group.nets).insert(net); };
    const auto meet_device = [&](std::uint32_t device) {
        if (!unfed_[device] && !stop_[device])
            group.devices.insert(device);
    };
    std::for_each(ends.nets.begin(), ends.nets.end(), meet);
    std::for_each(ends.devices.begin(), ends.devices.end(), meet_device);
    std::size_t next_net = 0, next_device = 0;
    while (next_net < group.nets.size() || next_device < group.devices.size()) {
        for (; next_net < group.nets.size(); ++next_net)
            for (const Place &place : at_[group.nets[next_net]])
                if (stop_[place.device])
                    meet(nets_[place.device][other_end(circuit, place)]);
                else
                    meet_device(place.device);
        for (; next_device < group.devices.size(); ++next_device) {
            if (group.devices.size() > most)
                return std::nullopt;
            const std::uint32_t index = group.devices[next_device];
            std::for_each(nets_[index].begin(), nets_[index].end(), meet);
            const Device &device = circuit.devices()[index];
            const auto mates = [&](const auto &map, const std::string &name) {
                if (const auto found = map.find(name); found != map.end())
                    std::for_each(found->second.begin(), found->second.end(), meet_device);
            };
            if (is_machine(device))
                mates(motors_of_, std::string(machine_of(device)));
            mates(interlocked_with_, device.designation);
            if (const auto partner = device.word("interlocked_with"))
                if (const auto found = circuit.find(*partner))
                    meet_device(found->value);
        }
    }
    return group;
}

Circuit Influence::part(const Circuit &circuit, const Group &group, const std::vector<std::uint32_t> &others) const {
    std::map<std::uint32_t, std::optional<std::vector<std::uint32_t>>> taken;
    for (const std::uint32_t device : group.devices)
        taken.emplace(device, std::nullopt);
    IndexSet edge = group.edge;
    for (const std::uint32_t net : group.edge)
        for (const std::uint32_t source : sources_[net]) {
            taken.emplace(source, std::nullopt);
            edge.insert(nets_[source].begin(), nets_[source].end());
        }
    for (const std::uint32_t net : group.nets)
        for (const Place &place : at_[net])
            if (stop_[place.device]) {
                auto &terminals = taken.try_emplace(place.device, std::in_place).first->second;
                terminals->push_back(place.terminal);
                terminals->push_back(other_end(circuit, place));
            }
    for (const std::uint32_t device : others)
        taken.try_emplace(device, std::in_place);
    std::vector<TakenDevice> devices;
    devices.reserve(taken.size());
    for (auto &[device, terminals] : taken) {
        if (terminals) {
            std::sort(terminals->begin(), terminals->end());
            terminals->erase(std::unique(terminals->begin(), terminals->end()), terminals->end());
        }
        devices.push_back({device, std::move(terminals)});
    }
    std::vector<SharedNet> shared;
    for (const std::uint32_t net : edge)
        if (!at_[net].empty()) {
            const Place first = *std::min_element(at_[net].begin(), at_[net].end());
            shared.push_back(
                {circuit.devices()[first.device].terminals[first.terminal].net, first.device, first.terminal});
        }
    return cut_out(circuit, devices, shared);
}

} // namespace stopspan
