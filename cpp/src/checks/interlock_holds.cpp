#include "checks/machine_check.hpp"

#include "base/words.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>

namespace stopspan {
namespace {

using ArmatureSet = std::vector<std::uint32_t>; // armatures of a cone

// More contactors than these on one motor are tried in pairs and triples of the first ones only; none is known.
constexpr std::size_t most_contactors = 12;

/// Contactors that would short a source, or feed two speeds at once, with their poles closed together.
class ForbiddenSets {
public:
    ForbiddenSets(const Cone &cone, std::uint32_t machine) : cone_(cone), machine_(machine), network_(cone.circuit) {}

    std::vector<ArmatureSet> find() {
        ArmatureSet contactors;
        for (std::uint32_t i = 0; i < cone_.circuit.armatures.size() && contactors.size() < most_contactors; ++i)
            for (const Switch &contact : cone_.circuit.switches)
                if (contact.pole && contact.variable == cone_.circuit.armatures[i].variable) {
                    contactors.push_back(i);
                    break;
                }
        std::vector<ArmatureSet> found;
        if (forbidden({}))
            return found; // shorted with every contactor out: none of them is to blame
        const auto covered = [&](const ArmatureSet &set) {
            return std::any_of(found.begin(), found.end(), [&](const ArmatureSet &smaller) {
                return std::includes(set.begin(), set.end(), smaller.begin(), smaller.end());
            });
        };
        const auto test = [&](ArmatureSet set) {
            if (!covered(set) && forbidden(set))
                found.push_back(std::move(set));
        };
        const std::size_t n = contactors.size();
        for (std::size_t a = 0; a < n; ++a)
            test({contactors[a]});
        for (std::size_t a = 0; a < n; ++a)
            for (std::size_t b = a + 1; b < n; ++b)
                test({contactors[a], contactors[b]});
        for (std::size_t a = 0; a < n; ++a)
            for (std::size_t b = a + 1; b < n; ++b)
                for (std::size_t c = b + 1; c < n; ++c)
                    test({contactors[a], contactors[b], contactors[c]});
        return found;
    }

private:
    bool forbidden(const ArmatureSet &set) {
        // Only the power circuit counts: a control contact that closes with the poles, or a hand's that is closed
        // anyway, is another matter.
        Compiled poles_only = cone_.circuit;
        std::erase_if(poles_only.switches, [&](const Switch &contact) {
            return !contact.pole && contact.variable != none &&
                   poles_only.variables[contact.variable].kind != Variable::Kind::fuse;
        });
        Network network(poles_only);
        State state = poles_only.cold();
        for (const std::uint32_t i : set)
            state[poles_only.armatures[i].variable] = 1;
        if (network.evaluate(state))
            return true;
        for (const MotorSeen &motor : poles_only.motors)
            if (motor.machine == machine_ && motor.kind == DeviceKind::motor_2speed) {
                const auto fed = [&](std::size_t from) {
                    std::vector<Volts> seen;
                    for (std::size_t i = from; i < from + 3; ++i)
                        if (const auto volts = network.pole_potential(motor.nets[i]))
                            if (std::none_of(seen.begin(), seen.end(), [&](Volts v) { return v.same(*volts); }))
                                seen.push_back(*volts);
                    return seen.size() >= 2;
                };
                if (fed(0) && fed(3))
                    return true;
            }
        return false;
    }

