#include "checks/fault_list.hpp"

#include "checks/left_out.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>
#include <numeric>

namespace stopspan {
namespace {

// Which machines have a net, a device or an overload among what can act on them.
class Concerned {
public:
    Concerned(const Context &context, const std::vector<MachineSeen> &machines)
        : at_net_(context.compiled.net_count), at_variable_(context.compiled.variables.size()),
          trips_(context.compiled.variables.size()), asked_(context.stops.size()) {
        for (std::uint32_t m = 0; m < machines.size(); ++m) {
            for (const std::uint32_t net : machines[m].reach.nets)
                at_net_[net].push_back(m);
            for (const std::uint32_t variable : machines[m].reach.variables)
                at_variable_[variable].push_back(m);
            for (const std::uint32_t overload : machines[m].overloads)
                trips_[overload].push_back(m);
            for (const auto &[stop, asked] : machines[m].asked)
                if (asked == Asked::cut)
                    asked_[stop].push_back(m);
        }
    }
    using List = std::vector<std::uint32_t>;
    const List &net(std::uint32_t net) const { return at_net_[net]; }
    const List &variable(std::uint32_t variable) const { return at_variable_[variable]; }
    const List &trip(std::uint32_t variable) const { return trips_[variable]; }
    const List &stop(std::uint32_t stop) const { return asked_[stop]; }
    List nets(std::uint32_t a, std::uint32_t b) const {
        List both;
        std::set_intersection(at_net_[a].begin(), at_net_[a].end(), at_net_[b].begin(), at_net_[b].end(),
                              std::back_inserter(both));
        return both;
    }

private:
    std::vector<List> at_net_, at_variable_, trips_, asked_;
};

class Lister {
public:
    Lister(const Context &context, const std::vector<MachineSeen> &machines)
        : context_(context), compiled_(context.compiled), concerned_(context, machines), left_out_(context) {}

    FaultList earths() {
        std::set<std::uint32_t> seen;
        for (const auto &circuit : control_circuits(context_))
            for (const std::uint32_t net : circuit)
                if (seen.insert(net).second)
                    add({Fault::Kind::earth, none, net, none, {}, "earth " + compiled_.net_names[net]},
                        concerned_.net(net));
        return std::move(found_);
    }

    FaultList all() {
        for (std::uint32_t v = 0; v < compiled_.variables.size(); ++v)
            add_device(v);
        std::set<std::pair<std::uint32_t, std::uint32_t>> pairs;
        std::set<std::uint32_t> control;
        for (const auto &circuit : control_circuits(context_)) {
            control.insert(circuit.begin(), circuit.end());
            for (std::size_t i = 0; i < circuit.size(); ++i)
                for (std::size_t j = i + 1; j < circuit.size(); ++j)
                    pairs.insert(std::minmax(circuit[i], circuit[j]));
        }
        for (const Switch &contact : compiled_.switches) // a start button across a pole stands in no control circuit
            if (!contact.pole && contact.variable != none && contact.a != contact.b &&
                compiled_.variables[contact.variable].kind == Variable::Kind::actuator)
                pairs.insert(std::minmax(contact.a, contact.b));
        for (const auto &[a, b] : pairs)
            add({Fault::Kind::bridge,
                 none,
                 a,
                 b,
                 {},
                 "bridge " + compiled_.net_names[a] + " " + compiled_.net_names[b]},
                concerned_.nets(a, b));
        add_broken_wires(control);
        return std::move(found_);
    }

private:
    void add(Fault fault, std::vector<std::uint32_t> machines) {
        if (machines.empty())
            return;
        const auto exclusions = left_out_.by(fault);
        for (const std::string_view id : exclusions)
            ++found_.left_out[id];
        if (exclusions.empty())
            found_.cases.push_back({std::move(fault), std::move(machines)});
    }

