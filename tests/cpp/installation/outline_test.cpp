#include "hall.hpp"

#include "installation/outline.hpp"

#include <algorithm>

namespace stopspan::test {
namespace {

// An L: 10 m by 10 m without its upper right quarter.
const std::vector<Position> ell{{0, 0}, {10, 0}, {10, 5}, {5, 5}, {5, 10}, {0, 10}};

TEST(Outline, HoldsPointsInsideAndOnTheBorderWhicheverWayRoundItIsGiven) {
    std::vector<Position> backwards = ell;
    std::reverse(backwards.begin(), backwards.end());
    for (const auto &outline : {ell, backwards}) {
        EXPECT_TRUE(is_inside(outline, {2, 8}));
        EXPECT_TRUE(is_inside(outline, {5, 7})) << "on the inner wall";
        EXPECT_TRUE(is_inside(outline, {10, 0})) << "a corner";
        EXPECT_FALSE(is_inside(outline, {7, 7})) << "in the quarter that is missing";
        EXPECT_FALSE(is_inside(outline, {-1, 5}));
    }
}

TEST(Outline, AllowsForTheRoundingOfDecimalsButNotForCentimetres) {
    EXPECT_TRUE(is_inside(ell, {10.0005, 2}));
    EXPECT_FALSE(is_inside(ell, {10.01, 2}));
    const double third = 0.1 + 0.2; // a shade above 0.3
    EXPECT_TRUE(is_inside(rectangle(0, 0, 0.3, 1), rectangle(0, 0, third, 1)));
    EXPECT_FALSE(is_inside(rectangle(0, 0, 0.3, 1), rectangle(0, 0, 0.31, 1)));
}

TEST(Outline, AnInnerOneMayShareWallsButNotCutACorner) {
    EXPECT_TRUE(is_inside(ell, rectangle(0, 0, 5, 10)));
    EXPECT_TRUE(is_inside(ell, ell));
    // All three corners are on the L, but the long side crosses the missing quarter.
    EXPECT_FALSE(is_inside(ell, std::vector<Position>{{0, 0}, {10, 5}, {5, 10}}));
}

TEST(Outline, WithUnderThreeCornersIsRefused) {
    expect_refused(hall(), ErrorCode::bad_value, {"area Nook", "has 2 corners", "at least three"}, [](Description &it) {
        it.add(Area{.name = "Nook", .outline = {{0, 0}, {1, 0}}});
    });
}

TEST(Outline, ThatCrossesItselfIsRefused) {
    expect_refused(hall(), ErrorCode::contradiction, {"area Nook", "crosses or touches itself"}, [](Description &it) {
        it.add(Area{.name = "Nook", .outline = {{0, 0}, {2, 2}, {2, 0}, {0, 2}}});
    });
    expect_refused(hall(), ErrorCode::contradiction, {"area Nook", "crosses or touches itself"}, [](Description &it) {
        it.add(Area{.name = "Nook", .outline = {{0, 0}, {1, 0}, {2, 0}}}); // no width at all
    });
}

TEST(Outline, ThatRepeatsACornerIsRefused) {
    expect_refused(hall(), ErrorCode::bad_value, {"area Nook", "corner 0, 0 m", "twice in a row"}, [](Description &it) {
        it.add(Area{.name = "Nook", .outline = {{0, 0}, {2, 0}, {2, 2}, {0, 0}}});
    });
}

TEST(Outline, ThatLeavesItsOuterAreaIsRefused) {
    expect_refused(hall(), ErrorCode::contradiction, {"area Nook", "leaves the outer area Bay"}, [](Description &it) {
        it.add(Area{.name = "Nook", .within = it.area("Bay"), .outline = rectangle(18, 0, 22, 4)});
    });
}

} // namespace
} // namespace stopspan::test
