#include "checks/repairs/start_relay.hpp"

#include "base/words.hpp"
#include "checks/repairs/surroundings.hpp"
#include "checks/repairs/wiring.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>
#include <array>
#include <optional>

namespace stopspan {
namespace {

constexpr std::size_t most_guarded = 4; // contacts of one relay besides the one it holds by

// First and second end of what brings a device in.
std::optional<std::pair<std::string, std::string>> coil_of(const Device &device) {
    for (const auto &[first, second] : {std::pair{"A1", "A2"}, {"C1", "C2"}})
        if (device.net_of(first) && device.net_of(second) && device.kind != DeviceKind::stop_relay)
            return std::pair<std::string, std::string>{first, second};
    return std::nullopt;
}

// What has a contact to spare that opens when it acts: of an isolator that is one that it opens with its poles.
std::optional<Contact> lock_of(const Device &device) {
    if (device.kind == DeviceKind::isolator)
        return free_block(device, ContactSense::make);
    if (device.kind == DeviceKind::contactor || device.kind == DeviceKind::relay ||
        device.kind == DeviceKind::latched_contactor || is_actuator(device.kind))
        return free_block(device, ContactSense::break_);
    return std::nullopt;
}

/// What contacts lead to from a net.
class Ways {
public:
    explicit Ways(const Circuit &circuit) : circuit_(circuit), around_(circuit) {}

    /// A source or a power pole ends there.
    bool fed(Net net) const { return around_.in_power(net); }
    bool source(Net net) const { return around_.source(net); }

    struct Coil {
        const Device *device;
        std::size_t steps;
        std::vector<std::string> interlocks; ///< whose break contacts stand on the way
    };
    /// The nearest coil, not through a start device nor on from where power is fed. @pre no source stands on start
    std::optional<Coil> nearest_coil(Net start, const Device &except) const {
        struct Step {
            Net net;
            std::size_t from, steps;
            const Device *broken;
        };
        std::vector<Step> reached{{start, 0, 0, nullptr}};
        for (std::size_t k = 0; k < reached.size(); ++k) {
            if (k > 0 && fed(reached[k].net))
                continue;
            for (const Device &device : circuit_.devices())
                if (const auto coil = coil_of(device); coil && device.net_of(coil->first)->value == reached[k].net) {
                    Coil found{&device, reached[k].steps, {}};
                    for (std::size_t at = k; at != 0; at = reached[at].from)
                        if (const Device *broken = reached[at].broken;
                            broken && broken != &device && broken->kind != DeviceKind::timer)
                            found.interlocks.push_back(broken->designation);
                    return found;
                }
            for (const Device &device : circuit_.devices()) {
                if (device.designation == except.designation)
                    continue;
                for (const Contact &contact : contacts_of(device)) {
                    const Net a = device.net_of(contact.first)->value, b = device.net_of(contact.second)->value;
                    if (contact.sense == ContactSense::pole || (a != reached[k].net && b != reached[k].net))
                        continue;
                    const Net next = a == reached[k].net ? b : a;
                    if (std::none_of(reached.begin(), reached.end(),
                                     [&](const Step &step) { return step.net == next; }))
                        reached.push_back(
                            {next, k, reached[k].steps + 1, contact.sense == ContactSense::break_ ? &device : nullptr});
                }
            }
        }
        return std::nullopt;
    }

