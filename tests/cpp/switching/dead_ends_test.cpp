#include "switching/dead_ends.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <set>

namespace stopspan {
namespace {

using Edges = std::vector<std::pair<std::uint32_t, std::uint32_t>>;
using Vertices = std::vector<std::uint32_t>;

TEST(DeadEnds, AChainHangsOnTheRingItLeadsAwayFrom) {
    // 0 - 1 - 2 - 0 is a ring; 3 and 4 hang on 2 in a row; 5 hangs on the start; 6 is apart.
    const Edges edges{{0, 1}, {1, 2}, {2, 0}, {2, 3}, {3, 4}, {0, 5}};
    EXPECT_EQ(without_dead_ends(7, edges, 0), (Vertices{0, 1, 2, 2, 2, 5, 6}));
}

TEST(DeadEnds, TwoEdgesBetweenTheSameTwoAreNoWayBackElsewhere) {
    EXPECT_EQ(without_dead_ends(4, {{0, 1}, {1, 2}, {1, 2}, {2, 3}}, 0), (Vertices{0, 1, 1, 1}));
}

TEST(DeadEnds, ARingBeyondOnePlaceHangsOnItWhole) {
    const Edges edges{{0, 1}, {0, 2}, {1, 2}, {2, 3}, {3, 4}, {4, 5}, {5, 3}};
    EXPECT_EQ(without_dead_ends(6, edges, 0), (Vertices{0, 1, 2, 2, 2, 2}));
}

Vertices led_to(std::uint32_t vertices, const Edges &edges, std::uint32_t start, std::uint32_t without) {
    std::vector<std::uint8_t> met(vertices, 0);
    Vertices queue{start};
    met[start] = 1;
    for (std::size_t k = 0; k < queue.size(); ++k)
        for (const auto &[a, b] : edges)
            for (const auto &[from, to] : {std::pair{a, b}, {b, a}})
                if (from == queue[k] && to != without && met[to] == 0) {
                    met[to] = 1;
                    queue.push_back(to);
                }
    return queue;
}

// By taking away each vertex in turn: of those without which the start does not lead there, the nearest to the start.
Vertices by_taking_away(std::uint32_t vertices, const Edges &edges, std::uint32_t start) {
    const Vertices all = led_to(vertices, edges, start, static_cast<std::uint32_t>(-1));
    Vertices stands(vertices);
    std::vector<std::set<std::uint32_t>> parting(vertices);
    for (std::uint32_t v = 0; v < vertices; ++v) {
        stands[v] = v;
        if (v == start)
            continue;
        const Vertices left = led_to(vertices, edges, start, v);
        for (const std::uint32_t to : all)
            if (to != v && std::find(left.begin(), left.end(), to) == left.end())
                parting[to].insert(v);
    }
    for (std::uint32_t v = 0; v < vertices; ++v)
        for (const std::uint32_t by : parting[v])
            if (parting[by].empty())
                stands[v] = by;
    return stands;
}

TEST(DeadEnds, AreThoseThatOneVertexTakenAwayPartsFromTheStart) {
    std::mt19937 random(7);
    const auto below = [&](std::uint32_t n) { return std::uniform_int_distribution<std::uint32_t>(0, n - 1)(random); };
    std::size_t hanging = 0;
    for (int round = 0; round < 500; ++round) {
        const std::uint32_t vertices = 2 + below(9);
        Edges edges(below(12));
        for (auto &[a, b] : edges)
            do {
                a = below(vertices);
                b = below(vertices);
            } while (a == b);
        const Vertices expected = by_taking_away(vertices, edges, 0);
        for (std::uint32_t v = 0; v < vertices; ++v)
            hanging += expected[v] != v;
        EXPECT_EQ(without_dead_ends(vertices, edges, 0), expected) << "round " << round;
    }
    EXPECT_GT(hanging, 300U);
}

} // namespace
} // namespace stopspan
