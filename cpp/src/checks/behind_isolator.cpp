#include "checks/behind_isolator.hpp"

#include <algorithm>

namespace stopspan {

BehindIsolator::BehindIsolator(Tools &tools, std::uint32_t variable)
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

void BehindIsolator::find_poles() {
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

} // namespace stopspan
