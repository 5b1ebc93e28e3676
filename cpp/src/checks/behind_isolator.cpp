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
        // The feed side is the one of the odd terminals, unless sources reach, without this isolator, even ones alone
        // and no odd one alone: then it is wired the other way round. One pole among others is not: that is mistaken.
        const auto reached = [&](std::uint32_t net) { return tools.structure.conductor_potentials({net}) >= 1; };
        tools.structure.assume(v, Structure::acted);
        bool odd_alone = false, even_alone = false;
        for (const std::uint32_t i : lookup.poles_of[v]) {
            const bool odd = reached(compiled_.switches[i].a), even = reached(compiled_.switches[i].b);
            odd_alone |= odd && !even;
            even_alone |= even && !odd;
        }
        tools.structure.forget();
        for (const std::uint32_t i : lookup.poles_of[v]) {
            const Switch &pole = compiled_.switches[i];
            poles_[i] = even_alone && !odd_alone ? Pole{pole.b, pole.a} : Pole{pole.a, pole.b};
        }
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
    load_nets_ = trace(load_side_);
    nets_ = load_nets_;
    // The coil circuits of the contactors whose poles it feeds.
    std::set<std::uint32_t> contactors;
    for (const std::uint32_t net : load_nets_)
        for (const std::uint32_t i : tools.context.lookup.switches_at[net]) {
            const Switch &contact = compiled_.switches[i];
            if (!contact.pole || contact.variable == none || contact.variable == variable_)
                continue;
            if (const std::uint32_t armature = tools.context.lookup.armature_of[contact.variable]; armature != none)
                contactors.insert(armature);
        }
    for (const std::uint32_t armature : contactors) {
        coil_circuits_.push_back({armature, coil_circuit(compiled_.armatures[armature])});
        nets_.insert(coil_circuits_.back().nets.begin(), coil_circuits_.back().nets.end());
    }
}

std::set<std::uint32_t> BehindIsolator::nets_with(const std::vector<std::uint8_t> &counts) const {
    std::set<std::uint32_t> nets = load_nets_;
    for (std::size_t i = 0; i < coil_circuits_.size(); ++i)
        if (counts[i])
            nets.insert(coil_circuits_[i].nets.begin(), coil_circuits_[i].nets.end());
    return nets;
}

// The ways that feed the coil, not what else hangs on its rail; through loads only where contacts lead to no source.
std::set<std::uint32_t> BehindIsolator::coil_circuit(const Armature &armature) {
    std::set<std::uint32_t> found;
    for (const std::uint32_t net : asking_nets(armature)) {
        if (tools_.structure.conductor_potentials({net}) == 0) {
            found.merge(trace({net}));
            continue;
        }
        const Relevant ways = tools_.context.relevance.any_way({}, {net});
        found.merge(trace({net}, &ways.switches));
    }
    return found;
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

std::set<std::uint32_t> BehindIsolator::trace(const std::vector<std::uint32_t> &from,
                                              const std::vector<std::uint32_t> *ways) {
    std::set<std::uint32_t> met;
    std::vector<std::uint32_t> queue;
    const auto push = [&](std::uint32_t net) {
        if (tools_.context.relevance.is_pole_net(net))
            ends_.insert(net);
        else if (!feed_side_.contains(net) && met.insert(net).second)
            queue.push_back(net);
    };
    for (const std::uint32_t net : from)
        push(net);
    for (std::size_t k = 0; k < queue.size(); ++k) {
        const std::uint32_t net = queue[k];
        for (const std::uint32_t i : tools_.context.lookup.switches_at[net]) {
            const Switch &contact = compiled_.switches[i];
            if ((contact.variable == variable_ && contact.pole) ||
                (ways && !std::binary_search(ways->begin(), ways->end(), i)))
                continue;
            if (const std::uint32_t next = sides_.onward(i, net); next != none)
                push(next);
        }
        if (ways)
            continue;
        // A load ends the tracing where contacts feed its other terminal from an isolator: that is behind that one.
        for (const std::uint32_t i : tools_.context.lookup.impedances_at[net]) {
            const Impedance &load = compiled_.impedances[i];
            if (const std::uint32_t next = load.a == net ? load.b : load.a; !sides_.fed(next))
                push(next);
        }
    }
    return met;
}

} // namespace stopspan
