#include "switching/dead_ends.hpp"

#include "circuit/compiled.hpp"

#include <algorithm>
#include <numeric>

namespace stopspan {

// Depth first, with the lowest number that what lies beyond a vertex leads back to: Tarjan, Depth-first search and
// linear graph algorithms, 1972.
std::vector<std::uint32_t> without_dead_ends(std::uint32_t vertices,
                                             const std::vector<std::pair<std::uint32_t, std::uint32_t>> &edges,
                                             std::uint32_t start) {
    std::vector<std::uint32_t> first(vertices + 1, 0), beside(2 * edges.size());
    for (const auto &[a, b] : edges) {
        ++first[a];
        ++first[b];
    }
    std::partial_sum(first.begin(), first.end(), first.begin());
    for (const auto &[a, b] : edges) {
        beside[--first[a]] = b;
        beside[--first[b]] = a;
    }
    std::vector<std::uint32_t> number(vertices, none), lowest(vertices, none), from(vertices, none), next(first), order;
    const auto meet = [&](std::uint32_t vertex, std::uint32_t before) {
        number[vertex] = lowest[vertex] = static_cast<std::uint32_t>(order.size());
        from[vertex] = before;
        order.push_back(vertex);
    };
    meet(start, none);
    for (std::uint32_t at = start; at != none;) {
        if (next[at] == first[at + 1]) {
            if (const std::uint32_t back = from[at]; back != none)
                lowest[back] = std::min(lowest[back], lowest[at]);
            at = from[at];
            continue;
        }
        const std::uint32_t to = beside[next[at]++];
        if (number[to] == none) {
            meet(to, at);
            at = to;
        } else {
            lowest[at] = std::min(lowest[at], number[to]);
        }
    }
    std::vector<std::uint32_t> stands(vertices);
    std::iota(stands.begin(), stands.end(), 0U);
    for (const std::uint32_t vertex : order) {
        const std::uint32_t before = from[vertex];
        if (vertex == start || before == start)
            continue;
        const bool hangs = lowest[vertex] >= number[before];
        if (hangs || stands[before] != before)
            stands[vertex] = stands[before];
    }
    return stands;
}

} // namespace stopspan
