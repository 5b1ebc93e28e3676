#include "sheets/power_owners.hpp"

#include <algorithm>
#include <deque>
#include <set>

namespace stopspan {

int merged(int a, int b) {
    return a == nobody ? b : b == nobody || a == b ? a : several;
}

namespace {

bool is_fed_at(const Part &supply, NetId net) {
    return std::any_of(supply.pins.begin(), supply.pins.end(),
                       [&](const Pin &pin) { return pin.upper && pin.net == net; });
}

} // namespace

PowerOwners::PowerOwners(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts)
    : parts_(parts), circuit_(circuit), facts_(facts), machines_(circuit.machines()), owner_(parts.size(), nobody),
      power_(parts.size()), at_(circuit.nets().size()) {
    for (std::size_t i = 0; i < machines_.size(); ++i)
        machine_index_.emplace(machines_[i], static_cast<int>(i));
    for (std::size_t i = 0; i < parts.size(); ++i)
        for (const Pin &pin : parts[i].pins)
            if (at_[pin.net.value].empty() || at_[pin.net.value].back() != i)
                at_[pin.net.value].push_back(i);
    find_power();
    find_power_chains();
    measure_feeding();
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (parts_[i].role == PartRole::motor)
            claim_upstream(i);
    claim_downstream();
}

int PowerOwners::machine(std::string_view name) const {
    const auto found = machine_index_.find(name);
    return found == machine_index_.end() ? nobody : found->second;
}

bool PowerOwners::on_rails(const Part &part) const {
    return std::all_of(part.pins.begin(), part.pins.end(), [&](const Pin &pin) { return facts_.rail[pin.net.value]; });
}

// A contact in a motor's own lead carries its current: a start button that bridges a pole, a selector as switch.
bool PowerOwners::carries_motor(const Part &part) const {
    if (!is_actuator(circuit_.device(part.device).kind) || !on_rails(part))
        return false;
    return std::any_of(part.pins.begin(), part.pins.end(), [&](const Pin &pin) {
        return !facts_.earthed[pin.net.value] &&
               std::any_of(at_[pin.net.value].begin(), at_[pin.net.value].end(),
                           [&](std::size_t other) { return parts_[other].role == PartRole::motor; });
    });
}

void PowerOwners::find_power() {
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        const Part &part = parts_[i];
        const DeviceKind kind = circuit_.device(part.device).kind;
        switch (part.role) {
        case PartRole::poles:
        case PartRole::source:
        case PartRole::motor:
        case PartRole::supply:
            power_[i] = true;
            break;
        case PartRole::series:
            power_[i] = on_rails(part);
            break;
        case PartRole::load:
            power_[i] = (kind == DeviceKind::load || kind == DeviceKind::insulation_monitor) && on_rails(part);
            break;
        case PartRole::contact:
            power_[i] = carries_motor(part);
            break;
        }
    }
}

template <class Visit>
void PowerOwners::neighbours(NetId net, Visit &&visit) const { // other nets, through power parts
    for (const std::size_t i : at_[net.value]) {
        const Part &part = parts_[i];
        if (!power_[i] || part.role == PartRole::source || part.role == PartRole::motor ||
            part.role == PartRole::load || part.role == PartRole::supply)
            continue;
        for (std::size_t p = 0; p + 1 < part.pins.size(); p += 2) {
            if (part.pins[p].net == net)
                visit(i, part.pins[p + 1].net);
            else if (part.pins[p + 1].net == net)
                visit(i, part.pins[p].net);
        }
    }
}

// Fuses and stops in series between two rails, with no coil among them, carry the current of what is fed behind them.
// Stops ahead of the control supplies of several machines are a circuit of their own.
void PowerOwners::find_power_chains() {
    std::vector<bool> seen(parts_.size());
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        if (seen[i] || power_[i])
            continue;
        std::vector<std::size_t> chain{i};
        std::set<NetId> rails;
        bool conducts_only = true, has_stop = false;
        std::set<std::size_t> supplies;
        seen[i] = true;
        for (std::size_t k = 0; k < chain.size(); ++k) {
            const Part &part = parts_[chain[k]];
            conducts_only = conducts_only && (part.role == PartRole::series || part.role == PartRole::contact);
            has_stop = has_stop || is_actuator(circuit_.device(part.device).kind);
            for (const Pin &pin : part.pins) {
                if (facts_.rail[pin.net.value]) {
                    rails.insert(pin.net);
                    for (const std::size_t next : at_[pin.net.value])
                        if (parts_[next].role == PartRole::supply && is_fed_at(parts_[next], pin.net))
                            supplies.insert(next);
                    continue;
                }
                for (const std::size_t next : at_[pin.net.value])
                    if (!seen[next] && !power_[next]) {
                        seen[next] = true;
                        chain.push_back(next);
                    }
            }
        }
        if (conducts_only && rails.size() > 1 && !(has_stop && supplies.size() > 1))
            for (const std::size_t part : chain)
                power_[part] = true;
    }
}

