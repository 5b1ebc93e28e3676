#include "checks/hanging.hpp"

#include <algorithm>

namespace stopspan {

const std::set<std::uint32_t> &Hanging::of(std::uint32_t start) {
    if (const auto found = known_.find(start); found != known_.end())
        return *found->second;
    const auto ends = std::make_shared<std::set<std::uint32_t>>();
    known_.emplace(start, ends);
    const auto is_own = [&](std::uint32_t net) { return std::binary_search(own_.begin(), own_.end(), net); };
    if (is_own(start)) {
        ends->insert(start);
        return *ends;
    }
    std::vector<std::uint32_t> queue{start};
    const auto arrive = [&](std::uint32_t net, bool contact) {
        if (context_.relevance.is_pole_net(net) || context_.structure.returns_to_earth(net)) {
            if (contact && net != context_.compiled.earth)
                ends->insert(feed);
            return;
        }
        if (is_own(net))
            ends->insert(net);
        else if (known_.emplace(net, ends).second)
            queue.push_back(net);
    };
    for (std::size_t k = 0; k < queue.size(); ++k) {
        for (const std::uint32_t i : context_.lookup.switches_at[queue[k]])
            if (const Switch &contact = context_.compiled.switches[i]; contact.closed_at != 0)
                arrive(contact.a == queue[k] ? contact.b : contact.a, true);
        for (const std::uint32_t i : context_.lookup.impedances_at[queue[k]]) {
            const Impedance &load = context_.compiled.impedances[i];
            arrive(load.a == queue[k] ? load.b : load.a, false);
        }
    }
    return *ends;
}

} // namespace stopspan