    const Cone &cone_;
    std::uint32_t machine_;
    Network network_;
};

bool all_in(const Compiled &circuit, const ArmatureSet &set, const State &state) {
    return std::all_of(set.begin(), set.end(),
                       [&](std::uint32_t i) { return state[circuit.armatures[i].variable] != 0; });
}

bool mechanically_apart(const Compiled &circuit, const ArmatureSet &set) {
    for (const std::uint32_t a : set)
        for (const std::uint32_t b : set)
            if (circuit.armatures[a].excludes(b))
                return true;
    return false;
}

struct Seen {
    Status status = Status::note;
    std::vector<std::string> acts;
    bool any = false;
};

void keep_worst(Seen &seen, Status status, const Exploration &exploration, std::uint32_t from, std::uint32_t act) {
    if (seen.any && severity(seen.status) >= severity(status))
        return;
    seen = {status, exploration.acts_to(from, act), true};
}

bool decide(Tools &tools, const MachineSeen &machine, const Reach &reach, std::set<std::vector<std::string>> &done,
            Decided &decided) {
    const Context &context = tools.context;
    const std::string rule = "interlock-holds";
    bool can_short = false;
    for (const std::uint32_t net : machine.reach.nets)
        can_short |= !context.relevance.is_pole_net(net) && tools.structure.conductor_potentials({net}) >= 2;
    for (const std::uint32_t i : machine.reach.switches)
        can_short |= context.relevance.is_pole_net(context.compiled.switches[i].a) &&
                     context.relevance.is_pole_net(context.compiled.switches[i].b);
    const bool two_speed = std::any_of(machine.motors.begin(), machine.motors.end(),
                                       [](const MotorSeen *motor) { return motor->kind == DeviceKind::motor_2speed; });
    if (!can_short && !two_speed) {
        decided.count(rule, "holds"); // every contact closed at once would still short nothing
        return true;
    }
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
    std::vector<ArmatureSet> sets = ForbiddenSets(cone, machine.index).find();
    const auto names = [&](const ArmatureSet &set) {
        std::vector<std::string> list;
        for (const std::uint32_t i : set)
            list.push_back(context.compiled.device_names[cone.circuit.armatures[i].device]);
        return list;
    };
    std::erase_if(sets, [&](const ArmatureSet &set) { return done.contains(names(set)); });

    Exploration exploration(cone);
    std::vector<Seen> worst(sets.size());
    Seen short_seen;
    const bool complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        const State &from = exploration.nodes()[t.from].state;
        const auto held = [&](std::uint32_t end) { return exploration.held(exploration.nodes()[end].state) >= 2; };
        const bool two_hands = exploration.held(from) >= 2 || std::any_of(t.to.begin(), t.to.end(), held);
        bool already_in = false;
        for (std::size_t i = 0; i < sets.size(); ++i) {
            const auto in = [&](const State &state) { return all_in(cone.circuit, sets[i], state); };
            if (in(from)) { // told of the act that brought them in
                already_in = true;
                continue;
            }
            // At one moment two hands bring in several, which contacts alone cannot exclude; what comes in after the
            // others is not excluded at all.
            const bool jointly = std::any_of(t.settled.passed_jointly.begin(), t.settled.passed_jointly.end(), in);
            const bool singly = std::any_of(t.settled.passed.begin(), t.settled.passed.end(), in) ||
                                (!jointly && std::any_of(t.to.begin(), t.to.end(), [&](std::uint32_t end) {
                                    return in(exploration.nodes()[end].state);
                                }));
            if (singly || jointly)
                keep_worst(worst[i], singly || !two_hands ? Status::fails : Status::note, exploration, t.from, t.act);
        }
        if (t.settled.shorted && !already_in)
            keep_worst(short_seen, t.settled.shorted_jointly && two_hands ? Status::note : Status::fails, exploration,
                       t.from, t.act);
    });
    const Settled &cold = exploration.cold_start();
    if (cold.shorted)
        short_seen = {Status::fails, {}, true};

