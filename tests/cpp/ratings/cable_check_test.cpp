// Sizes worked out by hand from the tables.
#include "ratings/cable_check.hpp"
#include "ratings/conductor.hpp"
#include "ratings/protection.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace stopspan::test {
namespace {

using namespace stopspan::ratings;

CableCase forty_metres() {
    return {.running_a = 8.5,
            .start_a = 51,
            .must_carry_a = 8.5,
            .power_factor = 0.82,
            .length_m = 40,
            .source_ohm = 0.5,
            .protection_a = 20};
}

TEST(CableCheck, NothingIsWrongWithAShortCable) {
    const CableJudged it = judge_cable(forty_metres(), 2.5);
    EXPECT_TRUE(it.reasons.empty());
    EXPECT_EQ(it.ampacity_a, 17.4);
    EXPECT_EQ(it.longest_s, 0.4);
    // Zs = 0.5 + 2 x 40 m x 8.866 mohm/m = 1.209 ohm; 0.95 x 230 / 1.209 = 180.7 A, between the gates of gG 20 A:
    // 85 A in 5 s and 200 A in 0.1 s: 5 (180.7/85)^(ln(0.02)/ln(200/85)).
    EXPECT_NEAR(it.loop_ohm, 1.2093, 1e-4);
    EXPECT_NEAR(it.fault_a, 180.68, 0.01);
    EXPECT_NEAR(*it.clears_s, 5 * std::pow(180.68 / 85, std::log(0.02) / std::log(200.0 / 85)), 1e-4);
}

TEST(CableCheck, EachReasonIsSaidByItself) {
    CableCase thin = forty_metres();
    thin.must_carry_a = 18;
    EXPECT_EQ(judge_cable(thin, 2.5).reasons, (std::vector<std::string>{"carries 17.4 A, 18 A wanted"}));
    CableCase weak = forty_metres();
    weak.source_ohm = 2;
    ASSERT_EQ(judge_cable(weak, 2.5).reasons.size(), 1U);
    EXPECT_NE(judge_cable(weak, 2.5).reasons[0].find("does not clear gG 20 A within 0.4 s"), std::string::npos);
    CableCase strict = forty_metres();
    strict.running_drop_percent = 0.5;
    EXPECT_EQ(judge_cable(strict, 2.5).reasons, (std::vector<std::string>{"drops 1.1 % running, 0.5 % allowed"}));
    CableCase hard = forty_metres();
    hard.protection_type = "C";
    hard.source_ohm = 0.02; // 2 x 230 / 0.02 = 23 kA for a half-wave of 0.01 s: 20 mm2
    ASSERT_EQ(judge_cable(hard, 2.5).reasons.size(), 1U);
    EXPECT_NE(judge_cable(hard, 2.5).reasons[0].find("asks for 20 mm2"), std::string::npos);
}

TEST(CableCheck, WithoutALengthOnlyTheAmpacityIsJudged) {
    CableCase unknown = forty_metres();
    unknown.length_m = {};
    const CableJudged it = judge_cable(unknown, 1);
    EXPECT_TRUE(it.reasons.empty());
    EXPECT_EQ(it.fault_a, 0);
}

TEST(CableCheck, ASupplySaidToHaveNoImpedanceIsStillFinite) {
    CableCase stiff = forty_metres();
    stiff.source_ohm = 0;
    stiff.length_m = 0;
    stiff.protection_type = "B";
    const CableJudged it = judge_cable(stiff, 2.5);
    EXPECT_TRUE(std::isfinite(it.fault_a) && std::isfinite(it.withstand_mm2));
}

// aM fuses by their gates: 4 In for 60 s, 8 In for 0.5 s, 10 In for 0.2 s; 12.5 In clears in 0.5 s, 19 In in 0.1 s.
TEST(Protection, MotorFusesCarryTheStartAndClearLate) {
    EXPECT_NEAR(am_carries_a(16, 60), 64, 1e-9);
    EXPECT_NEAR(am_carries_a(16, 0.5), 128, 1e-9);
    EXPECT_NEAR(am_carries_a(16, 0.2), 160, 1e-9);
    EXPECT_NEAR(am_carries_a(16, 5), 16 * 4 * std::pow(2, std::log(12.0) / std::log(120.0)), 1e-9);
    EXPECT_FALSE(clears_s("aM", 16, 199));
    EXPECT_NEAR(*clears_s("aM", 16, 200), 0.5, 1e-9);
    EXPECT_NEAR(*clears_s("aM", 16, 304), 0.1, 1e-9);
    EXPECT_NEAR(*energy_a2s("aM", 16, 5000), 304 * 304 * 0.1, 1e-6);
}

TEST(Protection, MoreCurrentIsNeverCarriedLongerNorClearedLater) {
    for (const double rating_a : fuse_sizes_a()) {
        for (double seconds = 0.1; seconds < 100; seconds *= 1.3)
            EXPECT_GE(*fuse_carries_a(rating_a, seconds), *fuse_carries_a(rating_a, seconds * 1.3)) << rating_a;
        double before_s = INFINITY;
        for (double current_a = rating_a; current_a < 50 * rating_a; current_a *= 1.1)
            if (const auto seconds = clears_s("gG", rating_a, current_a)) {
                EXPECT_LE(*seconds, before_s) << rating_a;
                before_s = *seconds;
                // What surely clears in a time is never surely carried for as long.
                EXPECT_GT(current_a, *fuse_carries_a(rating_a, *seconds)) << rating_a << ' ' << current_a;
            }
        EXPECT_EQ(before_s, 0.1);
    }
}

} // namespace
} // namespace stopspan::test
