#include "checks/machine_check.hpp"

#include "base/words.hpp"
#include "checks/feeding.hpp"

#include <algorithm>

namespace stopspan {
namespace {

const std::string rule = "isolator-clears";

/// What stands behind an isolator.
class Behind {
public:
    Behind(Tools &tools, std::uint32_t variable)
        : tools_(tools), compiled_(tools.context.compiled), variable_(variable) {
        find_poles();
        trace(load_side_);
        load_nets_ = nets_;
        // The coil circuits of the contactors whose poles it feeds.
        for (const std::uint32_t net : nets_)
            for (const std::uint32_t i : tools.context.lookup.switches_at[net]) {
                const Switch &contact = compiled_.switches[i];
                if (!contact.pole || contact.variable == none || contact.variable == variable_)
                    continue;
                if (const std::uint32_t armature = tools.context.lookup.armature_of[contact.variable]; armature != none)
                    contactors_.insert(armature);
            }
        for (const std::uint32_t armature : contactors_)
            trace(asking_nets(compiled_.armatures[armature]));
    }

    const std::set<std::uint32_t> &nets() const { return nets_; }
    const std::set<std::uint32_t> &load_nets() const { return load_nets_; }
    const std::set<std::uint32_t> &contactors() const { return contactors_; }
    bool holds_machine(const MachineSeen &machine) const {
        return std::any_of(machine.motors.begin(), machine.motors.end(), [&](const MotorSeen *motor) {
            return std::any_of(motor->nets.begin(), motor->nets.end(),
                               [&](std::uint32_t net) { return load_nets_.contains(net); });
        });
    }
    /// Supplies that feed what is behind it or are fed from there, and those fed from these.
    std::vector<std::uint32_t> supplies() const {
        std::vector<std::uint32_t> found;
        const auto add = [&](std::uint32_t s) {
            if (compiled_.sources[s].feed != Source::Feed::own &&
                std::find(found.begin(), found.end(), s) == found.end())
                found.push_back(s);
        };
        const auto fed_at = [&](std::uint32_t net) {
            for (const std::uint32_t s : tools_.context.lookup.supplies_fed_at[net])
                add(s);
        };
        for (const std::uint32_t net : nets_)
            fed_at(net);
        for (const std::uint32_t net : ends_)
            for (const std::uint32_t s : tools_.context.lookup.sources_at[net])
                add(s);
        for (std::size_t k = 0; k < found.size(); ++k)
            for (const Source::Pole &pole : compiled_.sources[found[k]].poles)
                fed_at(pole.net);
        return found;
    }
    bool empty() const { return load_side_.empty(); }

private:
    void find_poles() {
        for (const std::uint32_t i : tools_.context.lookup.switches_of[variable_]) {
            const Switch &pole = compiled_.switches[i];
            if (!pole.pole)
                continue;
            // The feed side is the one a source reaches without this isolator; by custom the odd terminal.
            tools_.structure.assume(variable_, Structure::acted);
            const bool a_fed = fed(pole.a), b_fed = fed(pole.b);
            tools_.structure.forget();
            const bool reversed = b_fed && !a_fed;
            load_side_.push_back(reversed ? pole.a : pole.b);
            feed_side_.insert(reversed ? pole.b : pole.a);
        }
    }
    bool fed(std::uint32_t net) { return tools_.structure.conductor_potentials({net}) >= 1; }

    void trace(const std::vector<std::uint32_t> &from) {
        std::vector<std::uint32_t> queue;
        const auto push = [&](std::uint32_t net) {
            if (tools_.context.relevance.is_pole_net(net))
                ends_.insert(net);
            else if (!feed_side_.contains(net) && nets_.insert(net).second)
                queue.push_back(net);
        };
        for (const std::uint32_t net : from)
            push(net);
        for (std::size_t k = 0; k < queue.size(); ++k) {
            const std::uint32_t net = queue[k];
            for (const std::uint32_t i : tools_.context.lookup.switches_at[net]) {
                const Switch &contact = compiled_.switches[i];
                if (contact.variable == variable_ && contact.pole)
                    continue;
                // Another isolator: on to its load side, never back to what feeds it.
                const bool isolator = contact.pole && contact.variable != none &&
                                      compiled_.variables[contact.variable].kind == Variable::Kind::isolator;
                if (!isolator || contact.a == net)
                    push(contact.a == net ? contact.b : contact.a);
            }
            for (const std::uint32_t i : tools_.context.lookup.impedances_at[net])
                push(compiled_.impedances[i].a == net ? compiled_.impedances[i].b : compiled_.impedances[i].a);
        }
    }

    Tools &tools_;
    const Compiled &compiled_;
    std::uint32_t variable_;
    std::vector<std::uint32_t> load_side_;
    std::set<std::uint32_t> feed_side_, nets_, load_nets_, contactors_;
    std::set<std::uint32_t> ends_; // pole nets where the tracing ends
};

class IsolatorDecision {
public:
    IsolatorDecision(Tools &tools, std::uint32_t variable, const std::vector<MachineSeen> &machines, Decided &decided)
        : tools_(tools), context_(tools.context), variable_(variable), machines_(machines), decided_(decided),
          behind_(tools, variable), name_(context_.name(variable)) {}