// Steps from the sources, by which up and down are told apart.
void PowerOwners::measure_feeding() {
    steps_.assign(at_.size(), -1);
    std::deque<NetId> queue;
    for (const Part &part : parts_)
        if (part.role == PartRole::source || part.role == PartRole::supply)
            for (const Pin &pin : part.pins)
                if (steps_[pin.net.value] < 0 && (part.role == PartRole::source || !pin.upper)) {
                    steps_[pin.net.value] = 0;
                    queue.push_back(pin.net);
                }
    while (!queue.empty()) {
        const NetId here = queue.front();
        queue.pop_front();
        neighbours(here, [&](std::size_t, NetId next) {
            if (steps_[next.value] < 0) {
                steps_[next.value] = steps_[here.value] + 1;
                queue.push_back(next);
            }
        });
    }
}

void PowerOwners::claim_upstream(std::size_t motor) {
    const int name = machine(machine_of(circuit_.device(parts_[motor].device)));
    owner_[motor] = name;
    std::deque<NetId> queue;
    std::set<NetId> seen;
    for (const Pin &pin : parts_[motor].pins)
        if (seen.insert(pin.net).second)
            queue.push_back(pin.net);
    while (!queue.empty()) {
        const NetId here = queue.front();
        queue.pop_front();
        neighbours(here, [&](std::size_t through, NetId next) {
            if (steps_[next.value] < 0 || steps_[next.value] >= steps_[here.value] || owner_[through] == several)
                return; // what several share they share all the way up
            owner_[through] = merged(owner_[through], name);
            if (seen.insert(next).second)
                queue.push_back(next);
        });
    }
}

// What hangs on one machine's nets alone is its own: a star contactor, a second switch.
void PowerOwners::claim_downstream() {
    for (bool more = true; more;) {
        more = false;
        for (std::size_t i = 0; i < parts_.size(); ++i) {
            if (!power_[i] || owner_[i] != nobody || parts_[i].role == PartRole::source)
                continue;
            int found = nobody;
            for (const Pin &pin : parts_[i].pins)
                if (steps_[pin.net.value] != 0)
                    for (const std::size_t other : at_[pin.net.value])
                        if (other != i && power_[other])
                            found = merged(found, owner_[other]);
            const std::string_view named = machine_of(circuit_.device(parts_[i].device));
            if (found == nobody && !named.empty())
                found = machine(named);
            if (found >= 0 && !circuit_.device(parts_[i].device).flag("kept", false)) {
                owner_[i] = found;
                more = true;
            }
        }
    }
}

void PowerOwners::claim_supplies(const std::vector<int> &users) {
    const auto owner_of = [&](std::size_t part) { return power_[part] ? owner_[part] : users[part]; };
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        if (parts_[i].role != PartRole::supply)
            continue;
        int found = nobody;
        for (const Pin &pin : parts_[i].pins)
            if (!pin.upper)
                for (const std::size_t user : at_[pin.net.value])
                    if (user != i && parts_[user].role != PartRole::source)
                        found = merged(found, owner_of(user) == nobody ? several : owner_of(user));
        if (found < 0)
            continue;
        owner_[i] = found;
        std::deque<NetId> queue;
        for (const Pin &pin : parts_[i].pins)
            if (pin.upper)
                queue.push_back(pin.net);
        while (!queue.empty()) {
            const NetId here = queue.front();
            queue.pop_front();
            neighbours(here, [&](std::size_t through, NetId next) {
                if (owner_[through] != nobody || steps_[next.value] < 0 || steps_[next.value] >= steps_[here.value])
                    return;
                owner_[through] = found;
                queue.push_back(next);
            });
        }
    }
}

} // namespace stopspan