    /// The pole that a coil's return ends at: contacts that stand in between would stand there for the relay, too.
    Net end_of_return(Net start) const {
        std::vector<Net> reached{start}, poles;
        for (std::size_t k = 0; k < reached.size(); ++k) {
            if (around_.source(reached[k])) {
                poles.push_back(reached[k]);
                continue;
            }
            for (const Device &device : circuit_.devices())
                for (const Contact &contact : contacts_of(device)) {
                    const Net a = device.net_of(contact.first)->value, b = device.net_of(contact.second)->value;
                    const bool conducts = contact.sense != ContactSense::pole || device.kind == DeviceKind::isolator;
                    if (conducts && (a == reached[k] || b == reached[k]))
                        if (const Net next = a == reached[k] ? b : a;
                            std::find(reached.begin(), reached.end(), next) == reached.end())
                            reached.push_back(next);
                }
        }
        return poles.size() == 1 ? poles[0] : start;
    }

private:
    const Circuit &circuit_;
    Surroundings around_;
};

std::string coil_end(const StartRelay &added) {
    return added.relay + ":A1";
}

// That it holds by.
const Contact holding_contact{"13", "14", ContactSense::make};

// In series behind that contact of the start device.
Contact own_contact(const StartRelay &added, std::size_t guarded) {
    if (added.by_poles)
        return {std::to_string(2 * guarded + 1), std::to_string(2 * guarded + 2), ContactSense::pole};
    const std::string row = std::to_string(guarded + 2);
    return {row + "3", row + "4", ContactSense::make};
}

} // namespace

std::vector<StartRelay> start_relays(const Circuit &circuit, const Device &start, const Circuit &names) {
    const auto broken = free_block(start, ContactSense::break_);
    if (!broken)
        return {};
    const Ways ways(circuit);
    StartRelay plain{.relay = {},
                     .start = start.designation,
                     .like = {},
                     .back = {},
                     .broken = *broken,
                     .guarded = {},
                     .by_poles = false,
                     .locks = {}};
    std::optional<Ways::Coil> coil; // the first that one of them starts; of others it may hang beyond this part
    for (Contact block : contacts_of(start)) {
        if (block.sense != ContactSense::make)
            continue;
        const Net first = start.net_of(block.first)->value, second = start.net_of(block.second)->value;
        // What it starts hangs at the end that is not fed; at a button that bridges a pole both are.
        const auto starts_at = [&](Net end, Net other) {
            return ways.source(end) || (ways.fed(end) && !ways.fed(other)) ? std::nullopt
                                                                           : ways.nearest_coil(end, start);
        };
        const auto ahead = starts_at(second, first), behind = starts_at(first, second);
        const bool turned = behind && (!ahead || behind->steps < ahead->steps);
        if (turned)
            std::swap(block.first, block.second);
        plain.by_poles |= ways.fed(turned ? first : second);
        plain.guarded.push_back(block);
        if (const auto &starts = turned ? behind : ahead; starts && !coil) {
            coil = starts;
            std::swap(plain.guarded.front(), plain.guarded.back()); // the relay is fed where that is
        }
    }
    if (!coil || plain.guarded.size() > most_guarded)
        return {};
    plain.like = coil->device->designation;
    plain.relay = free_name(names, plain.like, 'A');
    std::vector<Net> backs{coil->device->net_of(coil_of(*coil->device)->second)->value};
    if (const Net straight = ways.end_of_return(backs[0]); straight != backs[0])
        backs.push_back(straight);
    std::vector<StartRelay> found;
    const auto add = [&](const std::vector<std::string> &locks) {
        for (const Net net : backs) {
            plain.back = circuit.net_name(NetId{net});
            if (auto locked = with_locks(circuit, plain, locks))
                found.push_back(std::move(*locked));
        }
    };
    add({});
    // What its feed outlives must open it in another way: what was started, or what keeps that from coming in.
    add({coil->device->designation});
    if (!coil->interlocks.empty()) {
        add(coil->interlocks);
        std::vector<std::string> all = coil->interlocks;
        all.push_back(coil->device->designation);
        add(all);
    }
    return found;
}

std::optional<StartRelay> with_locks(const Circuit &circuit, StartRelay relay,
                                     const std::vector<std::string> &devices) {
    for (const std::string &name : devices) {
        const auto device = circuit.find(name);
        const auto lock = device && name != relay.start ? lock_of(circuit.device(*device)) : std::nullopt;
        if (!lock)
            return std::nullopt;
        relay.locks.emplace_back(name, *lock);
    }
    return relay;
}

bool fits(const Circuit &circuit, const StartRelay &added) {
    const auto start = circuit.find(added.start), like = circuit.find(added.like);
    if (!start || !like || circuit.find(added.relay) || !circuit.find_net(added.back) ||
        circuit.device(*start).net_of(added.broken.first))
        return false;
    return std::all_of(added.guarded.begin(), added.guarded.end(),
                       [&](const Contact &block) {
                           return circuit.device(*start).net_of(block.first) &&
                                  circuit.device(*start).net_of(block.second);
                       }) &&
           std::all_of(added.locks.begin(), added.locks.end(), [&](const auto &lock) {
               const auto owner = circuit.find(lock.first);
               return owner && !circuit.device(*owner).net_of(lock.second.first);
           });
}

void apply(Circuit &circuit, const StartRelay &added) {
    const Device like = circuit.at(added.like);
    const std::string from = net_at(circuit, added.start, added.guarded[0].first), coil = coil_end(added);
    Parameters parameters;
    for (const auto &[name, value] : like.parameters)
        if (static constexpr std::array<std::string_view, 5> of_coils{"coil_voltage_v", "coil_current", "hold_va",
                                                                      "hold_w", "inrush_va"};
            std::find(of_coils.begin(), of_coils.end(), name) != of_coils.end())
            parameters.emplace(name, value);
    std::string held = added.locks.empty() ? coil : added.relay + ":" + holding_contact.second;
    std::vector<Connection> connections{
        {"A1", coil}, {"A2", added.back}, {holding_contact.first, from}, {holding_contact.second, held}};
    for (std::size_t i = 0; i < added.guarded.size(); ++i) {
        const Contact own = own_contact(added, i);
        const std::string behind = added.relay + ":" + own.first;
        connections.push_back({own.first, behind});
        connections.push_back({own.second, net_at(circuit, added.start, added.guarded[i].second)});
        circuit.connect(added.start, added.guarded[i].second, behind);
    }
    exchange_contact(circuit, added.start, {}, added.broken, from, coil);
    for (std::size_t i = 0; i < added.locks.size(); ++i) {
        const auto &[owner, lock] = added.locks[i];
        const std::string next = i + 1 == added.locks.size() ? coil : owner + ":" + lock.second;
        exchange_contact(circuit, owner, {}, lock, held, next);
        held = next;
    }
    circuit.add(added.relay, added.by_poles ? DeviceKind::contactor : DeviceKind::relay, connections, parameters);
}

std::string text_of(const StartRelay &added, const Circuit &before) {
    const auto coil = coil_of(before.at(added.like));
    std::string text = std::string("add a ") + (added.by_poles ? "contactor " : "relay ") + added.relay +
                       " with a coil like " + added.like + "'s";
    if (net_at(before, added.like, coil->second) != added.back)
        text += " that returns straight to " + added.back;
    text += ", fed from " + net_at(before, added.start, added.guarded[0].first) + " through a break contact " +
            contact_text(added.start, added.broken) + " and beside that through its own contact 13-14";
    std::vector<std::string> locks;
    for (const auto &[owner, lock] : added.locks)
        locks.push_back((lock.sense == ContactSense::make ? "a make contact " : "a break contact ") +
                        contact_text(owner, lock));
    if (!locks.empty())
        text += " in series with " + listed(locks);
    for (std::size_t i = 0; i < added.guarded.size(); ++i) {
        const Contact own = own_contact(added, i);
        const std::string &end = added.guarded[i].second;
        text += std::string(", and its ") + (added.by_poles ? "pole " : "contact ") + own.first + "-" + own.second +
                " in series behind " + added.start + ":" + end + " (net " + net_at(before, added.start, end) + ")";
    }
    return text;
}

std::vector<std::string> touched_nets(const StartRelay &added, const Circuit &before) {
    std::vector<std::string> nets{added.back};
    for (const Device::Terminal &terminal : before.at(added.start).terminals)
        nets.push_back(before.net_name(terminal.net));
    const auto coil = coil_of(before.at(added.like));
    for (const std::string &end : {coil->first, coil->second})
        nets.push_back(net_at(before, added.like, end));
    return nets;
}

} // namespace stopspan
