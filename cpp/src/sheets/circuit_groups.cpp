#include "sheets/circuit_groups.hpp"

#include "sheets/power_owners.hpp"

#include <algorithm>
#include <deque>
#include <map>
#include <set>

namespace stopspan {
namespace {

using Pieces = std::vector<std::size_t>;

constexpr int least_own_parts = 3; // of a machine that is worth a circuit of its own

class Grouping {
public:
    Grouping(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts, const Description &description)
        : parts_(parts), circuit_(circuit), facts_(facts), description_(description), power_(parts, circuit, facts),
          owner_(parts.size(), nobody), zone_(parts.size()), component_(parts.size()) {}

    std::vector<CircuitGroup> group() {
        find_control();
        power_.claim_supplies(owner_);
        return collect();
    }

private:
    bool is_coil(std::size_t part) const {
        return parts_[part].role == PartRole::load && parts_[part].symbol != "INPUT" &&
               has_coil(circuit_.device(parts_[part].device).kind);
    }

    // In a motor's line, too, a relay's contact alone does not make the relay that machine's: a zone's acts in many.
    bool is_relay_contact(std::size_t part) const {
        return parts_[part].role == PartRole::contact && has_coil(circuit_.device(parts_[part].device).kind);
    }

    void find_control();
    bool feeds_supply(const Pieces &component) const;
    std::size_t supply_at(std::size_t part, NetId net) const;
    void follow_stop_relays();
    void follow_relays();
    std::size_t component_of_coil(std::size_t contact) const;
    Pieces connected(std::size_t first, std::vector<bool> &seen) const;
    int speaks_for(std::size_t part) const;
    std::vector<std::pair<NetId, int>> supplies_fed(const Pieces &component) const;
    void claim(const Pieces &component);
    bool split(const Pieces &component);
    std::string zone_of_component(const Pieces &component) const;
    std::string shared_title(const Pieces &parts) const;
    std::vector<CircuitGroup> collect();

    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    const Description &description_;
    PowerOwners power_;
    std::vector<int> owner_;             ///< of control parts
    std::vector<std::string> zone_;      ///< of control parts that are no machine's
    std::vector<std::size_t> component_; ///< of control parts: its first part
    std::map<DeviceId, int> device_;     ///< owner of a device by those of its parts that have one
};

// Control parts joined by nets that are no rails.
Pieces Grouping::connected(std::size_t first, std::vector<bool> &seen) const {
    Pieces component;
    std::deque<std::size_t> queue{first};
    seen[first] = true;
    while (!queue.empty()) {
        const std::size_t here = queue.front();
        queue.pop_front();
        component.push_back(here);
        for (const Pin &pin : parts_[here].pins)
            if (!facts_.rail[pin.net.value])
                for (const std::size_t next : power_.at(pin.net))
                    if (!seen[next] && !power_.power(next)) {
                        seen[next] = true;
                        queue.push_back(next);
                    }
    }
    std::sort(component.begin(), component.end());
    return component;
}

void Grouping::find_control() {
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (power_.power(i) && power_.owner(i) != nobody && !is_relay_contact(i)) {
            const auto [entry, fresh] = device_.try_emplace(parts_[i].device, power_.owner(i));
            if (!fresh)
                entry->second = merged(entry->second, power_.owner(i));
        }
    std::vector<bool> seen(parts_.size());
    std::vector<Pieces> feeders; // of transformers and supplies: they go with the coils behind those
    std::vector<Pieces> late;    // without a coil, such as inputs and lamps: they go with what they belong to
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        if (seen[i] || power_.power(i))
            continue;
        Pieces component = connected(i, seen);
        for (const std::size_t part : component)
            component_[part] = i;
        if (feeds_supply(component))
            feeders.push_back(std::move(component));
        else if (std::any_of(component.begin(), component.end(), [&](std::size_t part) { return is_coil(part); }))
            claim(component);
        else
            late.push_back(std::move(component));
    }
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (!power_.power(i) && owner_[i] >= 0)
            device_.try_emplace(parts_[i].device, owner_[i]);
    for (const Pieces &component : feeders)
        claim(component);
    for (const Pieces &component : late)
        claim(component);
    follow_stop_relays();
    follow_relays();
}

// Coil, feedback and outputs of a stop relay stand with its inputs, on the sheet of the zone whose stops are in those.
void Grouping::follow_stop_relays() {
    std::map<DeviceId, std::string> zone_of;
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (!zone_[i].empty() && circuit_.device(parts_[i].device).kind == DeviceKind::stop_relay)
            zone_of.emplace(parts_[i].device, zone_[i]);
    std::map<std::size_t, std::string> moving; // by component
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (const auto found = zone_of.find(parts_[i].device); found != zone_of.end() && !power_.power(i))
            moving.emplace(component_[i], found->second);
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (!power_.power(i) && owner_[i] < 0 && zone_[i].empty())
            if (const auto found = moving.find(component_[i]); found != moving.end())
                zone_[i] = found->second;
}

// A relay stands with the one machine in whose circuits all its contacts act, unless it is a zone's.
void Grouping::follow_relays() {
    for (bool more = true; more;) {
        more = false;
        std::map<DeviceId, int> acts_for;
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (parts_[i].role == PartRole::contact && (power_.power(i) || component_[i] != component_of_coil(i))) {
                const int owner = power_.power(i) ? power_.owner(i) : owner_[i];
                int &found = acts_for.try_emplace(parts_[i].device, nobody).first->second;
                found = merged(found, owner == nobody ? several : owner);
            }
        std::map<std::size_t, int> wanted; // by component
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (!power_.power(i) && owner_[i] == nobody && zone_[i].empty() && is_coil(i)) {
                const auto found = acts_for.find(parts_[i].device);
                int &owner = wanted.try_emplace(component_[i], nobody).first->second;
                owner = merged(owner, found == acts_for.end() ? several : found->second);
            }
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (const auto found = wanted.find(component_[i]);
                !power_.power(i) && found != wanted.end() && found->second >= 0 && owner_[i] == nobody) {
                owner_[i] = found->second;
                more = true;
            }
    }
}

std::size_t Grouping::component_of_coil(std::size_t contact) const {
    std::size_t i = contact; // parts of a device stand together
    while (i > 0 && parts_[i - 1].device == parts_[contact].device)
        --i;
    for (; i < parts_.size() && parts_[i].device == parts_[contact].device; ++i)
        if (is_coil(i))
            return component_[i];
    return parts_.size();
}

int Grouping::speaks_for(std::size_t part) const {
    const Device &device = circuit_.device(parts_[part].device);
    if (has_coil(device.kind) || device.kind == DeviceKind::overload || device.kind == DeviceKind::drive) {
        const auto found = device_.find(parts_[part].device);
        return found == device_.end() ? nobody : found->second;
    }
    return power_.machine(machine_of(device));
}

bool Grouping::feeds_supply(const Pieces &component) const {
    return std::any_of(component.begin(), component.end(), [&](std::size_t part) {
        return std::any_of(parts_[part].pins.begin(), parts_[part].pins.end(),
                           [&](const Pin &pin) { return supply_at(part, pin.net) < parts_.size(); });
    });
}

// The transformer or supply that a control part leads to on this net.
std::size_t Grouping::supply_at(std::size_t part, NetId net) const {
    const NetId other =
        parts_[part].pins.front().net == net ? parts_[part].pins.back().net : parts_[part].pins.front().net;
    const int feed = facts_.feed[net.value], before = facts_.feed[other.value];
    if (parts_[part].role == PartRole::load || before < 0 || before >= feed)
        return parts_.size();
    for (const std::size_t i : power_.at(net))
        if (parts_[i].role == PartRole::supply)
            for (const Pin &pin : parts_[i].pins)
                if (pin.upper && pin.net == net)
                    return i;
    return parts_.size();
}

// Nets of a piece where a transformer or supply of one machine begins, and that machine.
std::vector<std::pair<NetId, int>> Grouping::supplies_fed(const Pieces &component) const {
    std::vector<std::pair<NetId, int>> found;
    for (const std::size_t part : component)
        for (const Pin &end : parts_[part].pins) {
            const std::size_t supply = supply_at(part, end.net);
            if (supply == parts_.size())
                continue;
            int user = nobody;
            for (const Pin &pin : parts_[supply].pins)
                if (!pin.upper)
                    for (const std::size_t i : power_.at(pin.net))
                        if (i != supply && !power_.power(i))
                            user = merged(user, owner_[i] == nobody ? several : owner_[i]);
            found.emplace_back(end.net, user);
        }
    return found;
}

// A piece is a machine's when its coils are, else when its contacts and buttons are. One that feeds several machines is
// split into their own branches and what they share.
void Grouping::claim(const Pieces &component) {
    int all = nobody;
    for (const std::size_t part : component)
        if (parts_[part].role == PartRole::load)
            all = merged(all, speaks_for(part));
    for (const auto &[net, user] : supplies_fed(component))
        all = merged(all, user);
    if (all == nobody)
        for (const std::size_t part : component)
            all = merged(all, speaks_for(part));
    if (all == several && split(component))
        return;
    const std::string zone = all < 0 ? zone_of_component(component) : "";
    for (const std::size_t part : component) {
        owner_[part] = all;
        zone_[part] = zone;
    }
}

// Marks what leads to each machine's coils, from the coils up. Not worth it, and left undone, where a machine would
// keep little more than its coil.
bool Grouping::split(const Pieces &component) {
    std::map<NetId, Pieces> at;
    for (const std::size_t part : component)
        for (const Pin &pin : parts_[part].pins)
            at[pin.net].push_back(part);
    const auto other_end = [&](std::size_t part, NetId net) {
        return parts_[part].pins.front().net == net ? parts_[part].pins.back().net : parts_[part].pins.front().net;
    };
    std::deque<NetId> queue;
    std::map<std::size_t, int> mark;
    std::map<int, int> own; // parts of each machine
    const auto mark_up = [&](const std::set<NetId> &from, int machine) {
        std::set<NetId> seen = from;
        queue.assign(seen.begin(), seen.end());
        while (!queue.empty()) {
            const NetId here = queue.front();
            queue.pop_front();
            for (const std::size_t part : at[here]) {
                const NetId next = other_end(part, here);
                const int feed = facts_.feed[here.value], before_it = facts_.feed[next.value];
                if (parts_[part].role == PartRole::load || before_it < 0 || before_it >= feed)
                    continue;
                const int before = mark.try_emplace(part, nobody).first->second;
                mark[part] = merged(before, machine);
                if (before != several && seen.insert(next).second) // what is shared is shared all the way up
                    queue.push_back(next);
            }
        }
    };
    for (const std::size_t coil : component)
        if (const int machine = speaks_for(coil); parts_[coil].role == PartRole::load && machine >= 0) {
            ++own[machine];
            mark[coil] = machine;
            mark_up({parts_[coil].pins.front().net, parts_[coil].pins.back().net}, machine);
        }
    for (const auto &[net, machine] : supplies_fed(component))
        if (machine >= 0) {
            ++own[machine]; // for the supply, which stands there too
            mark_up({net}, machine);
        }
    for (const auto &[part, machine] : mark)
        if (machine >= 0 && parts_[part].role != PartRole::load)
            ++own[machine];
    if (std::any_of(own.begin(), own.end(), [](const auto &entry) { return entry.second < least_own_parts; }))
        return false;
    const std::string zone = zone_of_component(component);
    for (const std::size_t part : component) {
        const auto found = mark.find(part);
        owner_[part] = found == mark.end() ? several : found->second;
        if (owner_[part] < 0)
            zone_[part] = zone;
    }
    return true;
}

// The zone whose stop devices and reset are there.
std::string Grouping::zone_of_component(const Pieces &component) const {
    std::set<std::string_view> devices;
    for (const std::size_t part : component)
        devices.insert(circuit_.device(parts_[part].device).designation);
    std::size_t best = 0;
    std::string name;
    for (const Zone &zone : description_.zones()) {
        std::size_t found = !zone.reset.empty() && devices.contains(zone.reset) ? 100 : 0;
        for (const StopId stop : zone.devices)
            found += devices.contains(description_[stop].name);
        if (found > best) {
            best = found;
            name = zone.name;
        }
    }
    return name;
}

std::string Grouping::shared_title(const Pieces &parts) const {
    std::string coils;
    int count = 0;
    for (const std::size_t part : parts)
        if (is_coil(part) && ++count <= 3)
            coils += (count == 1 ? "" : ", ") + circuit_.device(parts_[part].device).designation;
    return count == 0 ? "Other circuits" : count > 3 ? "Shared control circuits" : "Control circuit of " + coils;
}

std::vector<CircuitGroup> Grouping::collect() {
    CircuitGroup supply{
        CircuitGroup::Kind::supply, "Supplies and shared power circuits", "Supplies and shared circuits", {}};
    CircuitGroup shared{CircuitGroup::Kind::shared, "", "Supplies and shared circuits", {}};
    std::vector<CircuitGroup> power, control;
    for (const std::string &name : power_.machines()) {
        power.push_back(
            {CircuitGroup::Kind::machine_power, name + ": power circuit", name + ": power and control circuit", {}});
        control.push_back({CircuitGroup::Kind::machine_control,
                           name + ": control circuit",
                           name + ": power and control circuit",
                           {}});
    }
    std::map<std::string, CircuitGroup> zones;
    for (const Zone &zone : description_.zones())
        zones.emplace(zone.name, CircuitGroup{CircuitGroup::Kind::zone, "Zone " + zone.name + ": circuit", "", {}});
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        const int owner = power_.power(i) ? power_.owner(i) : owner_[i];
        if (power_.power(i))
            (owner >= 0 ? power[static_cast<std::size_t>(owner)] : supply).parts.push_back(i);
        else if (owner >= 0)
            control[static_cast<std::size_t>(owner)].parts.push_back(i);
        else
            (zone_[i].empty() ? shared : zones.at(zone_[i])).parts.push_back(i);
    }
    shared.title = shared_title(shared.parts);
    if (power.size() == 1 && !power.front().parts.empty()) { // one machine: its sheet shows where it is fed from
        Pieces &only = power.front().parts;
        only.insert(only.end(), supply.parts.begin(), supply.parts.end());
        std::sort(only.begin(), only.end());
        supply.parts.clear();
    }
    std::vector<CircuitGroup> groups{std::move(supply)};
    for (std::size_t i = 0; i < power.size(); ++i) {
        groups.push_back(std::move(power[i]));
        groups.push_back(std::move(control[i]));
    }
    for (const Zone &zone : description_.zones())
        groups.push_back(std::move(zones.at(zone.name)));
    groups.push_back(std::move(shared));
    std::erase_if(groups, [](const CircuitGroup &group) { return group.parts.empty(); });
    return groups;
}

} // namespace

std::vector<CircuitGroup> circuit_groups(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts,
                                         const Description &description) {
    return Grouping(parts, circuit, facts, description).group();
}

} // namespace stopspan
