#include "checks/repairs/parts.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::size_t most_parts = 100; // remembered
constexpr std::size_t most_helpers = 3; // contactors of a stop

} // namespace

RepairParts::Beyond RepairParts::beyond(const std::vector<std::string> &touched, const Circuit &part) {
    Beyond found;
    find_reaching();
    for (const std::string &name : touched) {
        const auto net = context_.circuit.find_net(name);
        if (!net || context_.relevance.is_pole_net(net->value))
            continue;
        found.machines.insert(machines_reaching_[net->value].begin(), machines_reaching_[net->value].end());
        found.loads.insert(loads_reaching_[net->value].begin(), loads_reaching_[net->value].end());
    }
    const auto inside = part.machines();
    std::erase_if(found.machines, [&](std::uint32_t m) {
        return std::find(inside.begin(), inside.end(), machines_[m].name) != inside.end();
    });
    std::erase_if(found.loads, [&](std::uint32_t l) {
        return part.find(context_.compiled.device_names[context_.compiled.loads[l].device]).has_value();
    });
    return found;
}

PartPointer RepairParts::with_all_influenced(const std::vector<std::string> &touched, const PartPointer &part,
                                             std::size_t most) {
    const auto [machines, loads] = beyond(touched, part->circuit);
    if (machines.empty() && loads.empty())
        return part;
    if (machines.size() > most || loads.size() > most)
        return nullptr; // not tried, so not told
    std::set<std::uint32_t> devices;
    for (const Device &device : part->circuit.devices())
        devices.insert(context_.circuit.find(device.designation)->value);
    for (const std::uint32_t m : machines)
        add_devices(machines_[m].reach, devices);
    for (const std::uint32_t l : loads)
        add_devices(reach_of_load(l), devices);
    return cut_out(devices, most_devices * 3);
}

const MachineSeen *RepairParts::machine_of(const Finding &finding) const {
    for (const std::string &subject : finding.subjects)
        for (const MachineSeen &machine : machines_)
            if (machine.name == subject)
                return &machine;
    // Contactors that fail by themselves, and the machine they run.
    for (const std::string &subject : finding.subjects)
        if (const auto id = context_.circuit.find(subject)) {
            const std::uint32_t variable = context_.compiled.variable_of[id->value];
            for (const MachineSeen &machine : machines_)
                if (std::find(machine.power_variables.begin(), machine.power_variables.end(), variable) !=
                    machine.power_variables.end())
                    return &machine;
        }
    return nullptr;
}

PartPointer RepairParts::part_of(const Finding &finding, const std::vector<std::string> &helpers) {
    std::set<std::uint32_t> devices;
    Seeds coils, ends;
    const MachineSeen *machine = machine_of(finding);
    if (machine)
        add_devices(machine->reach, devices);
    for (const std::string &subject : finding.subjects)
        if (machine && context_.small() && subject.find(':') != std::string::npos) // others feed a lost line back
            add_devices(reach_of(context_.compiled, context_.relevance, machine->seeds, Extent::everything), devices);
        else if (const auto id = context_.circuit.find(subject)) {
            devices.insert(id->value);
            const std::uint32_t variable = context_.compiled.variable_of[id->value];
            if (!machine || (variable != none && !machine->reached_by(variable)))
                for (const Device::Terminal &terminal : context_.circuit.device(*id).terminals)
                    ends.nets.push_back(terminal.net.value);
        }
    for (const std::string &helper : helpers) {
        add_with_motor(helper, devices);
        for (const Device::Terminal &terminal : context_.circuit.at(helper).terminals)
            if (terminal.name[0] == 'A')
                coils.nets.push_back(terminal.net.value);
    }
    add_reach(coils, devices);
    add_coils_at_links(devices);
    std::set<std::uint32_t> more = devices;
    add_reach(ends, more);
    return cut_out(more.size() > most_devices && machine ? devices : more, most_devices);
}

PartPointer RepairParts::part_of_all() {
    std::set<std::uint32_t> devices;
    for (std::uint32_t i = 0; i < context_.circuit.devices().size(); ++i)
        devices.insert(i);
    return cut_out(devices, most_devices);
}

PartPointer RepairParts::part_of_machines(const std::vector<std::uint32_t> &machines) {
    std::set<std::uint32_t> devices;
    for (const std::uint32_t m : machines)
        add_devices(machines_[m].reach, devices);
    return cut_out(devices, most_devices * 3);
}

void RepairParts::add_reach(const Seeds &seeds, std::set<std::uint32_t> &devices) const {
    if (!seeds.nets.empty())
        add_devices(reach_of(context_.compiled, context_.relevance, seeds, Extent::feed), devices);
}

// What a link joins a line to may be what it is there for.
void RepairParts::add_coils_at_links(std::set<std::uint32_t> &devices) const {
    std::vector<std::uint32_t> coils;
    for (const std::uint32_t index : devices)
        if (const Device &device = context_.circuit.devices()[index]; device.kind == DeviceKind::link)
            for (const Device::Terminal &end : device.terminals)
                if (!context_.relevance.is_pole_net(end.net.value))
                    for (const std::uint32_t i : context_.lookup.impedances_at[end.net.value])
                        if (context_.compiled.impedances[i].armature != none)
                            coils.push_back(context_.compiled.impedances[i].device);
    devices.insert(coils.begin(), coils.end());
}

