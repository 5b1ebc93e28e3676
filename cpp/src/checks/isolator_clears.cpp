#include "checks/behind_isolator.hpp"

#include "base/words.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

class IsolatorDecision {
public:
    IsolatorDecision(Tools &tools, std::uint32_t variable, const BehindIsolator &behind,
                     const std::vector<MachineSeen> &machines, Decided &decided)
        : tools_(tools), context_(tools.context), variable_(variable), machines_(machines), decided_(decided),
          behind_(behind), name_(context_.name(variable)) {}

    /// @returns whether nothing behind it is live or runs with it open, and that is sure
    bool decide() {
        std::vector<std::uint32_t> open_nets, excepted;
        tools_.structure.assume(variable_, Structure::acted);
        std::vector<std::uint32_t> supplies = behind_.supplies();
        tools_.structure.let_supplies_fall(supplies);
        std::vector<std::uint8_t> coil_fed; // per coil circuit
        for (const auto &coil : behind_.coil_circuits())
            coil_fed.push_back(!tools_.structure.coil_dead(coil.armature));
        const std::set<std::uint32_t> must_be_dead = behind_.nets_with(coil_fed);
        for (const std::uint32_t net : behind_.nets()) {
            if (net >= context_.circuit.nets().size())
                continue; // the star point of a motor
            if (must_be_dead.contains(net)) {
                if (tools_.structure.can_be_live(net))
                    open_nets.push_back(net);
            } else if (tools_.structure.can_stand_live(net)) {
                excepted.push_back(net);
            }
        }
        tools_.structure.forget();
        bool fine = true;
        if (!open_nets.empty()) {
            // What a part cut out of the circuit seems to do may be due to what hangs on it: then the whole is asked.
            std::optional<bool> found = search(open_nets, excepted, Extent::feed);
            fine = found ? *found : *search(open_nets, excepted, Extent::everything);
        }
        if (!excepted.empty())
            note_excepted(excepted);
        return fine;
    }

private:
    std::string net_text(const std::vector<std::uint32_t> &nets) const {
        std::vector<std::string> names;
        for (const std::uint32_t net : nets)
            names.push_back(context_.compiled.net_names[net]);
        return listed(names);
    }

    void note_excepted(const std::vector<std::uint32_t> &nets) {
        Finding finding{.rule = isolator_clears_rule,
                        .status = Status::note,
                        .subjects = {name_},
                        .text = "With " + name_ + " open the control circuit of " + contactors_of(nets) +
                                " can stay live from elsewhere (nets " + net_text(nets) +
                                "), though its coil is dead: an excepted circuit, label it."};
        decided_.add(std::move(finding));
    }

    // Those whose coil circuits these nets stand in.
    std::string contactors_of(const std::vector<std::uint32_t> &nets) const {
        const std::set<std::uint32_t> wanted(nets.begin(), nets.end());
        std::vector<std::string> names;
        for (const auto &coil : behind_.coil_circuits())
            if (std::any_of(coil.nets.begin(), coil.nets.end(), [&](auto net) { return wanted.contains(net); }))
                names.push_back(context_.compiled.device_names[context_.compiled.armatures[coil.armature].device]);
        return listed(names);
    }