    void decide() {
        if (behind_.empty())
            return;
        std::vector<std::uint32_t> open_nets, excepted;
        bool coils_dead = true;
        tools_.structure.assume(variable_, Structure::acted);
        tools_.structure.let_supplies_fall(behind_.supplies());
        for (const std::uint32_t armature : behind_.contactors())
            coils_dead &= tools_.structure.coil_dead(armature);
        for (const std::uint32_t net : behind_.nets())
            if (net < context_.circuit.nets().size() && tools_.structure.can_be_live(net)) // no star points
                (coils_dead && !behind_.load_nets().contains(net) ? excepted : open_nets).push_back(net);
        tools_.structure.forget();
        std::vector<const MachineSeen *> others;
        for (const MachineSeen &machine : machines_)
            if (!behind_.holds_machine(machine) && machine.reached_by(variable_) &&
                !runs_without(context_, tools_.structure, machine, variable_))
                others.push_back(&machine);
        if (!open_nets.empty() || !others.empty()) {
            // What a part cut out of the circuit seems to do may be due to what hangs on it: then the whole is asked.
            if (!search(open_nets, others, excepted, Extent::feed))
                search(open_nets, others, excepted, Extent::everything);
        } else {
            decided_.count(rule, "holds");
        }
        if (!excepted.empty())
            note_excepted(excepted);
    }

private:
    std::string net_text(const std::vector<std::uint32_t> &nets) const {
        std::vector<std::string> names;
        for (const std::uint32_t net : nets)
            names.push_back(context_.compiled.net_names[net]);
        return listed(names);
    }

    void note_excepted(const std::vector<std::uint32_t> &nets) {
        Finding finding{.rule = rule,
                        .status = Status::note,
                        .subjects = {name_},
                        .text = "with " + name_ + " open the control circuit of " + contactor_names() +
                                " can stay live from elsewhere (nets " + net_text(nets) +
                                "), though its coil is dead: an excepted circuit, label it.",
                        .witness = {},
                        .repair = {},
                        .source = source_of(rule)};
        decided_.add(std::move(finding));
    }

    std::string contactor_names() const {
        std::vector<std::string> names;
        for (const std::uint32_t armature : behind_.contactors())
            names.push_back(context_.compiled.device_names[context_.compiled.armatures[armature].device]);
        return listed(names);
    }

