#include "sheets/circuit_groups.hpp"

#include <algorithm>
#include <deque>
#include <map>
#include <set>

namespace stopspan {
namespace {

constexpr int nobody = -1, several = -2;
constexpr std::string_view zone_word = "Zone ";

int merged(int a, int b) {
    return a == nobody ? b : b == nobody || a == b ? a : several;
}

class Grouping {
public:
    Grouping(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts, const Description &description)
        : parts_(parts), circuit_(circuit), facts_(facts), description_(description), machines_(circuit.machines()),
          owner_(parts.size(), nobody), power_(parts.size()), at_(circuit.nets().size()) {
        for (std::size_t i = 0; i < machines_.size(); ++i)
            machine_index_.emplace(machines_[i], static_cast<int>(i));
        for (std::size_t i = 0; i < parts.size(); ++i)
            for (const Pin &pin : parts[i].pins)
                at_[pin.net.value].push_back(i);
    }

    std::vector<CircuitGroup> group() {
        find_power();
        measure_feeding();
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (parts_[i].role == PartRole::motor)
                claim_upstream(i);
        claim_downstream();
        find_control();
        return collect();
    }

private:
    int machine(std::string_view name) const {
        const auto found = machine_index_.find(name);
        return found == machine_index_.end() ? nobody : found->second;
    }

    bool on_rails(const Part &part) const {
        return std::all_of(part.pins.begin(), part.pins.end(),
                           [&](const Pin &pin) { return facts_.rail[pin.net.value]; });
    }

    // A contact in a motor's own lead carries its current: a start button that bridges a pole, a selector as switch.
    bool carries_motor(const Part &part) const {
        if (!is_actuator(circuit_.device(part.device).kind) || !on_rails(part))
            return false;
        return std::any_of(part.pins.begin(), part.pins.end(), [&](const Pin &pin) {
            return !facts_.earthed[pin.net.value] &&
                   std::any_of(at_[pin.net.value].begin(), at_[pin.net.value].end(),
                               [&](std::size_t other) { return parts_[other].role == PartRole::motor; });
        });
    }

