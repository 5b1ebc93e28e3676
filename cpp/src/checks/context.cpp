#include "checks/context.hpp"

#include "base/add_unique.hpp"
#include "base/parallel.hpp"
#include "base/words.hpp"

#include <algorithm>
#include <optional>
#include <unordered_set>

namespace stopspan {
namespace {

// Past this many cells the matrix leaves out those where nothing is asked and nothing is cut.
constexpr std::size_t most_cells = 100'000;

bool reset_like(Role role) {
    return role == Role::reset;
}
bool start_like(Role role) {
    return role == Role::start || role == Role::jog;
}

// Does the overload carry current of these motors? With its poles cut some terminal has no way to a source left; on a
// shared bus its poles also stand on ways that lead about, through its own motor's contactors.
bool carries(const Context &context, const std::vector<const MotorSeen *> &motors, std::uint32_t overload) {
    const Compiled &compiled = context.compiled;
    const auto reaches_a_pole = [&](std::uint32_t terminal) {
        IndexSet seen;
        seen.insert(terminal);
        for (std::size_t k = 0; k < seen.size(); ++k) {
            const std::uint32_t net = seen[k];
            if (context.relevance.is_pole_net(net))
                return true;
            for (const std::uint32_t i : context.lookup.switches_at[net]) {
                const Switch &contact = compiled.switches[i];
                if (contact.closed_at != 0 && contact.device != compiled.variables[overload].device)
                    seen.insert(contact.a == net ? contact.b : contact.a);
            }
        }
        return false;
    };
    return std::any_of(motors.begin(), motors.end(), [&](const MotorSeen *motor) {
        return !std::all_of(motor->nets.begin(), motor->nets.end(), reaches_a_pole);
    });
}

// Hand devices that these are contacts of, in the order of the circuit.
template <class Switches>
std::vector<std::uint32_t> actuators_of(const Compiled &compiled, const Switches &switches) {
    std::vector<std::uint32_t> actuators;
    for (const std::uint32_t i : switches)
        if (const std::uint32_t v = compiled.switches[i].variable;
            v != none && compiled.variables[v].kind == Variable::Kind::actuator)
            actuators.push_back(v);
    std::sort(actuators.begin(), actuators.end());
    actuators.erase(std::unique(actuators.begin(), actuators.end()), actuators.end());
    return actuators;
}

// What can lead current into a coil, beside another coil.
bool leads_current(DeviceKind kind) {
    return kind == DeviceKind::resistor || kind == DeviceKind::capacitor || kind == DeviceKind::cable ||
           kind == DeviceKind::lamp || kind == DeviceKind::load;
}

// Contacts that join two nets when they close: each has one of the nets on either side of it.
std::vector<std::uint32_t> contacts_between(const Context &context, std::pair<std::uint32_t, std::uint32_t> loop) {
    const auto reached = [&](std::uint32_t from, std::uint32_t left_out) {
        std::vector<std::uint32_t> queue{from};
        std::set<std::uint32_t> seen{from};
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (const std::uint32_t i : context.lookup.switches_at[queue[k]]) {
                const Switch &contact = context.compiled.switches[i];
                const std::uint32_t next = contact.a == queue[k] ? contact.b : contact.a;
                if (i != left_out && !context.relevance.is_pole_net(next) && seen.insert(next).second)
                    queue.push_back(next);
            }
        return seen;
    };
    std::set<std::uint32_t> about;
    for (const std::uint32_t net : reached(loop.first, none))
        about.insert(context.lookup.switches_at[net].begin(), context.lookup.switches_at[net].end());
    std::vector<std::uint32_t> found;
    for (const std::uint32_t i : about) {
        const Switch &contact = context.compiled.switches[i];
        const std::set<std::uint32_t> one = reached(loop.first, i), other = reached(loop.second, i);
        if ((one.contains(contact.a) && other.contains(contact.b)) ||
            (one.contains(contact.b) && other.contains(contact.a)))
            found.push_back(i);
    }
    return found;
}

} // namespace

void Targets::set(const std::string &machine, const std::string &stop, Target target) {
    if (target != Target::no_fault)
        of_machines_[machine][stop] = target;
    else if (const auto before = of_machines_.find(machine); before != of_machines_.end())
        before->second.erase(stop);
}

Target Targets::of(std::string_view machine, std::string_view stop) const {
    if (const auto of_machine = of_machines_.find(machine); of_machine != of_machines_.end())
        if (const auto of_stop = of_machine->second.find(stop); of_stop != of_machine->second.end())
            return of_stop->second;
    return Target::no_fault;
}

Target Targets::strictest_of(std::string_view machine) const {
    Target strictest = Target::no_fault;
    if (const auto of_machine = of_machines_.find(machine); of_machine != of_machines_.end())
        for (const auto &[stop, target] : of_machine->second)
            strictest = std::max(strictest, target);
    return strictest;
}

Target Targets::strictest() const {
    Target strictest = Target::no_fault;
    for (const auto &[machine, stops] : of_machines_)
        strictest = std::max(strictest, strictest_of(machine));
    return strictest;
}

Context::Context(const Circuit &source, const CheckOptions &wanted, const CutOutOf *whole)
    : circuit(source), options(wanted),
      rule_set(wanted.rule_set.empty() ? rule_sets().front() : stopspan::rule_set(wanted.rule_set)),
      compiled(compile(source, whole)), relevance(compiled), lookup(relevance.lookup()),
      stop_of(compiled.variables.size(), none), structure(compiled), whole_(whole) {
    for (std::uint32_t v = 0; v < compiled.variables.size(); ++v) {
        actors.push_back({});
        const Device &device = circuit.devices()[compiled.variables[v].device];
        actors[v].designation = device.designation;
        if (!is_actuator(device.kind))
            continue;
        actors[v].action = action_of(device);
        actors[v].role = role_of(device);
        if (const auto machine = machine_of(device); !machine.empty() && actors[v].role != Role::stop)
            declared_starts[std::string(machine)].push_back(v);
        if (actors[v].role == Role::stop) {
            stop_of[v] = static_cast<std::uint32_t>(stops.size());
            stops.push_back({device.designation, v, static_cast<int>(device.number("stop_category").value_or(0))});
        }
    }
    variables = whole ? whole->variables : compiled.variables.size();
    every_cell =
        whole ? whole->every_cell : stops.size() * (compiled.machines.size() + compiled.loads.size()) <= most_cells;
    loads_at.resize(compiled.net_count);
    for (const Impedance &one : compiled.impedances) {
        if (one.armature == none && !leads_current(circuit.devices()[one.device].kind))
            continue;
        for (const auto &[net, far] : {std::pair{one.a, one.b}, {one.b, one.a}}) {
            Loads &loads = loads_at[net];
            if (relevance.is_pole_net(net) || net == far)
                continue;
            if (!relevance.is_pole_net(far) || (loads.pole != none && loads.pole != far))
                loads.through = true;
            loads.pole = far;
        }
    }

    for (const std::string &id : options.rules)
        wanted_rules.push_back(rule_info(id).id);
    wanted_rules.insert(wanted_rules.end(), rule_set.rules.begin(), rule_set.rules.end());
    for (const auto &[name, value] : options.limits)
        check_limit(name, value);
    for (const Waiver &waiver : options.waivers)
        check_waiver(waiver);
    for (const std::string &id : options.fault_exclusions)
        (void)fault_exclusion(id);
    for (const FaultExclusion &each : fault_exclusions())
        if (std::find(options.fault_exclusions.begin(), options.fault_exclusions.end(), each.id) !=
            options.fault_exclusions.end())
            exclusions.push_back(each.id);

    if (options.asked) {
        read_asked(*options.asked);
        return;
    }
    const bool one_machine = compiled.machines.size() == 1;
    for (std::uint32_t i = 0; i < stops.size(); ++i)
        if (one_machine || circuit.at(stops[i].name).kind == DeviceKind::emergency_stop)
            for (const std::string &machine : compiled.machines)
                set_target(machine, i, asked[machine].emplace_back(i, Asked::cut).second, Target::no_fault);
}

void Context::set_target(const std::string &machine, std::uint32_t stop, Asked effect, Target target) {
    targets.set(machine, stops[stop].name, effect == Asked::cut ? std::max(target, options.target) : Target::no_fault);
}

void Context::read_asked(const std::vector<AskedCell> &cells) {
    std::unordered_set<std::string_view> columns(compiled.machines.begin(), compiled.machines.end());
    for (const LoadSeen &load : compiled.loads)
        columns.insert(compiled.device_names[load.device]);
    AskedOfStops *last = nullptr; // cells of one machine mostly come one after the other
    const std::string *last_name = nullptr;
    for (const AskedCell &cell : cells) {
        const auto device = circuit.find(cell.stop);
        const std::uint32_t variable = device ? compiled.variable_of[device->value] : none;
        const std::uint32_t stop = variable == none ? none : stop_of[variable];
        if (stop == none) {
            std::set<std::string> known;
            for (const StopSeen &each : stops)
                known.insert(each.name);
            throw Error(ErrorCode::unknown_name, "asked: no stop device '" + cell.stop + "' in the circuit; known: " +
                                                     (known.empty() ? "none" : listed(known)));
        }
        if (!last || *last_name != cell.machine) {
            if (!columns.contains(cell.machine)) {
                const std::set<std::string> known(columns.begin(), columns.end());
                throw Error(ErrorCode::unknown_name,
                            "asked: no machine or load '" + cell.machine +
                                "' in the circuit; known: " + (known.empty() ? "none" : listed(known)));
            }
            last = &asked[cell.machine];
            last_name = &cell.machine;
        }
        const auto at = std::lower_bound(last->begin(), last->end(), stop,
                                         [](const auto &each, std::uint32_t value) { return each.first < value; });
        if (at != last->end() && at->first == stop)
            at->second = cell.asked; // the last word counts
        else
            last->insert(at, {stop, cell.asked});
        set_target(cell.machine, stop, cell.asked, cell.target);
    }
}

std::vector<std::uint32_t> Context::across(std::uint32_t variable) const {
    std::vector<std::uint32_t> found;
    for (const std::uint32_t own : lookup.switches_of[variable]) {
        auto [a, b] = std::pair(compiled.switches[own].a, compiled.switches[own].b);
        if (compiled.switches[own].closed_at != 0b010 || a == b)
            continue;
        if (lookup.switches_at[b].size() < lookup.switches_at[a].size())
            std::swap(a, b); // on a rail hang many
        for (const std::uint32_t i : lookup.switches_at[a]) {
            const Switch &contact = compiled.switches[i];
            if (contact.variable != none && contact.closed_at == 0b010 && (contact.a == b || contact.b == b))
                found.push_back(contact.variable);
        }
    }
    return found;
}

std::vector<std::uint32_t> Context::bridged_by(std::uint32_t variable) const {
    std::vector<std::uint32_t> armatures;
    for (const std::uint32_t other : across(variable))
        if (const std::uint32_t armature = lookup.armature_of[other];
            armature != none && !lookup.poles_of[other].empty())
            armatures.push_back(armature);
    return armatures;
}

std::size_t Context::contacts_of(std::uint32_t variable) const {
    if (whole_)
        if (const auto of_stop = whole_->contacts_of_stops.find(name(variable));
            of_stop != whole_->contacts_of_stops.end())
            return of_stop->second;
    return lookup.switches_of[variable].size();
}

const AskedOfStops &Context::asked_of(const std::string &machine) const {
    static const AskedOfStops nothing;
    const auto found = asked.find(machine);
    return found == asked.end() ? nothing : found->second;
}

bool Context::wants(std::string_view rule) const {
    return wanted_rules.empty() || std::find(wanted_rules.begin(), wanted_rules.end(), rule) != wanted_rules.end();
}

double Context::limit(std::string_view name) const {
    const auto changed = options.limits.find(name);
    return changed == options.limits.end() ? rule_set.limit(name) : changed->second;
}

void gather_feeding(const Context &context, const Seeds &seeds, Gathered &found) {
    thread_local IndexSet armatures, sources; // kept from call to call, as there are many small ones
    armatures.clear();
    sources.clear();
    std::vector<std::uint32_t> power = seeds.power, trace = seeds.nets;
    std::size_t next_switch = 0, next_net = 0; // what was found and not looked at yet begins here
    while (!power.empty() || !trace.empty()) {
        context.relevance.around({}, trace, power, found);
        power.clear();
        trace.clear();
        for (; next_switch < found.switches.size(); ++next_switch) {
            const std::uint32_t variable = context.compiled.switches[found.switches[next_switch]].variable;
            const std::uint32_t armature = variable == none ? none : context.lookup.armature_of[variable];
            if (armature != none && armatures.insert(armature))
                for_asking_nets(context.compiled.armatures[armature], [&](std::uint32_t net) { trace.push_back(net); });
        }
        for (; next_net < found.nets.size(); ++next_net)
            for (const std::uint32_t s : context.lookup.sources_at[found.nets[next_net]])
                if (sources.insert(s) && context.compiled.sources[s].feed != Source::Feed::own) {
                    trace.push_back(context.compiled.sources[s].feed_a);
                    trace.push_back(context.compiled.sources[s].feed_b);
                }
    }
}

MachineSeen::MachineSeen(const Context &context, std::uint32_t machine)
    : index(machine), name(context.compiled.machines[machine]), asked(context.asked_of(name)) {
    const Compiled &compiled = context.compiled;
    for (const std::uint32_t index_of_motor : context.lookup.motors_of[machine]) {
        const MotorSeen &motor = compiled.motors[index_of_motor];
        motors.push_back(&motor);
        const auto &parts = context.lookup.impedances_of[motor.device];
        seeds.loads.insert(seeds.loads.end(), parts.begin(), parts.end());
        seeds.power.insert(seeds.power.end(), motor.nets.begin(), motor.nets.end());
        for (const MotorSeen::Winding &winding : motor.windings) {
            seeds.nets.push_back(winding.a);
            seeds.nets.push_back(winding.b);
        }
        for (const std::uint32_t net :
             {motor.run.first, motor.run.second, motor.torque_off.first, motor.torque_off.second})
            if (net != none)
                seeds.nets.push_back(net);
    }
    // Each is part of the next.
    thread_local Gathered found;
    found.clear();
    context.relevance.around({}, {}, seeds.power, found);
    power_switches = found.switches.sorted();
    std::vector<std::uint32_t> feeding_hands;
    const auto declared = context.declared_starts.find(name);
    if (declared == context.declared_starts.end()) {
        gather_feeding(context, seeds, found);
        feeding_hands = actuators_of(compiled, found.switches);
        std::erase_if(feeding_hands, [&](std::uint32_t v) {
            return std::ranges::all_of(context.lookup.switches_of[v],
                                       [&](std::uint32_t i) { return context.relevance.leads_nowhere(i); });
        });
    }
    reach = reach_of(compiled, context.relevance, seeds, Extent::feed, found);

    for (const std::uint32_t i : power_switches) {
        const Switch &contact = compiled.switches[i];
        if (contact.variable == none) {
            const std::uint32_t variable = compiled.variable_of[contact.device];
            if (contact.pole && variable != none && compiled.variables[variable].kind == Variable::Kind::overload &&
                std::find(overloads.begin(), overloads.end(), variable) == overloads.end() &&
                carries(context, motors, variable))
                overloads.push_back(variable);
            continue;
        }
        add_unique(power_variables, contact.variable);
        if (const std::uint32_t armature = context.lookup.armature_of[contact.variable];
            armature != none && contact.pole)
            add_unique(power_armatures, armature);
    }

    std::vector<std::uint32_t> lines = power_variables;
    for (const MotorSeen *motor : motors)
        for (const auto *loop : {&motor->run, &motor->torque_off})
            if (loop->first != none)
                for (const std::uint32_t i : contacts_between(context, *loop)) {
                    loop_switches.push_back(i);
                    if (compiled.switches[i].variable != none && loop == &motor->run)
                        add_unique(lines, compiled.switches[i].variable);
                }
    std::copy_if(lines.begin(), lines.end(), std::back_inserter(line_selectors), [&](std::uint32_t v) {
        return compiled.variables[v].kind == Variable::Kind::actuator && context.actors[v].role == Role::select;
    });

    if (declared != context.declared_starts.end()) {
        own_starts = declared->second;
        return;
    }
    const std::vector<std::uint32_t> contactors = own_contactors(context);
    for (const std::uint32_t armature : contactors) // wherever the contact is that it bridges
        for (const std::uint32_t v : context.across(compiled.armatures[armature].variable))
            if (compiled.variables[v].kind == Variable::Kind::actuator)
                add_unique(feeding_hands, v);
    choose_own_starts(context, feeding_hands, contactors);
    if (own_starts.empty()) // none on the nearest ways
        choose_own_starts(
            context, actuators_of(compiled, reach_of(compiled, context.relevance, seeds, Extent::any_way).switches),
            contactors);
}

std::vector<std::uint32_t> MachineSeen::own_contactors(const Context &context) const {
    const auto variable = [&](std::uint32_t armature) { return context.compiled.armatures[armature].variable; };
    std::set<std::uint32_t> on_a_way; // mostly all are on the shortest
    std::vector<std::uint32_t> nets = seeds.power;
    for (std::size_t k = 0; k < nets.size(); ++k)
        for (const std::uint32_t i : power_switches)
            if (const Switch &contact = context.compiled.switches[i]; contact.a == nets[k] || contact.b == nets[k])
                if (const std::uint32_t far = contact.a == nets[k] ? contact.b : contact.a;
                    context.relevance.steps(far) < context.relevance.steps(nets[k])) {
                    on_a_way.insert(contact.variable);
                    add_unique(nets, far);
                }
    const auto is_on_a_way = [&](std::uint32_t armature) { return on_a_way.contains(variable(armature)); };
    if (!std::all_of(power_armatures.begin(), power_armatures.end(), is_on_a_way))
        for (const std::uint32_t v : context.relevance.in_any_way(seeds.power))
            on_a_way.insert(v);
    std::vector<std::uint32_t> own;
    std::copy_if(power_armatures.begin(), power_armatures.end(), std::back_inserter(own), is_on_a_way);
    return own;
}

void MachineSeen::choose_own_starts(const Context &context, const std::vector<std::uint32_t> &hands,
                                    const std::vector<std::uint32_t> &contactors) {
    std::vector<std::uint32_t> starts, selectors, resets, bridging, unbridged;
    for (const std::uint32_t v : hands) {
        const Role role = context.actors[v].role;
        if (start_like(role) && !machine_of(context.circuit.devices()[context.compiled.variables[v].device]).empty())
            continue; // declared for another machine
        if (role == Role::select)
            selectors.push_back(v);
        if (reset_like(role))
            resets.push_back(v);
        if (!start_like(role))
            continue;
        starts.push_back(v);
        const std::vector<std::uint32_t> bridged = context.bridged_by(v);
        const bool own = std::any_of(bridged.begin(), bridged.end(), [&](std::uint32_t armature) {
            return std::find(contactors.begin(), contactors.end(), armature) != contactors.end();
        });
        if (own)
            bridging.push_back(v);
        else if (bridged.empty())
            unbridged.push_back(v);
    }
    own_starts = bridging;
    own_starts.insert(own_starts.end(), unbridged.begin(), unbridged.end());
    for (const auto &next : {starts, selectors, resets})
        if (own_starts.empty())
            own_starts = next;
}

std::vector<MachineSeen> machines_of(const Context &context) {
    std::vector<std::optional<MachineSeen>> seen(context.compiled.machines.size());
    in_parallel(seen.size(), context.options.threads,
                [&] { return [&](std::size_t m) { seen[m].emplace(context, static_cast<std::uint32_t>(m)); }; });
    std::vector<MachineSeen> machines;
    machines.reserve(seen.size());
    std::map<std::uint32_t, std::size_t> uses; // a selector in the common line of several machines is no start of one
    for (std::optional<MachineSeen> &machine : seen) {
        machines.push_back(std::move(*machine));
        machine.reset();
        for (const std::uint32_t v : machines.back().line_selectors)
            ++uses[v];
    }
    for (MachineSeen &machine : machines)
        if (!context.declared_starts.contains(machine.name))
            for (const std::uint32_t v : machine.line_selectors)
                if (uses.at(v) == 1)
                    add_unique(machine.own_starts, v);
    return machines;
}

bool MachineSeen::is_own_start(std::uint32_t variable) const {
    return std::find(own_starts.begin(), own_starts.end(), variable) != own_starts.end();
}

bool MachineSeen::reached_by(std::uint32_t variable) const {
    return std::binary_search(reach.variables.begin(), reach.variables.end(), variable);
}

} // namespace stopspan