    // Whether it found nothing; none: what it found may be due to what hangs outside the part it looked at, and was not
    // told.
    std::optional<bool> search(const std::vector<std::uint32_t> &nets, std::vector<std::uint32_t> &excepted,
                               Extent extent) {
        Seeds seeds{.nets = {behind_.nets().begin(), behind_.nets().end()}, .power = {}, .loads = {}};
        const auto add = [&](const MachineSeen &machine) {
            seeds.nets.insert(seeds.nets.end(), machine.seeds.nets.begin(), machine.seeds.nets.end());
            seeds.power.insert(seeds.power.end(), machine.seeds.power.begin(), machine.seeds.power.end());
            seeds.loads.insert(seeds.loads.end(), machine.seeds.loads.begin(), machine.seeds.loads.end());
        };
        for (const MachineSeen &machine : machines_)
            if (behind_.holds_machine(machine)) // some of its terminals may stand elsewhere
                add(machine);
        const Reach reach = reach_of(context_.compiled, context_.relevance, seeds, extent);
        const Cone cone = cut_cone(context_.circuit, context_.compiled, context_.relevance, reach, Simplify::joined);
        const std::uint32_t inside =
            static_cast<std::uint32_t>(std::find_if(cone.members.begin(), cone.members.end(),
                                                    [&](const auto &members) { return members[0] == variable_; }) -
                                       cone.members.begin());
        Exploration exploration(cone);
        Network &network = exploration.settler().network();
        std::map<std::uint32_t, std::uint32_t> live; // net -> first node it is live in
        std::vector<std::uint8_t> coil_fed(behind_.coil_circuits().size(), 0);
        std::map<std::uint32_t, std::uint32_t> running, perhaps; // machine behind -> first node it runs in
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
            for (const auto &coil : behind_.coil_circuits()) {
                const Armature &full = context_.compiled.armatures[coil.armature];
                for (const auto &[one_end, other_end] : {std::pair{full.a1, full.a2}, {full.e1, full.e2}})
                    if (one_end != none && cone.net_of[one_end] != none && cone.net_of[other_end] != none) {
                        const Reading reading = network.between(cone.net_of[one_end], cone.net_of[other_end]);
                        coil_fed[i] |= reading.unknown || reading.volts >= power_off * full.rated_v;
                    }
                ++i;
            }
            for (const MachineSeen &machine : machines_)
                if (!running.contains(machine.index) && behind_.holds_machine(machine))
                    if (const Tri runs = observe_machine(cone.circuit, machine.index, state, network).runs;
                        runs != Tri::off)
                        (runs == Tri::on ? running : perhaps).emplace(machine.index, node);
        };
        const bool complete = exploration.run(context_.options.state_budget, [&](const Exploration::Transition &t) {
            look(t.from);
            for (const std::uint32_t end : t.to)
                look(end);
        });
        if ((!live.empty() || !running.empty() || !perhaps.empty()) && !cone.exact && extent == Extent::feed)
            return std::nullopt;
        // Nets of a control circuit fed from elsewhere are excepted when its coil is dead in every state.
        const std::set<std::uint32_t> must_be_dead = behind_.nets_with(coil_fed);
        std::vector<std::uint32_t> failing;
        for (const auto &[net, node] : live)
            (must_be_dead.contains(net) ? failing : excepted).push_back(net);
        bool fine = true;
        if (!failing.empty()) {
            fine = false;
            Finding finding{
                .rule = isolator_clears_rule,
                .status = Status::fails,
                .subjects = {name_},
                .text = "With " + name_ + " open these nets behind it can be live: " + net_text(failing) + ".",
                .witness = {exploration.acts_to(live.at(failing[0])), {}, "net " + net_text({failing[0]}) + " live"}};
            for (const std::uint32_t net : failing)
                finding.subjects.push_back(context_.compiled.net_names[net]);
            decided_.add(std::move(finding));
        }
        std::erase_if(perhaps, [&](const auto &each) { return running.contains(each.first); });
        for (const bool surely : {true, false})
            for (const auto &[index, node] : surely ? running : perhaps) {
                fine = false;
                const std::string &machine = context_.compiled.machines[index];
                const std::string runs = machine + (surely ? " runs" : " may run");
                decided_.add({.rule = isolator_clears_rule,
                              .status = surely ? Status::fails : Status::maybe,
                              .subjects = {name_, machine},
                              .text = runs + " with " + name_ + " open, though it stands behind it.",
                              .witness = {exploration.acts_to(node), {}, runs}});
            }
        if (!complete && fine)
            decided_.add({.rule = isolator_clears_rule,
                          .status = Status::undecided,
                          .subjects = {name_},
                          .text = "Not decided what is live behind " + name_ + " within " +
                                  std::to_string(context_.options.state_budget) + " states."});
        return fine && complete;
    }

    Tools &tools_;
    const Context &context_;
    std::uint32_t variable_;
    const std::vector<MachineSeen> &machines_;
    Decided &decided_;
    const BehindIsolator &behind_;
    std::string name_;
};

} // namespace

Decided decide_isolators(Tools &tools, const std::vector<MachineSeen> &machines) {
    Decided decided;
    const Context &context = tools.context;
    if (!context.wants(isolator_clears_rule))
        return decided;
    const IsolatorSides sides(tools);
    std::vector<std::pair<std::uint32_t, BehindIsolator>> isolators;
    for (std::uint32_t v = 0; v < context.compiled.variables.size(); ++v)
        if (context.compiled.variables[v].kind == Variable::Kind::isolator)
            if (BehindIsolator behind(tools, sides, v); !behind.empty())
                isolators.emplace_back(v, std::move(behind));
    std::map<std::uint32_t, std::vector<Finding>> openings = decide_openings(tools, machines, isolators);
    for (const auto &[variable, behind] : isolators) {
        decided.device = context.compiled.variables[variable].device;
        const bool fine = IsolatorDecision(tools, variable, behind, machines, decided).decide();
        std::vector<Finding> &stopped = openings[variable];
        if (fine && stopped.empty())
            decided.count(isolator_clears_rule, "holds");
        for (Finding &finding : stopped)
            decided.add(std::move(finding));
    }
    return decided;
}

} // namespace stopspan
