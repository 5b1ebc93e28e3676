#include "graph_search.hpp"

#include <algorithm>

namespace stopspan::bench {
namespace {

bool is_coil(const Device &device) {
    return device.kind == DeviceKind::contactor;
}

} // namespace

GraphSearch::GraphSearch(const Circuit &circuit) : circuit_(circuit) {
    const auto devices = circuit.devices();
    for (std::uint32_t d = 0; d < devices.size(); ++d) {
        const Device &device = devices[d];
        const auto net = [&](const char *terminal) { return device.net_of(terminal)->value; };
        if (device.kind == DeviceKind::mains_3ph)
            poles_ = {net("L1"), net("L2"), net("L3")};
        else if (device.kind == DeviceKind::fuse)
            edges_.push_back({net("1"), net("2"), d, false});
        if (is_coil(device))
            coils_.emplace_back(d, net("A1"));
        if (device.kind == DeviceKind::selector)
            selectors_.push_back(d);
        if (is_actuator(device.kind) && role_of(device) != Role::stop)
            starts_.push_back(d);
        for (const Contact &contact : contacts_of(device)) {
            const bool make =
                contact.sense == ContactSense::make || (contact.sense == ContactSense::pole && is_coil(device));
            edges_.push_back({net(contact.first.c_str()), net(contact.second.c_str()), d, make});
        }
    }
    first_.assign(circuit.nets().size() + 1, 0);
    for (const Edge &edge : edges_)
        for (const std::uint32_t net : {edge.a, edge.b})
            ++first_[net + 1];
    for (std::size_t i = 1; i < first_.size(); ++i)
        first_[i] += first_[i - 1];
    at_net_.resize(first_.back());
    std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
    for (std::uint32_t e = 0; e < edges_.size(); ++e)
        for (const std::uint32_t net : {edges_[e].a, edges_[e].b})
            at_net_[next[net]++] = e;
    actuated_.resize(devices.size());
    reached_.resize(circuit.nets().size());
}

void GraphSearch::flood() {
    std::fill(reached_.begin(), reached_.end(), char{0});
    queue_ = poles_;
    for (const std::uint32_t pole : poles_)
        reached_[pole] = 1;
    for (std::size_t done = 0; done < queue_.size(); ++done) {
        const std::uint32_t net = queue_[done];
        for (std::uint32_t i = first_[net]; i < first_[net + 1]; ++i) {
            const Edge &edge = edges_[at_net_[i]];
            const std::uint32_t other = edge.a == net ? edge.b : edge.a;
            if (static_cast<bool>(actuated_[edge.device]) != edge.make || reached_[other])
                continue;
            reached_[other] = 1;
            queue_.push_back(other);
        }
    }
}

void GraphSearch::settle(Way way) {
    for (bool changed = true; changed;) {
        changed = false;
        flood();
        for (const auto &[device, net] : coils_) {
            const bool fed = reached_[net];
            if (fed == (way == Way::drop) || fed == static_cast<bool>(actuated_[device]))
                continue;
            actuated_[device] = fed;
            changed = true;
        }
    }
}

// Every hand off, every contactor out, maintained switches on.
void GraphSearch::rest() {
    std::fill(actuated_.begin(), actuated_.end(), char{0});
    for (const std::uint32_t device : selectors_)
        actuated_[device] = 1;
}

void GraphSearch::all_in() {
    for (const auto &[device, net] : coils_)
        actuated_[device] = 1;
}

bool GraphSearch::fed(std::string_view machine) const {
    for (const Device::Terminal &terminal : circuit_.device(DeviceId{index(machine)}).terminals)
        if (reached_[terminal.net.value])
            return true;
    return false;
}

std::uint32_t GraphSearch::index(std::string_view designation) const {
    return circuit_.find(designation)->value;
}

bool GraphSearch::stop_cuts(std::string_view stop, std::string_view machine) {
    rest();
    all_in();
    actuated_[index(stop)] = 1;
    settle(Way::drop);
    return !fed(machine);
}

bool GraphSearch::stop_beats_start(std::string_view stop, std::string_view machine) {
    rest();
    for (const std::uint32_t device : starts_)
        actuated_[device] = 1;
    all_in();
    actuated_[index(stop)] = 1;
    settle(Way::drop);
    return !fed(machine);
}

bool GraphSearch::power_return(std::string_view machine) {
    rest();
    settle(Way::take_in);
    return !fed(machine);
}

bool GraphSearch::release_return(std::string_view device, std::string_view machine) {
    rest();
    const std::uint32_t moved = index(device);
    const bool reset = role_of(circuit_.devices()[moved]) == Role::reset;
    if (!reset) {
        all_in();
        actuated_[moved] = 1;
        settle(Way::drop);
    } else {
        settle(Way::take_in);
    }
    const bool before = fed(machine);
    actuated_[moved] = reset;
    settle(Way::take_in);
    return before || !fed(machine);
}

} // namespace stopspan::bench
