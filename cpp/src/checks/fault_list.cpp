#include "checks/fault_list.hpp"

#include "checks/feeding.hpp"
#include "checks/hanging.hpp"
#include "checks/left_out.hpp"
#include "checks/owners.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>
#include <functional>
#include <set>

namespace stopspan {
namespace {

// Which machines have a net, a device or an overload among what can act on them.
class Concerned {
public:
    using List = std::vector<std::uint32_t>;
    Concerned(const Context &context, const std::vector<MachineSeen> &machines)
        : at_net_(context.compiled.net_count), at_variable_(context.compiled.variables.size()),
          trips_(context.compiled.variables.size()), asked_(context.stops.size()),
          asks_(context.compiled.net_count, 0) {
        for (const Armature &armature : context.compiled.armatures)
            for_asking_nets(armature, [&](std::uint32_t net) { asks_[net] = !context.relevance.is_pole_net(net); });
        for (std::uint32_t m = 0; m < machines.size(); ++m) {
            const auto put = [m](std::vector<List> &at, std::uint32_t where) {
                if (at[where].empty() || at[where].back() != m)
                    at[where].push_back(m);
            };
            for (const std::uint32_t net : machines[m].reach.nets)
                put(at_net_, net);
            for (const std::uint32_t variable : machines[m].reach.variables)
                put(at_variable_, variable);
            // The nearest feed of its power is not all that a fault may let feed it.
            for (const std::uint32_t i : context.relevance.any_way({}, machines[m].seeds.power).switches) {
                const Switch &contact = context.compiled.switches[i];
                put(at_net_, contact.a);
                put(at_net_, contact.b);
                if (contact.variable != none)
                    put(at_variable_, contact.variable);
            }
            for (const std::uint32_t overload : machines[m].overloads)
                trips_[overload].push_back(m);
            for (const auto &[stop, asked] : machines[m].asked)
                if (asked == Asked::cut)
                    asked_[stop].push_back(m);
        }
    }
    const List &net(std::uint32_t net) const { return at_net_[net]; }
    const List &variable(std::uint32_t variable) const { return at_variable_[variable]; }
    const List &trip(std::uint32_t variable) const { return trips_[variable]; }
    const List &stop(std::uint32_t stop) const { return asked_[stop]; }
    // Conductors that touch lead past the machines they belong to, to all that the control circuit feeds: to a coil,
    // too, that stands where a power pole ends.
    List circuit(const ControlCircuit &circuit) const {
        std::set<std::uint32_t> all;
        for (const std::uint32_t net : circuit.nets)
            all.insert(at_net_[net].begin(), at_net_[net].end());
        for (const std::uint32_t net : circuit.borders)
            if (asks_[net])
                all.insert(at_net_[net].begin(), at_net_[net].end());
        return {all.begin(), all.end()};
    }

private:
    std::vector<List> at_net_, at_variable_, trips_, asked_;
    std::vector<std::uint8_t> asks_; ///< per net: an armature asks for its potential, and no source stands on it
};

// Which machines two conductors of a control circuit that touch can matter to: those that get a way they did not have.
// What hangs at one net of a machine's circuit leads nowhere, and two such things at the same net do not either; save
// where what hangs draws on volts that are not the full ones of a source.
class Touching {
public:
    Touching(const Context &context, const std::vector<MachineSeen> &machines, Concerned::List concerned,
             const std::function<bool(std::uint32_t machine)> &full_volts)
        : machines_(std::move(concerned)) {
        for (const std::uint32_t machine : machines_) {
            hanging_.emplace_back(context, machines[machine]);
            full_volts_.push_back(full_volts(machine));
        }
    }
    const Concerned::List &all() const { return machines_; }
    Concerned::List of(std::uint32_t a, std::uint32_t b) {
        Concerned::List found;
        for (std::size_t m = 0; m < machines_.size(); ++m) {
            const std::set<std::uint32_t> &from_a = hanging_[m].of(a), &from_b = hanging_[m].of(b);
            if (!full_volts_[m] || from_a.size() > 1 || from_b.size() > 1 ||
                (!from_a.empty() && !from_b.empty() && from_a != from_b))
                found.push_back(machines_[m]);
        }
        return found;
    }

private:
    Concerned::List machines_;
    std::vector<Hanging> hanging_;         ///< per machine
    std::vector<std::uint8_t> full_volts_; ///< likewise
};

/// The order of single_faults().
enum Phase : std::uint32_t { devices, touching, touching_at_loops, across_contacts, broken_wires };

class Lister {
public:
    Lister(const Context &context, const std::vector<MachineSeen> &machines)
        : context_(context), compiled_(context.compiled), machines_(machines), concerned_(context, machines),
          left_out_(context), owners_(owners_of_nets(context.circuit, context.compiled)) {}