    void add_device(std::uint32_t variable) {
        const std::uint32_t device = compiled_.variables[variable].device;
        const std::string &name = compiled_.device_names[device];
        const auto fault = [&](Fault::Kind kind, const char *verb) {
            return Fault{kind, device, none, none, {}, std::string(verb) + name};
        };
        switch (compiled_.variables[variable].kind) {
        case Variable::Kind::actuator:
            if (context_.stop_of[variable] != none) {
                add(fault(Fault::Kind::detach, "detach "), concerned_.stop(context_.stop_of[variable]));
                add(fault(Fault::Kind::jam, "jam "), concerned_.stop(context_.stop_of[variable]));
            } else {
                add(fault(Fault::Kind::jam, "jam "), concerned_.variable(variable));
            }
            break;
        case Variable::Kind::overload:
            add(fault(Fault::Kind::blind, "blind "), concerned_.trip(variable));
            break;
        case Variable::Kind::armature:
            switch (context_.circuit.devices()[device].kind) {
            case DeviceKind::contactor:
            case DeviceKind::relay:
            case DeviceKind::latched_contactor:
                add(fault(Fault::Kind::weld, "weld "), concerned_.variable(variable));
                break;
            default:
                break;
            }
            break;
        default:
            break;
        }
    }

    // A terminal alone on its net has no wire; one of a pair takes the same wire off as the other. In the power circuit
    // a wire that comes off only takes power away.
    void add_broken_wires(const std::set<std::uint32_t> &control) {
        std::vector<std::uint32_t> terminals_at(compiled_.net_count, 0);
        for (const Device &device : context_.circuit.devices())
            for (const auto &terminal : device.terminals)
                ++terminals_at[terminal.net.value];
        std::vector<std::uint8_t> told(compiled_.net_count, 0);
        for (std::uint32_t d = 0; d < context_.circuit.devices().size(); ++d) {
            const Device &device = context_.circuit.devices()[d];
            for (const auto &terminal : device.terminals) {
                const std::uint32_t net = terminal.net.value;
                if (!control.contains(net) || terminals_at[net] < 2 ||
                    (terminals_at[net] == 2 && std::exchange(told[net], std::uint8_t{1})))
                    continue;
                add({Fault::Kind::broken, d, net, none, terminal.name,
                     "break " + device.designation + ":" + terminal.name},
                    concerned_.net(net));
            }
        }
    }

    const Context &context_;
    const Compiled &compiled_;
    Concerned concerned_;
    LeftOut left_out_;
    FaultList found_;
};

} // namespace

std::vector<std::vector<std::uint32_t>> control_circuits(const Context &context) {
    const Compiled &compiled = context.compiled;
    std::vector<std::uint8_t> boundary(compiled.net_count, 0), met(compiled.net_count, 0);
    for (std::uint32_t net = 0; net < compiled.net_count; ++net)
        boundary[net] = context.relevance.is_pole_net(net);
    for (const Switch &contact : compiled.switches)
        if (contact.pole)
            boundary[contact.a] = boundary[contact.b] = 1;
    std::vector<std::vector<std::uint32_t>> circuits;
    const auto follow = [&](std::uint32_t start) {
        if (start == none || met[start] || context.relevance.is_pole_net(start))
            return;
        met[start] = 1;
        std::vector<std::uint32_t> nets{start};
        for (std::size_t k = 0; k < nets.size(); ++k)
            for (const std::uint32_t i : context.lookup.switches_at[nets[k]]) {
                const Switch &contact = compiled.switches[i];
                const std::uint32_t far = contact.a == nets[k] ? contact.b : contact.a;
                if (contact.pole || contact.closed_at == 0 || boundary[far] || met[far])
                    continue;
                met[far] = 1;
                nets.push_back(far);
            }
        std::sort(nets.begin(), nets.end());
        circuits.push_back(std::move(nets));
    };
    for (const Armature &armature : compiled.armatures)
        for (const std::uint32_t net : asking_nets(armature))
            follow(net);
    for (const MotorSeen &motor : compiled.motors) // loops of a drive
        for (const std::uint32_t net :
             {motor.run.first, motor.run.second, motor.torque_off.first, motor.torque_off.second})
            follow(net);
    return circuits;
}

FaultList earth_faults(const Context &context, const std::vector<MachineSeen> &machines) {
    return Lister(context, machines).earths();
}

FaultList single_faults(const Context &context, const std::vector<MachineSeen> &machines) {
    return Lister(context, machines).all();
}

} // namespace stopspan