    void find_power() {
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
    void neighbours(NetId net, Visit &&visit) const { // other nets, through power parts
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

    // Steps from the sources, by which up and down are told apart.
    void measure_feeding() {
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

    void claim_upstream(std::size_t motor) {
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
    void claim_downstream() {
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

    // Owner of the device whose coil or switch a control part is, from its power parts.
    int device_owner(DeviceId device) const {
        const auto found = owner_of_device_.find(device);
        return found == owner_of_device_.end() ? nobody : found->second;
    }

    void find_control();
    void claim_supplies();
    void claim_control(const std::vector<std::size_t> &component);
    std::vector<CircuitGroup> collect();
    std::string shared_title(const std::vector<std::size_t> &component) const;

    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    const Description &description_;
    std::vector<std::string> machines_;
    std::map<std::string, int, std::less<>> machine_index_;
    std::vector<int> owner_;
    std::vector<bool> power_;
    std::vector<std::vector<std::size_t>> at_;
    std::vector<int> steps_;
    std::map<DeviceId, int> owner_of_device_;
    std::vector<std::pair<std::string, std::vector<std::size_t>>> shared_; ///< title, parts
};

void Grouping::find_control() {
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (power_[i] && owner_[i] != nobody) {
            auto [entry, fresh] = owner_of_device_.try_emplace(parts_[i].device, owner_[i]);
            if (!fresh)
                entry->second = merged(entry->second, owner_[i]);
        }
    // Pieces joined by nets that are no rails.
    std::vector<bool> seen(parts_.size());
    std::vector<std::vector<std::size_t>> late; // pieces without a coil: inputs, lamps
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        if (seen[i] || power_[i])
            continue;
        std::vector<std::size_t> component;
        std::deque<std::size_t> queue{i};
        seen[i] = true;
        while (!queue.empty()) {
            const std::size_t here = queue.front();
            queue.pop_front();
            component.push_back(here);
            for (const Pin &pin : parts_[here].pins)
                if (!facts_.rail[pin.net.value])
                    for (const std::size_t next : at_[pin.net.value])
                        if (!seen[next] && !power_[next]) {
                            seen[next] = true;
                            queue.push_back(next);
                        }
        }
        std::sort(component.begin(), component.end());
        const bool coil = std::any_of(component.begin(), component.end(), [&](std::size_t part) {
            return parts_[part].role == PartRole::load && has_coil(circuit_.device(parts_[part].device).kind) &&
                   parts_[part].symbol != "INPUT";
        });
        if (coil)
            claim_control(component);
        else
            late.push_back(std::move(component));
    }
    for (const std::size_t i : [&] {
             std::vector<std::size_t> all;
             for (std::size_t k = 0; k < parts_.size(); ++k)
                 if (!power_[k] && owner_[k] >= 0)
                     all.push_back(k);
             return all;
         }())
        owner_of_device_.try_emplace(parts_[i].device, owner_[i]);
    for (const auto &component : late)
        claim_control(component);
    claim_supplies();
}

// A supply stands with the power circuit of the one machine that uses it, and so does what leads to it alone.
void Grouping::claim_supplies() {
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        if (parts_[i].role != PartRole::supply)
            continue;
        int found = nobody;
        for (const Pin &pin : parts_[i].pins)
            if (!pin.upper)
                for (const std::size_t user : at_[pin.net.value])
                    if (user != i && parts_[user].role != PartRole::source)
                        found = merged(found, owner_[user] == nobody ? several : owner_[user]);
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

// To one machine when only its coils, contacts and buttons are there; each machine's own branches to it where a piece
// feeds several; what they share is drawn by itself.
void Grouping::claim_control(const std::vector<std::size_t> &component) {
    int all = nobody;
    const auto speaks_for = [&](std::size_t part) {
        const Device &device = circuit_.device(parts_[part].device);
        if (has_coil(device.kind) || device.kind == DeviceKind::overload || device.kind == DeviceKind::drive)
            return device_owner(parts_[part].device);
        return machine(machine_of(device));
    };
    for (const bool coils_only : {true, false}) {
        for (const std::size_t part : component) {
            const bool coil = parts_[part].role == PartRole::load;
            if (coil == coils_only || !coils_only)
                all = merged(all, speaks_for(part));
        }
        if (all != nobody)
            break;
    }
    if (all >= 0) {
        for (const std::size_t part : component)
            owner_[part] = all;
        return;
    }
    shared_.emplace_back(shared_title(component), component);
}

std::string Grouping::shared_title(const std::vector<std::size_t> &component) const {
    std::set<std::string_view> devices;
    for (const std::size_t part : component)
        devices.insert(circuit_.device(parts_[part].device).designation);
    std::size_t best = 0;
    std::string title;
    for (const Zone &zone : description_.zones()) {
        std::size_t found = !zone.reset.empty() && devices.contains(zone.reset) ? 100 : 0;
        for (const StopId stop : zone.devices)
            found += devices.contains(description_[stop].name);
        if (found > best) {
            best = found;
            title = std::string(zone_word) + zone.name + ": circuit";
        }
    }
    if (!title.empty())
        return title;
    std::string coils;
    for (const std::size_t part : component)
        if (!coil_table(parts_, part, circuit_).heading.empty())
            coils += (coils.empty() ? "" : ", ") + circuit_.device(parts_[part].device).designation;
    return coils.empty() ? "Other control circuits" : "Control circuit of " + coils;
}

std::vector<CircuitGroup> Grouping::collect() {
    std::vector<CircuitGroup> groups{{CircuitGroup::Kind::supply, "Supplies and shared power circuits", {}}};
    std::vector<CircuitGroup> power, control, zones, shared;
    for (const std::string &name : machines_) {
        power.push_back({CircuitGroup::Kind::machine_power, name + ": power circuit", {}});
        control.push_back({CircuitGroup::Kind::machine_control, name + ": control circuit", {}});
    }
    std::set<std::size_t> taken;
    for (const auto &[title, parts] : shared_)
        taken.insert(parts.begin(), parts.end());
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        if (taken.contains(i))
            continue;
        if (owner_[i] >= 0)
            (power_[i] ? power : control)[static_cast<std::size_t>(owner_[i])].parts.push_back(i);
        else
            groups.front().parts.push_back(i);
    }
    for (const auto &[title, parts] : shared_) {
        const bool zone = title.starts_with(zone_word);
        auto &kind = zone ? zones : shared;
        auto found =
            std::find_if(kind.begin(), kind.end(), [&](const CircuitGroup &group) { return group.title == title; });
        if (found == kind.end())
            found = kind.insert(kind.end(), {zone ? CircuitGroup::Kind::zone : CircuitGroup::Kind::shared, title, {}});
        found->parts.insert(found->parts.end(), parts.begin(), parts.end());
    }
    if (machines_.size() == 1 && !power.front().parts.empty()) { // one machine: its sheet shows where it is fed from
        auto &only = power.front().parts;
        only.insert(only.end(), groups.front().parts.begin(), groups.front().parts.end());
        std::sort(only.begin(), only.end());
        groups.front().parts.clear();
    }
    for (std::size_t i = 0; i < machines_.size(); ++i) {
        groups.push_back(std::move(power[i]));
        groups.push_back(std::move(control[i]));
    }
    for (auto *more : {&zones, &shared})
        std::move(more->begin(), more->end(), std::back_inserter(groups));
    std::erase_if(groups, [](const CircuitGroup &group) { return group.parts.empty(); });
    return groups;
}

} // namespace

std::vector<CircuitGroup> circuit_groups(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts,
                                         const Description &description) {
    return Grouping(parts, circuit, facts, description).group();
}

} // namespace stopspan