    // false: what it found may be due to what hangs outside the part it looked at, and was not told
    bool search(const std::vector<std::uint32_t> &nets, const std::vector<const MachineSeen *> &others,
                std::vector<std::uint32_t> &excepted, Extent extent) {
        Seeds seeds{.nets = {behind_.nets().begin(), behind_.nets().end()}, .power = {}, .loads = {}};
        const auto add = [&](const MachineSeen &machine) {
            seeds.nets.insert(seeds.nets.end(), machine.seeds.nets.begin(), machine.seeds.nets.end());
            seeds.power.insert(seeds.power.end(), machine.seeds.power.begin(), machine.seeds.power.end());
            seeds.loads.insert(seeds.loads.end(), machine.seeds.loads.begin(), machine.seeds.loads.end());
        };
        for (const MachineSeen &machine : machines_)
            if (behind_.holds_machine(machine)) // some of its terminals may stand elsewhere
                add(machine);
        for (const MachineSeen *machine : others)
            add(*machine);
        const Reach reach = reach_of(context_.compiled, context_.relevance, seeds, extent);
        const Cone cone = cut_cone(context_.circuit, context_.compiled, context_.relevance, reach, Simplify::joined);
        const std::uint32_t inside =
            static_cast<std::uint32_t>(std::find_if(cone.members.begin(), cone.members.end(),
                                                    [&](const auto &members) { return members[0] == variable_; }) -
                                       cone.members.begin());
        Exploration exploration(cone);
        Network &network = exploration.settler().network();
        std::map<std::uint32_t, std::uint32_t> live; // net -> first node it is live in
        std::vector<std::uint8_t> coil_fed(behind_.contactors().size(), 0);
        std::map<std::uint32_t, std::uint32_t> running; // machine behind -> first node it runs in
        std::map<const MachineSeen *, std::pair<std::uint32_t, std::uint32_t>> stopped; // another -> node, act
        std::vector<std::uint8_t> seen;
        const auto look = [&](std::uint32_t node) { // nodes with the isolator open, once each
            if (seen.size() <= node)
                seen.resize(exploration.nodes().size(), 0);
            if (seen[node] || exploration.nodes()[node].state[inside] != 1)
                return;
            seen[node] = 1;
            State state = exploration.nodes()[node].state;
            network.evaluate(state);
            for (const std::uint32_t net : nets)
                if (!live.contains(net) && cone.net_of[net] != none && network.live(cone.net_of[net]))
                    live.emplace(net, node);
            std::size_t i = 0;
            for (const std::uint32_t armature : behind_.contactors()) {
                const Armature &full = context_.compiled.armatures[armature];
                for (const auto &[one_end, other_end] : {std::pair{full.a1, full.a2}, {full.e1, full.e2}})
                    if (one_end != none && cone.net_of[one_end] != none && cone.net_of[other_end] != none) {
                        const Reading reading = network.between(cone.net_of[one_end], cone.net_of[other_end]);
                        coil_fed[i] |= reading.unknown || reading.volts > 0.1 * full.rated_v;
                    }
                ++i;
            }
            for (const MachineSeen &machine : machines_)
                if (!running.contains(machine.index) && behind_.holds_machine(machine) &&
                    observe_machine(cone.circuit, machine.index, state, network).runs != Tri::off)
                    running.emplace(machine.index, node);
        };
        const auto runs = [&](const MachineSeen &machine, std::uint32_t node) {
            State state = exploration.nodes()[node].state;
            network.evaluate(state);
            return observe_machine(cone.circuit, machine.index, state, network).runs;
        };
        const bool complete = exploration.run(context_.options.state_budget, [&](const Exploration::Transition &t) {
            look(t.from);
            for (const std::uint32_t end : t.to)
                look(end);
            const Act &act = exploration.acts()[t.act];
            if (act.kind != ActKind::open || act.variable != inside ||
                !supply_healthy(cone.circuit, exploration.nodes()[t.from].state))
                return;
            for (const MachineSeen *machine : others)
                if (!stopped.contains(machine) && runs(*machine, t.from) == Tri::on &&
                    std::all_of(t.to.begin(), t.to.end(),
                                [&](std::uint32_t end) { return runs(*machine, end) != Tri::on; }))
                    stopped.emplace(machine, std::pair{t.from, t.act});
        });
        const bool found = !live.empty() || !running.empty() || !stopped.empty();
        if (found && !cone.exact && extent == Extent::feed)
            return false;
        // Nets of a control circuit fed from elsewhere are excepted when its coil is dead in every state.
        const bool coils_dead =
            std::none_of(coil_fed.begin(), coil_fed.end(), [](std::uint8_t fed) { return fed != 0; });
        std::vector<std::uint32_t> failing;
        for (const auto &[net, node] : live)
            (coils_dead && !behind_.load_nets().contains(net) ? excepted : failing).push_back(net);
        bool fine = true;
        if (!failing.empty()) {
            fine = false;
            Finding finding{
                .rule = rule,
                .status = Status::fails,
                .subjects = {name_},
                .text = "with " + name_ + " open these nets behind it can be live: " + net_text(failing) + ".",
                .witness = {exploration.acts_to(live.at(failing[0])), {}, "net " + net_text({failing[0]}) + " live"},
                .repair = {},
                .source = source_of(rule)};
            for (const std::uint32_t net : failing)
                finding.subjects.push_back(context_.compiled.net_names[net]);
            decided_.add(std::move(finding));
        }
        for (const auto &[index, node] : running) {
            fine = false;
            const std::string &machine = context_.compiled.machines[index];
            decided_.add({.rule = rule,
                          .status = Status::fails,
                          .subjects = {name_, machine},
                          .text = machine + " runs with " + name_ + " open, though it stands behind it.",
                          .witness = {exploration.acts_to(node), {}, machine + " runs"},
                          .repair = {},
                          .source = source_of(rule)});
        }
        for (const MachineSeen *other : others) {
            const auto seen_from = stopped.find(other);
            if (seen_from == stopped.end())
                continue;
            fine = false;
            const auto [from, act] = seen_from->second;
            decided_.add({.rule = rule,
                          .status = Status::fails,
                          .subjects = {name_, other->name},
                          .text = "opening " + name_ + " stops " + other->name + ", which does not stand behind it.",
                          .witness = {exploration.acts_to(from, act), {}, other->name + " stopped"},
                          .repair = {},
                          .source = source_of(rule)});
        }
        if (!complete && fine)
            decided_.add({.rule = rule,
                          .status = Status::undecided,
                          .subjects = {name_},
                          .text = "not decided what is live behind " + name_ + " within " +
                                  std::to_string(context_.options.state_budget) + " states.",
                          .witness = {},
                          .repair = {},
                          .source = source_of(rule)});
        else if (fine)
            decided_.count(rule, "holds");
        return true;
    }

    Tools &tools_;
    const Context &context_;
    std::uint32_t variable_;
    const std::vector<MachineSeen> &machines_;
    Decided &decided_;
    Behind behind_;
    std::string name_;
};

} // namespace

Decided decide_isolators(Tools &tools, const std::vector<MachineSeen> &machines) {
    Decided decided;
    const Context &context = tools.context;
    if (context.wants(rule))
        for (std::uint32_t v = 0; v < context.compiled.variables.size(); ++v)
            if (context.compiled.variables[v].kind == Variable::Kind::isolator)
                IsolatorDecision(tools, v, machines, decided).decide();
    return decided;
}

} // namespace stopspan
