#include "checks/behind_isolator.hpp"

#include <algorithm>

namespace stopspan {

IsolatorSides::IsolatorSides(Tools &tools)
    : compiled_(tools.context.compiled), poles_(compiled_.switches.size()), fed_(compiled_.net_count, 0) {
    const Lookup &lookup = tools.context.lookup;
    std::vector<std::uint32_t> queue;
    const auto push = [&](std::uint32_t net) {
        if (net != none && !fed_[net] && !tools.context.relevance.is_pole_net(net)) {
            fed_[net] = 1;
            queue.push_back(net);
        }
    };
    for (std::uint32_t v = 0; v < compiled_.variables.size(); ++v) {
        if (compiled_.variables[v].kind != Variable::Kind::isolator)
            continue;
        // The feed side is the one a source reaches without this isolator; by custom the odd terminal.
        const auto reached = [&](std::uint32_t net) { return tools.structure.conductor_potentials({net}) >= 1; };
        tools.structure.assume(v, Structure::acted);
        for (const std::uint32_t i : lookup.poles_of[v]) {
            const Switch &pole = compiled_.switches[i];
            const bool reversed = !reached(pole.a) && reached(pole.b);
            poles_[i] = reversed ? Pole{pole.b, pole.a} : Pole{pole.a, pole.b};
        }
        tools.structure.forget();
    }
    for (const Pole &pole : poles_)
        push(pole.load);
    for (std::size_t k = 0; k < queue.size(); ++k)
        for (const std::uint32_t i : lookup.switches_at[queue[k]])
            push(onward(i, queue[k]));
}

std::uint32_t IsolatorSides::onward(std::uint32_t contact, std::uint32_t net) const {
    const Switch &one = compiled_.switches[contact];
    return poles_[contact].load == net ? none : one.a == net ? one.b : one.a;
}

BehindIsolator::BehindIsolator(Tools &tools, const IsolatorSides &sides, std::uint32_t variable)
    : tools_(tools), compiled_(tools.context.compiled), sides_(sides), variable_(variable) {
    for (const std::uint32_t i : tools.context.lookup.poles_of[variable]) {
        load_side_.push_back(sides.pole(i).load);
        feed_side_.insert(sides.pole(i).feed);
    }
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

bool BehindIsolator::holds_machine(const MachineSeen &machine) const {
    return std::any_of(machine.motors.begin(), machine.motors.end(), [&](const MotorSeen *motor) {
        return std::any_of(motor->nets.begin(), motor->nets.end(),
                           [&](std::uint32_t net) { return load_nets_.contains(net); });
    });
}

std::vector<std::uint32_t> BehindIsolator::supplies() const {
    std::vector<std::uint32_t> found;
    const auto add = [&](std::uint32_t s) {
        if (compiled_.sources[s].feed != Source::Feed::own && std::find(found.begin(), found.end(), s) == found.end())
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

void BehindIsolator::trace(const std::vector<std::uint32_t> &from) {
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
            if (const std::uint32_t next = sides_.onward(i, net); next != none)
                push(next);
        }
        // A load ends the tracing where contacts feed its other terminal from an isolator: that is behind that one.
        for (const std::uint32_t i : tools_.context.lookup.impedances_at[net]) {
            const Impedance &load = compiled_.impedances[i];
            if (const std::uint32_t next = load.a == net ? load.b : load.a; !sides_.fed(next))
                push(next);
        }
    }
}

} // namespace stopspan
