#include "files/reading_order.hpp"

#include <algorithm>
#include <functional>
#include <queue>

namespace stopspan {
namespace {

std::vector<std::size_t> a_cycle(const std::vector<std::vector<std::size_t>> &needs, const std::vector<bool> &added) {
    // Whatever is left needs something that is left: walking on must come back.
    std::vector<std::size_t> walk;
    std::vector<bool> seen(needs.size());
    auto at = static_cast<std::size_t>(std::find(added.begin(), added.end(), false) - added.begin());
    while (!seen[at]) {
        seen[at] = true;
        walk.push_back(at);
        at = *std::find_if(needs[at].begin(), needs[at].end(), [&](std::size_t need) { return !added[need]; });
    }
    walk.erase(walk.begin(), std::find(walk.begin(), walk.end(), at));
    return walk;
}

} // namespace

ReadingOrder reading_order(const std::vector<std::vector<std::size_t>> &needs) {
    std::vector<std::size_t> missing(needs.size());
    std::vector<std::vector<std::size_t>> needed_by(needs.size());
    std::priority_queue<std::size_t, std::vector<std::size_t>, std::greater<>> ready;
    for (std::size_t i = 0; i < needs.size(); ++i) {
        missing[i] = needs[i].size();
        for (const std::size_t need : needs[i])
            needed_by[need].push_back(i);
        if (missing[i] == 0)
            ready.push(i);
    }
    ReadingOrder result;
    std::vector<bool> added(needs.size());
    while (!ready.empty()) {
        const std::size_t next = ready.top();
        ready.pop();
        added[next] = true;
        result.order.push_back(next);
        for (const std::size_t other : needed_by[next])
            if (--missing[other] == 0)
                ready.push(other);
    }
    if (result.order.size() < needs.size())
        result.cycle = a_cycle(needs, added);
    return result;
}

} // namespace stopspan