    // What a part cut out of the circuit seems to do may be due to what hangs on it: then the whole is asked.
    const bool failing = short_seen.any || std::any_of(worst.begin(), worst.end(), [](const Seen &s) { return s.any; });
    if (!cone.exact && (failing || !complete))
        return false;
    for (const ArmatureSet &set : sets)
        done.insert(names(set));
    bool set_failed = false;
    for (std::size_t i = 0; i < sets.size(); ++i) {
        const auto list = names(sets[i]);
        const bool one = list.size() == 1;
        Finding finding{.rule = rule, .status = Status::note, .subjects = list};
        if (worst[i].any && worst[i].status == Status::fails) {
            set_failed = true;
            finding.status = Status::fails;
            finding.text = listed(list) + (one ? " shorts a source when it is in."
                                               : " are in together: that shorts a source or joins two run modes.");
            finding.witness = {worst[i].acts, {}, listed(list) + " in"};
            decided.add(std::move(finding));
            continue;
        }
        if (!complete) {
            finding.status = Status::undecided;
            finding.text = "Not decided whether " + listed(list) + " can be in together within " +
                           std::to_string(context.options.state_budget) + " states.";
            decided.add(std::move(finding));
            continue;
        }
        decided.count(rule, "holds");
        if (mechanically_apart(cone.circuit, sets[i]) || one)
            continue;
        finding.text = listed(list) + " are kept apart by contacts alone, without a mechanical interlock" +
                       (worst[i].any ? "; two buttons held together can bring them in at one moment." : ".");
        finding.witness.acts = worst[i].acts;
        decided.add(std::move(finding));
    }
    if (short_seen.any && short_seen.status == Status::fails && !set_failed &&
        done.insert({machine.name, "short"}).second) {
        Finding finding{.rule = rule,
                        .status = Status::fails,
                        .subjects = {machine.name},
                        .text = "'" + (short_seen.acts.empty() ? std::string("switching on") : short_seen.acts.back()) +
                                "' shorts a source in the circuit of " + machine.name + ".",
                        .witness = {short_seen.acts, {}, std::string(source_shorted)}};
        decided.add(std::move(finding));
    } else if (sets.empty()) {
        decided.count(rule, complete ? "holds" : "undecided");
    }
    return true;
}

// Contacts of hands, relays and isolators that join two poles of a source, in no machine's circuit.
void decide_bridge(Tools &tools, const std::vector<std::uint32_t> &contacts, Decided &decided) {
    const Context &context = tools.context;
    const Compiled &compiled = context.compiled;
    std::vector<std::uint32_t> nets;
    for (const std::uint32_t i : contacts)
        nets.insert(nets.end(), {compiled.switches[i].a, compiled.switches[i].b});
    if (tools.structure.conductor_potentials(nets) < 2)
        return;
    const Reach reach = reach_of(compiled, context.relevance,
                                 {.nets = {}, .power = {}, .loads = {}, .contacts = contacts}, Extent::feed);
    const Cone cone = cut_cone(context.circuit, compiled, context.relevance, reach, Simplify::joined);
    Exploration exploration(cone);
    Seen seen;
    const bool complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        if (t.settled.shorted)
            keep_worst(seen, Status::fails, exploration, t.from, t.act);
    });
    if (exploration.cold_start().shorted)
        seen = {Status::fails, {}, true};
    if (!seen.any && complete) {
        decided.count("interlock-holds", "holds");
        return;
    }
    std::set<std::string> names;
    for (const std::uint32_t i : contacts)
        names.insert(compiled.device_names[compiled.switches[i].device]);
    const std::vector<std::string> list(names.begin(), names.end());
    const bool one = contacts.size() == 1;
    const std::string those = (one ? "A contact of " : "Contacts of ") + listed(list);
    decided.add({.rule = "interlock-holds",
                 .status = seen.any ? seen.status : Status::undecided,
                 .subjects = list,
                 .text = !seen.any ? "Not decided: " + those + " perhaps short a source."
                         : one     ? those + " joins two poles of a source: closing it is a short."
                                   : those + ", closed together, join two poles of a source: a short.",
                 .witness = {seen.acts, {}, std::string(source_shorted)}});
}