// A contactor with the motor straight behind its poles or behind an overload: from there nothing else is fed.
void RepairParts::add_with_motor(const std::string &contactor, std::set<std::uint32_t> &devices) const {
    const std::uint32_t index = context_.circuit.find(contactor)->value;
    devices.insert(index);
    std::vector<std::uint32_t> nets;
    for (const std::uint32_t i : context_.lookup.poles_of[context_.compiled.variable_of[index]])
        nets.insert(nets.end(), {context_.compiled.switches[i].a, context_.compiled.switches[i].b});
    const std::size_t own = nets.size();
    for (std::size_t k = 0; k < nets.size(); ++k) {
        if (context_.relevance.is_pole_net(nets[k]))
            continue;
        for (const std::uint32_t i : context_.lookup.switches_at[nets[k]]) {
            const Switch &contact = context_.compiled.switches[i];
            if (k < own && contact.pole && contact.variable == none) { // an overload
                devices.insert(contact.device);
                nets.push_back(contact.a == nets[k] ? contact.b : contact.a);
            }
        }
        for (const std::uint32_t i : context_.lookup.impedances_at[nets[k]])
            if (const std::uint32_t device = context_.compiled.impedances[i].device;
                context_.lookup.motor_of[device] != none)
                devices.insert(device);
    }
}

std::vector<std::string> RepairParts::helpers_of(const Finding &finding) const {
    std::vector<std::string> names;
    const MachineSeen *machine = machine_of(finding);
    const auto id = context_.circuit.find(finding.subjects[0]);
    if (finding.rule != "stop-cuts" || !machine || !id)
        return names;
    const std::uint32_t variable = context_.compiled.variable_of[id->value];
    if (variable == none || machine->reached_by(variable))
        return names;
    std::vector<std::uint32_t> nets;
    for (const std::uint32_t i : context_.lookup.switches_of[variable])
        for (const std::uint32_t net : {context_.compiled.switches[i].a, context_.compiled.switches[i].b})
            if (!context_.relevance.is_pole_net(net))
                nets.push_back(net);
    for (const std::uint32_t i : context_.relevance.around(nets, {}).impedances) {
        const Impedance &coil = context_.compiled.impedances[i];
        const DeviceKind kind = context_.circuit.devices()[coil.device].kind;
        const std::string &name = context_.compiled.device_names[coil.device];
        if (coil.armature != none && (kind == DeviceKind::contactor || kind == DeviceKind::relay) &&
            names.size() < most_helpers && std::find(names.begin(), names.end(), name) == names.end())
            names.push_back(name);
    }
    return names;
}

void RepairParts::add_devices(const Reach &reach, std::set<std::uint32_t> &devices) const {
    for (const std::uint32_t i : reach.switches)
        devices.insert(context_.compiled.switches[i].device);
    for (const std::uint32_t i : reach.impedances)
        devices.insert(context_.compiled.impedances[i].device);
    for (const std::uint32_t v : reach.variables)
        devices.insert(context_.compiled.variables[v].device);
    for (const std::uint32_t i : reach.sources)
        devices.insert(context_.compiled.sources[i].device);
}

// Cut out once, however many findings ask for it.
PartPointer RepairParts::cut_out(const std::set<std::uint32_t> &devices, std::size_t most) {
    if (devices.size() > most || network_work() > end_of_work_)
        return nullptr;
    Circuit circuit;
    for (const std::uint32_t index : devices) {
        const Device &device = context_.circuit.devices()[index];
        std::vector<Connection> connections;
        for (const Device::Terminal &terminal : device.terminals)
            connections.push_back({terminal.name, context_.circuit.net_name(terminal.net)});
        circuit.add(device.designation, device.kind, connections, device.parameters);
    }
    for (const PartPointer &part : parts_)
        if (part->circuit == circuit)
            return part;
    const std::size_t work = network_work();
    Behaviour before = trial(circuit, nullptr);
    parts_.push_front(std::make_shared<const RepairPart>(std::move(circuit), std::move(before), network_work() - work));
    if (parts_.size() > most_parts)
        parts_.pop_back();
    return parts_.front();
}

Reach RepairParts::reach_of_load(std::uint32_t index) const {
    const LoadSeen &load = context_.compiled.loads[index];
    const Seeds seeds{.nets = {load.a, load.b}, .power = {}, .loads = context_.lookup.impedances_of[load.device]};
    return reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
}

void RepairParts::find_reaching() {
    if (!machines_reaching_.empty())
        return;
    machines_reaching_.resize(context_.compiled.net_count);
    loads_reaching_.resize(context_.compiled.net_count);
    for (const MachineSeen &machine : machines_)
        for (const std::uint32_t net : machine.reach.nets)
            machines_reaching_[net].push_back(machine.index);
    for (std::uint32_t i = 0; i < context_.compiled.loads.size(); ++i)
        for (const std::uint32_t net : reach_of_load(i).nets)
            loads_reaching_[net].push_back(i);
}
} // namespace stopspan
