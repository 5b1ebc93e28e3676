#include "base/decision_diagram.hpp"

#include <bitset>
#include <gtest/gtest.h>
#include <random>

namespace stopspan {
namespace {

// Every assignment of six bits written out: what a set should hold.
constexpr std::uint32_t levels = 6;
using Table = std::bitset<1U << levels>;

std::vector<std::uint8_t> bits_of(std::size_t assignment) {
    std::vector<std::uint8_t> bits;
    for (std::uint32_t level = 0; level < levels; ++level)
        bits.push_back(assignment >> level & 1);
    return bits;
}

void expect_same(const Diagrams &sets, Diagrams::Set set, const Table &table) {
    for (std::size_t i = 0; i < table.size(); ++i)
        ASSERT_EQ(sets.contains(set, bits_of(i)), table[i]) << i;
}

Table some(const Table &table, std::uint32_t level) {
    Table result;
    for (std::size_t i = 0; i < table.size(); ++i)
        result[i] = table[i] || table[i ^ (std::size_t{1} << level)];
    return result;
}

TEST(DecisionDiagrams, HoldWhatTablesHold) {
    std::mt19937 random(11);
    const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random); };
    Diagrams sets(100'000);
    std::vector<std::pair<Diagrams::Set, Table>> known;
    for (std::uint32_t level = 0; level < levels; ++level) {
        Table table;
        for (std::size_t i = 0; i < table.size(); ++i)
            table[i] = (i >> level & 1) != 0;
        known.emplace_back(sets.bit(level), table);
    }
    for (int round = 0; round < 3000; ++round) {
        const auto [a, table_a] = known[below(known.size())];
        const auto [b, table_b] = known[below(known.size())];
        const auto [c, table_c] = known[below(known.size())];
        const auto one = static_cast<std::uint32_t>(below(levels)), two = static_cast<std::uint32_t>(below(levels));
        const Diagrams::Set two_levels = sets.both(sets.bit(one), sets.bit(two));
        Diagrams::Set set;
        Table table;
        switch (below(4)) {
        case 0:
            set = sets.choose(a, b, c);
            table = (table_a & table_b) | (~table_a & table_c);
            break;
        case 1:
            set = sets.both_for_some(a, b, two_levels);
            table = some(some(table_a & table_b, one), two);
            break;
        case 2:
            set = sets.differ(a, b);
            table = table_a ^ table_b;
            break;
        default:
            set = sets.for_some(sets.without(a, c), sets.bit(one));
            table = some(table_a & ~table_c, one);
        }
        expect_same(sets, set, table);
        if (table.any()) {
            std::size_t fewest = levels, found = 0;
            for (std::size_t i = 0; i < table.size(); ++i)
                if (table[i])
                    fewest = std::min(fewest, std::bitset<levels>(i).count());
            const auto one_of = sets.one_of(set, levels);
            EXPECT_TRUE(sets.contains(set, one_of));
            for (const std::uint8_t bit : one_of)
                found += bit;
            EXPECT_EQ(found, fewest);
        }
        for (const auto &[other, other_table] : known)
            EXPECT_EQ(other == set, other_table == table); // equal sets are the same number
        if (known.size() < 200)
            known.emplace_back(set, table);
        else
            known[below(known.size())] = {set, table};
    }
}

TEST(DecisionDiagrams, TakeOtherLevelsInTheSameOrder) {
    Diagrams sets(1000);
    const Diagrams::Set set = sets.without(sets.bit(0), sets.bit(2));
    EXPECT_EQ(sets.renamed(set, {1, 2, 5, 6}), sets.without(sets.bit(1), sets.bit(5)));
}

TEST(DecisionDiagrams, SayWhenTheyBecomeTooLarge) {
    Diagrams sets(10);
    EXPECT_THROW(
        {
            Diagrams::Set set = Diagrams::nothing;
            for (std::uint32_t level = 0; level < 20; ++level)
                set = sets.differ(set, sets.bit(level));
        },
        Diagrams::TooLarge);
}

} // namespace
} // namespace stopspan