// Poles of isolators and contactors that feed no machine, and all contacts that join theirs to two lines or more.
std::vector<std::vector<std::uint32_t>> branches_between_lines(const Context &context,
                                                               const std::vector<MachineSeen> &machines) {
    const Compiled &compiled = context.compiled;
    std::vector<std::uint8_t> line(compiled.net_count, 0), of_machine(compiled.switches.size(), 0);
    for (std::uint32_t net = 0; net < compiled.net_count; ++net)
        line[net] = context.relevance.is_pole_net(net);
    for (const MachineSeen &machine : machines) {
        for (const std::uint32_t net : machine.reach.nets)
            line[net] = 1;
        for (const std::uint32_t i : machine.reach.switches)
            of_machine[i] = 1;
    }
    boost::disjoint_sets_with_storage<> joined(compiled.net_count);
    const auto stands_apart = [&](std::uint32_t i) {
        const Switch &contact = compiled.switches[i];
        return !of_machine[i] && contact.closed_at != 0 && contact.a != contact.b;
    };
    for (std::uint32_t i = 0; i < compiled.switches.size(); ++i)
        if (const Switch &contact = compiled.switches[i]; stands_apart(i) && !line[contact.a] && !line[contact.b])
            joined.union_set(contact.a, contact.b);
    struct Branch {
        std::vector<std::uint32_t> contacts;
        std::set<std::uint32_t> lines;
        bool poles = false;
    };
    std::map<std::uint32_t, Branch> branches; // by a net of each
    std::vector<std::vector<std::uint32_t>> found;
    for (std::uint32_t i = 0; i < compiled.switches.size(); ++i) {
        if (!stands_apart(i))
            continue;
        const Switch &contact = compiled.switches[i];
        if (line[contact.a] && line[contact.b]) { // straight across; between sources' poles see Relevance::bridges()
            if (contact.pole && !(context.relevance.is_pole_net(contact.a) && context.relevance.is_pole_net(contact.b)))
                found.push_back({i});
            continue;
        }
        Branch &branch = branches[joined.find_set(line[contact.a] ? contact.b : contact.a)];
        branch.contacts.push_back(i);
        branch.poles |= contact.pole;
        for (const std::uint32_t net : {contact.a, contact.b})
            if (line[net])
                branch.lines.insert(net);
    }
    for (auto &[net, branch] : branches)
        if (branch.poles && branch.lines.size() >= 2)
            found.push_back(std::move(branch.contacts));
    return found;
}

void decide_bridges(Tools &tools, const std::vector<MachineSeen> &machines, Decided &decided) {
    for (const std::vector<std::uint32_t> &contacts : tools.context.relevance.bridges()) {
        const bool seen = std::any_of(machines.begin(), machines.end(), [&](const MachineSeen &machine) {
            return std::all_of(contacts.begin(), contacts.end(), [&](std::uint32_t i) {
                return std::binary_search(machine.reach.switches.begin(), machine.reach.switches.end(), i);
            });
        });
        decided.device = tools.context.compiled.switches[contacts[0]].device;
        if (!seen)
            decide_bridge(tools, contacts, decided);
    }
    for (const std::vector<std::uint32_t> &contacts : branches_between_lines(tools.context, machines)) {
        decided.device = tools.context.compiled.switches[contacts[0]].device;
        decide_bridge(tools, contacts, decided);
    }
}

} // namespace

Decided decide_interlocks(Tools &tools, const std::vector<MachineSeen> &machines) {
    Decided decided;
    std::set<std::vector<std::string>> done;
    if (tools.context.wants("interlock-holds")) {
        for (const MachineSeen &machine : machines) {
            decided.device = machine.motors[0]->device;
            if (!decide(tools, machine, machine.reach, done, decided))
                decide(tools, machine,
                       reach_of(tools.context.compiled, tools.context.relevance, machine.seeds, Extent::everything),
                       done, decided);
        }
        decide_bridges(tools, machines, decided);
    }
    return decided;
}

} // namespace stopspan
