#include "sheets/net_facts.hpp"

#include "circuit/kinds.hpp"

#include <deque>

namespace stopspan {
namespace {

// Breadth first from all live poles through whatever conducts when closed.
std::vector<int> feed_of(std::span<const Part> parts, const NetFacts &facts) {
    const std::size_t count = facts.earthed.size();
    std::vector<std::vector<NetId>> joined(count);
    std::vector<int> feed(count, -1);
    std::deque<NetId> queue;
    const auto reach = [&](NetId net, int steps) {
        if (feed[net.value] < 0 && !facts.earthed[net.value]) {
            feed[net.value] = steps;
            queue.push_back(net);
        }
    };
    for (const Part &part : parts) {
        const bool conducts =
            part.role == PartRole::poles || part.role == PartRole::contact || part.role == PartRole::series;
        for (std::size_t i = 0; conducts && i + 1 < part.pins.size(); i += 2) {
            joined[part.pins[i].net.value].push_back(part.pins[i + 1].net);
            joined[part.pins[i + 1].net.value].push_back(part.pins[i].net);
        }
        for (const Pin &pin : part.pins)
            if (part.role == PartRole::source || (part.role == PartRole::supply && !pin.upper))
                reach(pin.net, 0);
    }
    while (!queue.empty()) {
        const NetId here = queue.front();
        queue.pop_front();
        for (const NetId next : joined[here.value])
            reach(next, feed[here.value] + 1);
    }
    return feed;
}

// A name longer than a wire leaves room for is shortened on paper, never in the data. Its number leads to a list.
std::vector<std::string> shown_names(const Circuit &circuit) {
    constexpr double longest_mm = 60;
    std::vector<std::string> shown;
    int shortened = 0;
    for (std::uint32_t i = 0; i < circuit.nets().size(); ++i) {
        shown.push_back(circuit.net_name({i}));
        if (text_width_mm(shown.back(), small_text_mm) <= longest_mm)
            continue;
        const std::string number = " (" + std::to_string(++shortened) + ")";
        shown.back() = fitted(shown.back(), small_text_mm, longest_mm - text_width_mm(number, small_text_mm)) + number;
    }
    return shown;
}

} // namespace

NetFacts net_facts(std::span<const Part> parts, const Circuit &circuit) {
    const std::size_t count = circuit.nets().size();
    NetFacts facts{
        std::vector<bool>(count), std::vector<bool>(count), {}, std::vector<std::size_t>(count), shown_names(circuit)};
    std::vector<bool> controls(count); // a contact or a coil hangs on it
    for (const Part &part : parts)
        for (const Pin &pin : part.pins) {
            ++facts.ends[pin.net.value];
            if (part.role == PartRole::poles || part.role == PartRole::source || part.role == PartRole::motor ||
                part.role == PartRole::supply)
                facts.rail[pin.net.value] = true;
            if (part.role == PartRole::contact || (part.role == PartRole::load && part.symbol != "LOAD"))
                controls[pin.net.value] = true;
        }
    if (const auto earth = circuit.find_net("PE"))
        facts.rail[earth->value] = true;
    for (const Part &part : parts) { // a load is power unless it hangs on a net of the control circuits
        const DeviceKind kind = circuit.device(part.device).kind;
        if (kind != DeviceKind::load)
            continue;
        bool power = true;
        for (const Pin &pin : part.pins)
            power = power && (facts.rail[pin.net.value] || !controls[pin.net.value]);
        if (power)
            for (const Pin &pin : part.pins)
                facts.rail[pin.net.value] = true;
    }

    std::vector<std::vector<NetId>> joined(count); // through what is closed in healthy running
    for (const Part &part : parts) {
        const DeviceKind kind = circuit.device(part.device).kind;
        const bool conducts = part.role == PartRole::poles || kind == DeviceKind::fuse || kind == DeviceKind::link ||
                              kind == DeviceKind::cable;
        if (conducts)
            for (std::size_t i = 0; i + 1 < part.pins.size(); i += 2) {
                joined[part.pins[i].net.value].push_back(part.pins[i + 1].net);
                joined[part.pins[i + 1].net.value].push_back(part.pins[i].net);
            }
    }
    std::deque<NetId> queue;
    const auto reach = [&](NetId net) {
        if (!facts.earthed[net.value]) {
            facts.earthed[net.value] = true;
            queue.push_back(net);
        }
    };
    for (const Device &device : circuit.devices())
        if (const auto net = device.net_of(earthed_pole_of(device)))
            reach(*net);
    while (!queue.empty()) {
        const NetId here = queue.front();
        queue.pop_front();
        for (const NetId next : joined[here.value])
            reach(next);
    }
    facts.feed = feed_of(parts, facts);
    return facts;
}

} // namespace stopspan
