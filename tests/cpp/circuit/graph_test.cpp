// Blocks against every simple way, walked one by one.
#include "circuit/graph.hpp"

#include <gtest/gtest.h>
#include <random>
#include <set>

namespace stopspan {
namespace {

// A pole on net 0; contacts between any nets, parallel ones and loops too.
Compiled random_contacts(std::mt19937 &random) {
    const auto up_to = [&](std::uint32_t most) {
        return std::uniform_int_distribution<std::uint32_t>(0, most)(random);
    };
    Compiled circuit;
    circuit.net_count = 2 + up_to(6);
    circuit.earth = 0;
    for (std::uint32_t i = 0, count = up_to(11); i < count; ++i)
        circuit.switches.push_back({.a = up_to(circuit.net_count - 1),
                                    .b = up_to(circuit.net_count - 1),
                                    .variable = none,
                                    .closed_at = 0xff,
                                    .pole = up_to(3) == 0,
                                    .device = 0});
    return circuit;
}

class Ways {
public:
    Ways(const Compiled &circuit, const BlockForest &forest, bool with_poles)
        : circuit_(circuit), forest_(forest), with_poles_(with_poles) {}
    // Contacts on the simple ways from a net to the poles.
    std::set<std::uint32_t> from(std::uint32_t net) {
        on_ways_.clear();
        walk(forest_.vertex(net));
        return on_ways_;
    }

private:
    void walk(std::uint32_t vertex) {
        if (vertex == 0) {
            on_ways_.insert(taken_.begin(), taken_.end());
            return;
        }
        visited_.insert(vertex);
        for (std::uint32_t i = 0; i < circuit_.switches.size(); ++i) {
            const Switch &contact = circuit_.switches[i];
            const std::uint32_t a = forest_.vertex(contact.a), b = forest_.vertex(contact.b);
            if (a == b || (a != vertex && b != vertex) || (contact.pole && !with_poles_))
                continue;
            const std::uint32_t next = a == vertex ? b : a;
            if (visited_.contains(next))
                continue;
            taken_.push_back(i);
            walk(next);
            taken_.pop_back();
        }
        visited_.erase(vertex);
    }
    const Compiled &circuit_;
    const BlockForest &forest_;
    bool with_poles_;
    std::set<std::uint32_t> visited_, on_ways_;
    std::vector<std::uint32_t> taken_;
};

TEST(BlockForest, BlocksAboveANetHoldTheContactsOfAllSimpleWaysToThePoles) {
    std::mt19937 random(11);
    std::size_t contacts = 0;
    for (int round = 0; round < 3000; ++round) {
        const Compiled circuit = random_contacts(random);
        for (const bool with_poles : {true, false}) {
            const BlockForest forest(circuit, with_poles);
            Ways ways(circuit, forest, with_poles);
            for (std::uint32_t net = 0; net < circuit.net_count; ++net) {
                std::set<std::uint32_t> found;
                std::uint32_t vertex = forest.vertex(net);
                for (; forest.block_above(vertex) != none; vertex = forest.toward_root(forest.block_above(vertex))) {
                    const auto block = forest.switches(forest.block_above(vertex));
                    found.insert(block.begin(), block.end());
                }
                if (vertex != 0)
                    continue; // no way to a pole
                EXPECT_EQ(found, ways.from(net)) << "round " << round << ", net " << net;
                contacts += found.size();
            }
        }
    }
    EXPECT_GT(contacts, 10'000U);
}

} // namespace
} // namespace stopspan
