#include "files/reading_order.hpp"

#include <gtest/gtest.h>

namespace stopspan::test {
namespace {

using Places = std::vector<std::size_t>;

TEST(ReadingOrder, KeepsWhatIsInOrderAlready) {
    EXPECT_EQ(reading_order({{}, {0}, {}, {1, 2}, {0}}).order, (Places{0, 1, 2, 3, 4}));
}

TEST(ReadingOrder, PutsThingsBehindWhatTheyNeed) {
    const ReadingOrder found = reading_order({{2}, {0, 0}, {}});
    EXPECT_EQ(found.order, (Places{2, 0, 1}));
    EXPECT_TRUE(found.cycle.empty());
}

TEST(ReadingOrder, NamesACycleAndNothingElse) {
    const ReadingOrder found = reading_order({{1}, {2}, {3}, {1}, {}});
    EXPECT_EQ(found.cycle, (Places{1, 2, 3})) << "0 only leads into it";
    EXPECT_EQ(reading_order({{0}}).cycle, (Places{0}));
}

TEST(ReadingOrder, TakesALongChain) {
    std::vector<Places> chain(200'000);
    for (std::size_t i = 0; i + 1 < chain.size(); ++i)
        chain[i] = {i + 1};
    EXPECT_EQ(reading_order(chain).order.size(), chain.size());
    chain.back() = {0};
    EXPECT_EQ(reading_order(chain).cycle.size(), chain.size());
}

} // namespace
} // namespace stopspan::test
