#include "base/index_set.hpp"

#include <gtest/gtest.h>
#include <random>
#include <set>

namespace stopspan {
namespace {

TEST(IndexSet, HoldsWhatATreeHoldsInTheOrderItWasPutIn) {
    std::mt19937 random(7);
    IndexSet set; // one for all rounds: empty again it must be as new
    for (int round = 0; round < 200; ++round) {
        set.clear();
        std::set<std::uint32_t> tree;
        std::vector<std::uint32_t> order;
        const std::uint32_t stride = round % 2 ? 1 : 1U << round % 20; // strides must not fall on one place
        for (int i = 0, count = 1 << round % 11; i < count; ++i) {
            const std::uint32_t value = stride * std::uniform_int_distribution<std::uint32_t>(0, 999)(random);
            EXPECT_EQ(set.contains(value), tree.contains(value));
            const bool fresh = tree.insert(value).second;
            EXPECT_EQ(set.insert(value), fresh);
            if (fresh)
                order.push_back(value);
        }
        EXPECT_EQ(std::vector<std::uint32_t>(set.begin(), set.end()), order);
        EXPECT_EQ(set.sorted(), std::vector<std::uint32_t>(tree.begin(), tree.end()));
    }
}

} // namespace
} // namespace stopspan
