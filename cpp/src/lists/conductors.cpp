#include "lists/conductors.hpp"

#include "circuit/kinds.hpp"

#include <algorithm>
#include <array>
#include <unordered_set>

namespace stopspan {
namespace {

using enum DeviceKind;

// Pairs of terminals that conduct when the device is closed or whole.
template <class Visit>
void conducting_pairs(const Device &device, Visit &&visit) {
    for (const Contact &contact : contacts_of(device))
        visit(*device.net_of(contact.first), *device.net_of(contact.second), contact.sense == ContactSense::pole);
    if (device.kind == fuse || device.kind == link || device.kind == resistor)
        visit(*device.net_of("1"), *device.net_of("2"), true);
    if (device.kind == cable)
        for (const auto &[near, far] : cores_of(device))
            visit(near, far, true);
}

struct Ways {
    Ways(const Circuit &circuit, bool poles_only) : to(circuit.nets().size()) {
        for (const Device &device : circuit.devices())
            conducting_pairs(device, [&](NetId a, NetId b, bool pole) {
                if (poles_only && !pole)
                    return;
                to[a.value].push_back(b);
                to[b.value].push_back(a);
            });
    }
    // Marks all that can be reached, but not what is marked already.
    void reach(std::vector<NetId> from, std::vector<bool> &marked) const {
        while (!from.empty()) {
            const NetId here = from.back();
            from.pop_back();
            if (marked[here.value])
                continue;
            marked[here.value] = true;
            from.insert(from.end(), to[here.value].begin(), to[here.value].end());
        }
    }
    std::vector<std::vector<NetId>> to;
};

void add(std::vector<NetId> &nets, const Device &device, std::string_view terminal) {
    if (const auto net = device.net_of(terminal))
        nets.push_back(*net);
}

bool is_power_terminal(const Device &device, const Device::Terminal &terminal) {
    switch (device.kind) {
    case mains_3ph:
    case mains_1ph:
    case motor_1ph:
    case motor_3ph:
    case motor_6lead:
    case motor_2speed:
        return true;
    case load:
        return device.flag("kept", false);
    case drive:
        return terminal.name.size() == 1; // R S T
    case dc_supply:
    case transformer:
        return terminal.name == "ac1" || terminal.name == "ac2" || terminal.name == "p1" || terminal.name == "p2";
    default:
        return terminal.name.size() == 1 && terminal.name[0] >= '1' && terminal.name[0] <= '8' && device.kind != fuse &&
               device.kind != link && device.kind != resistor && device.kind != capacitor && device.kind != cable &&
               device.kind != lamp;
    }
}

} // namespace

std::string_view to_text(ConductorUse use) {
    constexpr std::array<std::string_view, 5> words{"power", "AC control", "DC control", "neutral", "protective"};
    return words[static_cast<std::size_t>(use)];
}

std::string_view colour_of(ConductorUse use, bool excepted) {
    constexpr std::array<std::string_view, 5> colours{"black", "red", "blue", "light blue", "green-and-yellow"};
    const bool may_be_excepted = use != ConductorUse::neutral && use != ConductorUse::protective;
    return excepted && may_be_excepted ? "orange" : colours[static_cast<std::size_t>(use)];
}

std::vector<ConductorUse> conductor_uses(const Circuit &circuit) {
    const std::size_t count = circuit.nets().size();
    std::vector<NetId> neutral_poles, dc_poles;
    std::vector<bool> power(count), neutral(count), dc(count);
    for (const Device &device : circuit.devices()) {
        if (device.kind == mains_3ph || device.kind == mains_1ph)
            add(neutral_poles, device, "N");
        if (device.kind == dc_supply)
            for (const char *pole : {"P", "M"})
                add(dc_poles, device, pole);
        for (const Device::Terminal &terminal : device.terminals)
            if (is_power_terminal(device, terminal))
                power[terminal.net.value] = true;
    }
    Ways(circuit, true).reach(neutral_poles, neutral);
    Ways(circuit, false).reach(dc_poles, dc);
    std::vector<ConductorUse> uses;
    const auto earth = circuit.find_net("PE");
    for (std::uint32_t net = 0; net < count; ++net)
        uses.push_back(earth == NetId{net} ? ConductorUse::protective
                       : neutral[net]      ? ConductorUse::neutral
                       : dc[net]           ? ConductorUse::dc_control
                       : power[net]        ? ConductorUse::power
                                           : ConductorUse::ac_control);
    return uses;
}

LiveBehind::LiveBehind(const Circuit &circuit, const std::vector<ConductorUse> &uses)
    : ways_(circuit.nets().size()), pole_(circuit.nets().size()), dead_end_(circuit.nets().size()), circuit_(circuit) {
    for (std::uint32_t i = 0; i < circuit.devices().size(); ++i) {
        const Device &device = circuit.devices()[i];
        const auto join = [&](NetId a, NetId b) {
            ways_[a.value].push_back({i, b});
            ways_[b.value].push_back({i, a});
        };
        conducting_pairs(device, [&](NetId a, NetId b, bool) { join(a, b); });
        const std::string_view earthed = earthed_pole_of(device);
        if (device.kind == mains_3ph || device.kind == mains_1ph) {
            for (const Device::Terminal &pole : device.terminals)
                (pole.name == earthed ? dead_end_ : pole_)[pole.net.value] = true;
        } else if (device.kind == dc_supply || device.kind == transformer) {
            const bool dc = device.kind == dc_supply;
            for (const char *out : dc ? std::array{"P", "M"} : std::array{"s1", "s2"})
                for (const char *in : dc ? std::array{"ac1", "ac2"} : std::array{"p1", "p2"}) {
                    const auto a = device.net_of(out), b = device.net_of(in);
                    if (a && out == earthed)
                        dead_end_[a->value] = true;
                    if (a && b && out != earthed)
                        ways_[a->value].push_back({i, *b});
                    else if (a && out != earthed && !device.net_of(dc ? "ac1" : "p1"))
                        pole_[a->value] = true; // fed from nowhere: it feeds by itself
                }
        }
    }
    for (std::size_t net = 0; net < uses.size(); ++net)
        if (uses[net] == ConductorUse::neutral || uses[net] == ConductorUse::protective)
            dead_end_[net] = true;
}

std::uint32_t LiveBehind::index_of(const Device &device) const {
    return static_cast<std::uint32_t>(&device - circuit_.devices().data());
}

std::pair<std::vector<NetId>, bool> LiveBehind::search(NetId start, std::uint32_t without) const {
    std::vector<NetId> found{start};
    std::unordered_set<std::uint32_t> seen{start.value};
    for (std::size_t next = 0; next < found.size(); ++next) {
        const std::uint32_t here = found[next].value;
        if (pole_[here])
            return {std::move(found), true};
        if (dead_end_[here])
            continue;
        for (const Way &way : ways_[here])
            if (way.device != without && seen.insert(way.to.value).second)
                found.push_back(way.to);
    }
    return {std::move(found), false};
}

std::vector<NetId> LiveBehind::with_open(const Device &isolator, const std::vector<NetId> &nets) const {
    std::unordered_set<std::uint32_t> dead; // or incoming
    for (const Contact &contact : contacts_of(isolator))
        if (contact.sense == ContactSense::pole)
            for (const std::string &end : {contact.first, contact.second})
                dead.insert(isolator.net_of(end)->value);
    std::vector<NetId> live;
    for (const NetId net : nets) {
        if (dead_end_[net.value] || dead.contains(net.value))
            continue;
        const auto [joined, reached] = search(net, index_of(isolator));
        if (reached)
            live.push_back(net);
        else
            for (const NetId each : joined)
                dead.insert(each.value);
    }
    return live;
}

std::vector<NetId> LiveBehind::dead_behind(const Device &isolator) const {
    std::vector<NetId> dead;
    for (const Device::Terminal &terminal : isolator.terminals) {
        if (dead_end_[terminal.net.value] || std::ranges::count(dead, terminal.net))
            continue;
        auto [joined, reached] = search(terminal.net, index_of(isolator));
        if (!reached)
            dead.insert(dead.end(), joined.begin(), joined.end());
    }
    std::ranges::sort(dead);
    dead.erase(std::unique(dead.begin(), dead.end()), dead.end());
    return dead;
}

} // namespace stopspan