    FaultList earths() {
        for (const ControlCircuit &circuit : control_circuits(context_)) {
            const auto machines = concerned_.circuit(circuit);
            stand_at(circuit);
            for (const std::uint32_t net : circuit.nets)
                add({Fault::Kind::earth, none, net, none, {}, "earth " + compiled_.net_names[net]}, machines);
        }
        return std::move(found_);
    }

    FaultList all() {
        for (std::uint32_t v = 0; v < compiled_.variables.size(); ++v)
            add_device(v);
        std::set<std::pair<std::uint32_t, std::uint32_t>> bridged;
        const auto bridge = [&](std::uint32_t a, std::uint32_t b, const Concerned::List &machines) {
            if (bridged.insert(std::minmax(a, b)).second)
                add({Fault::Kind::bridge,
                     none,
                     std::min(a, b),
                     std::max(a, b),
                     {},
                     "bridge " + compiled_.net_names[std::min(a, b)] + " " + compiled_.net_names[std::max(a, b)]},
                    machines);
        };
        const std::vector<ControlCircuit> circuits = control_circuits(context_);
        for (const ControlCircuit &circuit : circuits) {
            Touching touching(context_, machines_, concerned_.circuit(circuit),
                              [&](std::uint32_t machine) { return fed_by_contacts_only(machine); });
            stand_at(circuit);
            for (std::size_t i = 0; i < circuit.nets.size(); ++i) {
                for (std::size_t j = i + 1; j < circuit.nets.size(); ++j)
                    bridge(circuit.nets[i], circuit.nets[j], touching.of(circuit.nets[i], circuit.nets[j]));
                for (const std::uint32_t border : circuit.borders)
                    bridge(circuit.nets[i], border, touching.all());
            }
        }
        for (const Switch &contact : compiled_.switches) // a start button across a pole stands in no control circuit
            if (!contact.pole && contact.variable != none && contact.a != contact.b &&
                compiled_.variables[contact.variable].kind == Variable::Kind::actuator) {
                // What touches a pole may matter to all that hang on it.
                stand(context_.relevance.is_pole_net(contact.a) ? none : owner_at(contact),
                      {across_contacts, contact.device, Order::at_terminal(contact.terminal)});
                bridge(contact.a, contact.b, concerned_.net(contact.a));
            }
        add_broken_wires(circuits);
        return std::move(found_);
    }

private:
    void stand(std::uint32_t device, const Order &order) {
        device_ = device;
        order_ = order;
    }
    void stand_at(const ControlCircuit &circuit) {
        stand(circuit.device, {circuit.of_loop ? touching_at_loops : touching, circuit.device, 0});
    }
    bool is_stop(std::uint32_t device) const {
        const std::uint32_t variable = compiled_.variable_of[device];
        return variable != none && context_.stop_of[variable] != none;
    }
    // A stop stands in several places, each of its contacts in one.
    std::uint32_t owner_at(const Switch &contact) const {
        if (!is_stop(contact.device))
            return contact.device;
        return owners_[context_.relevance.is_pole_net(contact.a) ? contact.b : contact.a];
    }

    void add(Fault fault, std::vector<std::uint32_t> machines) {
        if (machines.empty())
            return;
        const auto exclusions = left_out_.by(fault);
        for (const std::string_view id : exclusions)
            ++found_.left_out[id];
        if (exclusions.empty())
            found_.cases.push_back({std::move(fault), std::move(machines), device_, order_});
    }

