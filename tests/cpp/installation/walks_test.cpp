#include "hall.hpp"

#include "installation/walks.hpp"

#include <cmath>
#include <numbers>

namespace stopspan::test {
namespace {

constexpr double passage_m = 0.6;
constexpr double exact_m = 1e-4; // lengths below are worked out by hand

Area area(const std::string &name, std::vector<Position> outline, std::vector<Obstacle> obstacles = {}) {
    return Area{.name = name, .outline = std::move(outline), .obstacles = std::move(obstacles)};
}

/// Metres from one place to another of the first area; -1: no way.
double walk(const Description &plan, Position from, Position to, double narrowest_m = passage_m) {
    const std::vector<Spot> ends{{AreaId{0}, to}};
    const auto way = Walks(plan, narrowest_m).nearest({AreaId{0}, from}, ends);
    return way ? way->distance_m : -1;
}

double walk(const Area &made, Position from, Position to, double narrowest_m = passage_m) {
    Description plan("Plan");
    plan.add(made);
    return walk(plan, from, to, narrowest_m);
}

TEST(Walks, GoStraightWhereNothingStandsBetween) {
    EXPECT_NEAR(walk(area("Hall", rectangle(0, 0, 20, 10)), {1, 1}, {4, 5}), 5, exact_m) << "3-4-5";
    EXPECT_NEAR(walk(area("Hall", rectangle(0, 0, 20, 10)), {0, 0}, {20, 10}), std::hypot(20, 10), exact_m)
        << "from corner to corner";
    EXPECT_NEAR(walk(area("Hall", rectangle(0, 0, 20, 10)), {0, 2}, {0, 8}), 6, exact_m) << "along a wall";
    EXPECT_NEAR(walk(area("Hall", rectangle(0, 0, 20, 10)), {3, 3}, {3, 3}), 0, exact_m);
}

TEST(Walks, GoRoundTheCornerOfAnLShapedHall) {
    const std::vector<Position> ell{{0, 0}, {10, 0}, {10, 5}, {5, 5}, {5, 10}, {0, 10}};
    // 5,5 is the corner: from 9,4 that is 4 and 1, on to 4,9 it is 1 and 4.
    EXPECT_NEAR(walk(area("Hall", ell), {9, 4}, {4, 9}), 2 * std::sqrt(17), exact_m);
    EXPECT_NEAR(walk(area("Hall", ell), {9, 5}, {5, 9}), 8, exact_m) << "along both walls";
    EXPECT_NEAR(walk(area("Hall", ell), {8, 2}, {2, 8}), 6 * std::numbers::sqrt2, exact_m) << "touching the corner";
}

TEST(Walks, GoRoundAnObstacleOnItsShorterSide) {
    // A bench from 4,2 to 6,8: below it from 2,4 to 4,2 and 6,2 to 8,4; above it the way is longer.
    const Area hall = area("Hall", rectangle(0, 0, 10, 10), {{"Bench", rectangle(4, 2, 6, 8)}});
    EXPECT_NEAR(walk(hall, {2, 4}, {8, 4}), 4 * std::numbers::sqrt2 + 2, exact_m);
    EXPECT_NEAR(walk(hall, {4, 5}, {6, 5}), 3 + 2 + 3, exact_m) << "from side to side of it";
    EXPECT_NEAR(walk(hall, {4, 2}, {6, 8}), 2 + 6, exact_m) << "from corner to corner of it";
}

TEST(Walks, PassNeitherBetweenTouchingObstaclesNorBetweenOneAndTheWall) {
    const auto wall = rectangle(4, 0, 5, 10);
    EXPECT_EQ(walk(area("Hall", rectangle(0, 0, 10, 10), {{"Wall", wall}}), {2, 5}, {8, 5}), -1);
    const Area two =
        area("Hall", rectangle(0, 0, 10, 10), {{"Lower", rectangle(4, 0, 5, 6)}, {"Upper", rectangle(4, 6, 5, 10)}});
    EXPECT_EQ(walk(two, {2, 5}, {8, 5}), -1) << "side by side";
    const Area corners =
        area("Hall", rectangle(0, 0, 10, 10), {{"Lower", rectangle(4, 0, 5, 6)}, {"Upper", rectangle(5, 6, 6, 10)}});
    EXPECT_EQ(walk(corners, {2, 5}, {8, 5}), -1) << "corner to corner";
    const Area crossed =
        area("Hall", rectangle(0, 0, 10, 10), {{"Long", rectangle(4, 0, 5, 9)}, {"Across", rectangle(3, 8, 6, 10)}});
    EXPECT_EQ(walk(crossed, {2, 5}, {8, 5}), -1) << "one over the other";
}

TEST(Walks, PassAGapThatIsWideEnoughOnly) {
    const auto gap = [](double width_m) {
        return area("Hall", rectangle(0, 0, 10, 10), {{"Wall", rectangle(4, width_m, 5, 10)}});
    };
    // From 2,3 to 4,0.6, along the wall for a metre, and up again.
    EXPECT_NEAR(walk(gap(0.6), {2, 3}, {7, 3}), 2 * std::hypot(2, 2.4) + 1, exact_m);
    EXPECT_EQ(walk(gap(0.59), {2, 3}, {7, 3}), -1);
    EXPECT_NEAR(walk(gap(0.4), {2, 3}, {7, 3}, 0.3), 2 * std::hypot(2, 2.6) + 1, exact_m);
}

TEST(Walks, ReachWhatStandsInANicheByArmsLengthOnly) {
    // A cupboard 0.5 m off the wall: nobody walks in there, but its stop is touched from outside.
    const Area hall = area("Hall", rectangle(0, 0, 10, 10), {{"Cupboard", rectangle(0.5, 4, 2, 6)}});
    EXPECT_NEAR(walk(hall, {0, 2}, {0, 4.2}), 2.2, exact_m);
    EXPECT_EQ(walk(hall, {0, 2}, {0, 5}), -1) << "a metre in";
}

TEST(Walks, DoNotLeaveTheOutermostArea) {
    Description plan("Plan");
    plan.add(area("Hall", rectangle(0, 0, 10, 10)));
    plan.add(area("Yard", rectangle(10, 0, 20, 10)));
    Walks walks(plan, passage_m);
    const std::vector<Spot> there{{AreaId{1}, {10, 5}}}, both{{AreaId{1}, {10, 5}}, {AreaId{0}, {1, 5}}};
    EXPECT_FALSE(walks.nearest({AreaId{0}, {9, 5}}, there));
    EXPECT_EQ(walks.nearest({AreaId{0}, {9, 5}}, both)->index, 1U);
}

TEST(Walks, CrossTheBorderOfAnInnerAreaButNotTheWallsOfARoom) {
    Description plan("Plan");
    plan.add(area("Hall", rectangle(0, 0, 20, 10)));
    Area bay = area("Bay", rectangle(10, 0, 20, 10));
    bay.within = AreaId{0};
    Description room = plan;
    plan.add(bay);
    EXPECT_NEAR(walk(plan, {8, 5}, {12, 2}), 5, exact_m);
    bay.exits = {{"Door", {10.1, 9}}}; // a step inside of the wall
    room.add(bay);
    Walks walks(room, passage_m);
    // In the wall the door is at 10,9: from 8,5 that is 2 and 4, on to 13,5 it is 3 and 4.
    const std::vector<Spot> inside{{AreaId{1}, {13, 5}}}, told_by_the_hall{{AreaId{0}, {13, 5}}};
    EXPECT_NEAR(walks.nearest({AreaId{0}, {8, 5}}, inside)->distance_m, std::sqrt(20) + 5, exact_m);
    EXPECT_NEAR(walks.nearest({AreaId{0}, {8, 5}}, told_by_the_hall)->distance_m, std::sqrt(20) + 5, exact_m);
}

TEST(Walks, DoNotSlipAlongTheOuterWallOutOfARoomWhoseOnlyDoorLeadsOutside) {
    Description plan("Plan");
    plan.add(area("Hall", rectangle(0, 0, 20, 10)));
    Area room = area("Room", rectangle(10, 0, 20, 5));
    room.within = AreaId{0};
    room.exits = {{"To the yard", {15, 0}}};
    plan.add(room);
    const std::vector<Spot> outside{{AreaId{0}, {5, 5}}};
    EXPECT_FALSE(Walks(plan, passage_m).nearest({AreaId{1}, {15, 2}}, outside));
}

TEST(Walks, ChooseTheNearestToWalkToNotTheNearestOnPaper) {
    Description plan("Plan");
    plan.add(area("Hall", rectangle(0, 0, 10, 10), {{"Partition", rectangle(4, 0, 4.2, 9)}}));
    // Behind the partition a stop is 2.2 m off on paper, 11 m on foot; in front of it one is 3 m off.
    const std::vector<Spot> stops{{AreaId{0}, {5, 5}}, {AreaId{0}, {2.8, 8}}};
    const auto way = Walks(plan, passage_m).nearest({AreaId{0}, {2.8, 5}}, stops);
    EXPECT_EQ(way->index, 1U);
    EXPECT_NEAR(way->distance_m, 3, exact_m);
}

TEST(Walks, CountAHallTurnedByAnyAngleAsLongAsItIs) {
    for (const double degrees : {1.0, 17.0, 30.0, 45.0, 77.0, 123.4}) {
        const double turn = degrees * std::numbers::pi / 180;
        const auto turned = [&](std::vector<Position> places) {
            for (Position &at : places) // rounded to millimetres, as people write them
                at = {std::round((at.x_m * std::cos(turn) - at.y_m * std::sin(turn)) * 1000) / 1000,
                      std::round((at.x_m * std::sin(turn) + at.y_m * std::cos(turn)) * 1000) / 1000};
            return places;
        };
        const Area hall = area("Hall", turned(rectangle(0, 0, 10, 10)),
                               {{"Bench", turned(rectangle(4, 2, 6, 10))}}); // its upper side against the wall
        const auto ends = turned({{2, 4}, {8, 4}});
        EXPECT_NEAR(walk(hall, ends[0], ends[1]), 4 * std::numbers::sqrt2 + 2, 0.005) << degrees;
    }
}

TEST(Walks, AreMeasuredOnSitesOfAnySizeAndWhereverTheyLie) {
    for (const double size : {0.5, 1.0, 10.0, 100.0, 1000.0, 5000.0})
        for (const double off_m : {0.0, 40000.125}) {
            const auto at = [&](double x, double y) { return Position{x * size + off_m, y * size + off_m}; };
            const Area hall = area("Hall", {at(0, 0), at(10, 0), at(10, 10), at(0, 10)},
                                   {{"Wing", {at(4, 2), at(6, 2), at(6, 10), at(4, 10)}}});
            EXPECT_NEAR(walk(hall, at(2, 4), at(8, 4)), (4 * std::numbers::sqrt2 + 2) * size, exact_m) << size;
            EXPECT_NEAR(walk(hall, at(0, 0), at(0, 9)), 9 * size, exact_m) << "along the wall, " << size;
        }
}

} // namespace
} // namespace stopspan::test