    void add_device(std::uint32_t variable) {
        const std::uint32_t device = compiled_.variables[variable].device;
        const std::string &name = compiled_.device_names[device];
        const auto fault = [&](Fault::Kind kind, const char *verb) {
            return Fault{kind, device, none, none, {}, std::string(verb) + name};
        };
        stand(device, {devices, device, 0});
        switch (compiled_.variables[variable].kind) {
        case Variable::Kind::actuator:
            if (const std::uint32_t stop = context_.stop_of[variable]; stop != none) {
                if (context_.contacts_of(variable) == 1)
                    add(fault(Fault::Kind::detach, "detach "), concerned_.stop(stop));
                order_.detail = 1;
                add(fault(Fault::Kind::jam, "jam "), concerned_.stop(stop));
            } else {
                add(fault(Fault::Kind::jam, "jam "), concerned_.variable(variable));
            }
            add_detached_blocks(variable);
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

    // A stop of the site acts on many machines, each of its contacts on few.
    Concerned::List acted_on(const Switch &contact) const {
        if (context_.relevance.is_pole_net(contact.a) && context_.relevance.is_pole_net(contact.b))
            return concerned_.variable(contact.variable);
        std::set<std::uint32_t> machines;
        for (const std::uint32_t net : {contact.a, contact.b})
            if (!context_.relevance.is_pole_net(net))
                machines.insert(concerned_.net(net).begin(), concerned_.net(net).end());
        return {machines.begin(), machines.end()};
    }

    // The only block of a start button that comes off takes no more away than the button left alone does.
    void add_detached_blocks(std::uint32_t variable) {
        const auto contacts = context_.lookup.switches_of[variable];
        const bool one = context_.contacts_of(variable) == 1;
        const std::uint32_t device = compiled_.variables[variable].device;
        for (const std::uint32_t i : contacts) {
            const Switch &contact = compiled_.switches[i];
            const bool closed = contact.closed_at & 1;
            if (contact.a == contact.b || (one && (!closed || context_.stop_of[variable] != none)))
                continue;
            const std::string first = contact_at(context_.circuit.devices()[device], contact.terminal)->first;
            const bool straight =
                context_.relevance.is_pole_net(contact.a) && context_.relevance.is_pole_net(contact.b);
            stand(straight && is_stop(device) ? none : owner_at(contact),
                  {devices, device, Order::at_terminal(contact.terminal)});
            add({closed ? Fault::Kind::stays_closed : Fault::Kind::stays_open, device, contact.a, contact.b,
                 closed ? std::string() : first, "detach " + compiled_.device_names[device] + ":" + first},
                acted_on(contact));
        }
    }

    // Whose volts are not the full ones of a source may get more where something that draws on them comes off.
    Concerned::List fed_past(std::uint32_t net, const Concerned::List &machines) {
        Concerned::List found = concerned_.net(net);
        for (const std::uint32_t machine : machines)
            if (std::find(found.begin(), found.end(), machine) == found.end() && !fed_by_contacts_only(machine))
                found.push_back(machine);
        std::sort(found.begin(), found.end());
        return found;
    }

    bool fed_by_contacts_only(std::uint32_t machine) {
        const auto [known, fresh] = fed_by_contacts_only_.try_emplace(machine, false);
        if (fresh) {
            if (!structure_)
                structure_.emplace(context_.structure);
            const MachineSeen &one = machines_[machine];
            known->second = FarReach(context_, *structure_, one.seeds, &one).fed_by_contacts_only();
        }
        return known->second;
    }

    // A terminal alone on its net has no wire; one of a pair takes the same wire off as the other. In the power circuit
    // a wire that comes off only takes power away.
    void add_broken_wires(const std::vector<ControlCircuit> &circuits) {
        std::vector<std::uint32_t> circuit_of(compiled_.net_count, none);
        std::vector<Concerned::List> machines;
        for (const ControlCircuit &circuit : circuits) {
            for (const std::uint32_t net : circuit.nets)
                circuit_of[net] = static_cast<std::uint32_t>(machines.size());
            machines.push_back(concerned_.circuit(circuit));
        }
        std::vector<std::uint32_t> terminals_at(compiled_.net_count, 0);
        for (const Device &device : context_.circuit.devices())
            for (const auto &terminal : device.terminals)
                ++terminals_at[terminal.net.value];
        std::vector<std::uint8_t> told(compiled_.net_count, 0);
        for (std::uint32_t d = 0; d < context_.circuit.devices().size(); ++d) {
            const Device &device = context_.circuit.devices()[d];
            for (const auto &terminal : device.terminals) {
                const std::uint32_t net = terminal.net.value;
                if (circuit_of[net] == none || terminals_at[net] < 2 ||
                    (terminals_at[net] == 2 && std::exchange(told[net], std::uint8_t{1})))
                    continue;
                stand(is_stop(d) ? owners_[net] : d,
                      {broken_wires, d,
                       Order::at_terminal(static_cast<std::uint32_t>(&terminal - device.terminals.data()))});
                add({Fault::Kind::broken, d, net, none, terminal.name,
                     "break " + device.designation + ":" + terminal.name},
                    fed_past(net, machines[circuit_of[net]]));
            }
        }
    }

    const Context &context_;
    const Compiled &compiled_;
    const std::vector<MachineSeen> &machines_;
    Concerned concerned_;
    LeftOut left_out_;
    std::vector<std::uint32_t> owners_; ///< per net
    std::uint32_t device_ = none;       ///< of the next faults
    Order order_;
    std::optional<Structure> structure_;
    std::map<std::uint32_t, bool> fed_by_contacts_only_; ///< of those asked
    FaultList found_;
};

} // namespace

bool is_of_stop(const Context &context, const Fault &fault) {
    if (fault.kind != Fault::Kind::jam && fault.kind != Fault::Kind::detach)
        return false;
    return context.stop_of[context.compiled.variable_of[fault.device]] != none;
}

std::vector<ControlCircuit> control_circuits(const Context &context) {
    const Compiled &compiled = context.compiled;
    const Lookup &lookup = context.lookup;
    std::vector<std::uint8_t> boundary(compiled.net_count, 0), met(compiled.net_count, 0);
    for (std::uint32_t net = 0; net < compiled.net_count; ++net)
        boundary[net] = context.relevance.is_pole_net(net);
    for (const Switch &contact : compiled.switches)
        if (contact.pole)
            boundary[contact.a] = boundary[contact.b] = 1;
    std::vector<ControlCircuit> circuits;
    const auto follow = [&](std::uint32_t start, std::uint32_t device, bool of_loop) {
        if (start == none || met[start] || context.relevance.is_pole_net(start))
            return;
        met[start] = 1;
        ControlCircuit circuit{{start}, {}, device, of_loop};
        const auto arrive = [&](std::uint32_t net, bool contact) {
            if (boundary[net] && !met[net]) {
                if (contact)
                    circuit.borders.push_back(net);
            } else if (!met[net]) {
                met[net] = 1;
                circuit.nets.push_back(net);
            }
        };
        for (std::size_t k = 0; k < circuit.nets.size(); ++k) {
            const std::uint32_t net = circuit.nets[k];
            for (const std::uint32_t i : lookup.switches_at[net]) {
                const Switch &contact = compiled.switches[i];
                const std::uint32_t v = contact.variable;
                if (!contact.pole && contact.closed_at != 0)
                    arrive(contact.a == net ? contact.b : contact.a,
                           v != none && compiled.variables[v].kind != Variable::Kind::fuse);
            }
            for (const std::uint32_t i : lookup.impedances_at[net]) {
                const Impedance &wire = compiled.impedances[i];
                const DeviceKind kind = context.circuit.devices()[wire.device].kind;
                if (kind == DeviceKind::cable || kind == DeviceKind::resistor)
                    arrive(wire.a == net ? wire.b : wire.a, false);
            }
        }
        std::sort(circuit.nets.begin(), circuit.nets.end());
        std::sort(circuit.borders.begin(), circuit.borders.end());
        const auto same = std::unique(circuit.borders.begin(), circuit.borders.end());
        circuit.borders.erase(same, circuit.borders.end());
        circuits.push_back(std::move(circuit));
    };
    for (const Armature &armature : compiled.armatures)
        for (const std::uint32_t net : asking_nets(armature))
            follow(net, armature.device, false);
    for (const MotorSeen &motor : compiled.motors) // loops of a drive
        for (const std::uint32_t net :
             {motor.run.first, motor.run.second, motor.torque_off.first, motor.torque_off.second})
            follow(net, motor.device, true);
    return circuits;
}

FaultList earth_faults(const Context &context, const std::vector<MachineSeen> &machines) {
    return Lister(context, machines).earths();
}

FaultList single_faults(const Context &context, const std::vector<MachineSeen> &machines) {
    return Lister(context, machines).all();
}

} // namespace stopspan
