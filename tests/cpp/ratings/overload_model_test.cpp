#include "reference.hpp"

#include "stopspan/error.hpp"
#include "stopspan/overload.hpp"

#include <array>
#include <cmath>

namespace stopspan::test {
namespace {

constexpr std::array positions{ClassPosition::fastest, ClassPosition::middle, ClassPosition::slowest};

TEST(OverloadModel, TripsWithinItsClassAtSevenPointTwoTimesTheSettingFromCold) {
    int compared = 0;
    for (const ReferenceRow &row : reference("01_overload_trip_classes")) {
        const double above_s = *row.number("t_min_s_exclusive"), within_s = *row.number("t_max_s_inclusive");
        std::string name = row.text("trip_class"); // class 5 has its band E in a row of the same name
        if (row.text("band").starts_with("E") && !name.ends_with("E"))
            name += "E";
        for (const ClassPosition position : positions)
            for (const double setting_a : {0.3, 8.5, 250.0}) {
                const auto trips_s = OverloadModel(setting_a, name, position).trip_time_s(7.2 * setting_a);
                ASSERT_TRUE(trips_s);
                EXPECT_GT(*trips_s, above_s) << row.text("trip_class");
                EXPECT_LE(*trips_s, within_s * (1 + 1e-9)) << row.text("trip_class");
                ++compared;
            }
    }
    EXPECT_EQ(compared, 81);
}

TEST(OverloadModel, ObeysTheLimitsAtOnePointOhFiveAndOnePointTwo) {
    constexpr double two_hours_s = 7200;
    for (const TripClass &each : trip_classes())
        for (const ClassPosition position : positions) {
            const OverloadModel model(10, each.name, position);
            EXPECT_FALSE(model.trip_time_s(10.5)) << each.name;
            const OverloadHeat warm = model.after({}, 10.5, two_hours_s);
            const auto trips_s = model.trip_time_s(12, warm);
            ASSERT_TRUE(trips_s) << each.name;
            EXPECT_LT(*trips_s, two_hours_s) << each.name;
        }
}

TEST(OverloadModel, TripsHotAtOnePointFiveTimesWithinItsLimit) {
    int compared = 0;
    for (const ReferenceRow &row : reference("01b_overload_operating_limits")) {
        if (row.text("condition") != "C hot overload")
            continue;
        for (const ClassPosition position : positions) {
            const OverloadModel model(10, row.text("trip_class"), position);
            const auto trips_s = model.trip_time_s(15, model.warm());
            ASSERT_TRUE(trips_s);
            EXPECT_LE(*trips_s, *row.number("limit_s")) << row.text("trip_class");
            EXPECT_LT(*trips_s, *model.trip_time_s(15)); // warm before cold
            ++compared;
        }
    }
    EXPECT_EQ(compared, 15);
}

// Fourth-order Runge-Kutta steps of the equations in the header.
OverloadHeat stepped(const OverloadModel &model, OverloadHeat heat, double current_a, double seconds, int steps) {
    const double power = std::pow(current_a / model.setting_a(), 2), r = OverloadModel::resistance(),
                 h = seconds / steps;
    const auto slope = [&](OverloadHeat at) {
        return OverloadHeat{(power - (at.heater - at.bimetal) / r) / model.heater_s(),
                            ((at.heater - at.bimetal) / r - at.bimetal) / model.bimetal_s()};
    };
    const auto moved = [](OverloadHeat at, OverloadHeat by, double times) {
        return OverloadHeat{at.heater + times * by.heater, at.bimetal + times * by.bimetal};
    };
    for (int i = 0; i < steps; ++i) {
        const OverloadHeat k1 = slope(heat), k2 = slope(moved(heat, k1, h / 2)), k3 = slope(moved(heat, k2, h / 2)),
                           k4 = slope(moved(heat, k3, h));
        for (const auto &[k, weight] : {std::pair{k1, 1.0}, {k2, 2.0}, {k3, 2.0}, {k4, 1.0}})
            heat = moved(heat, k, weight * h / 6);
    }
    return heat;
}

TEST(OverloadModel, SolvesItsEquations) {
    const OverloadModel model(8.5, "10");
    for (const double current_a : {0.0, 8.5, 30.0, 61.2}) {
        const OverloadHeat exact = model.after({0.4, 0.1}, current_a, 20),
                           steps = stepped(model, {0.4, 0.1}, current_a, 20, 20000);
        EXPECT_NEAR(exact.heater, steps.heater, 1e-8 * (1 + steps.heater));
        EXPECT_NEAR(exact.bimetal, steps.bimetal, 1e-8 * (1 + steps.bimetal));
    }
    const double trips_s = *model.trip_time_s(61.2);
    EXPECT_NEAR(model.after({}, 61.2, trips_s).bimetal, model.trip_point(), 1e-9);
}

TEST(OverloadModel, AHotHeaterTripsItAfterTheCurrentIsOff) {
    const OverloadModel model(10, "10");
    const OverloadHeat almost = model.after({}, 72, *model.trip_time_s(72) * 0.99);
    EXPECT_LT(almost.bimetal, model.trip_point());
    EXPECT_TRUE(model.trip_time_s(0, almost));
}

TEST(OverloadReplay, RepeatedStartsTripWhereOneDoesNot) {
    const OverloadModel model(10, "10", ClassPosition::fastest);
    const std::vector<CurrentStep> once{{3, 60}, {300, 10}};
    EXPECT_FALSE(replay_overload(model, once).trip_s);
    std::vector<CurrentStep> often;
    for (int i = 0; i < 10; ++i)
        often.insert(often.end(), {{3, 60}, {5, 10}});
    const OverloadReplay replay = replay_overload(model, often);
    ASSERT_TRUE(replay.trip_s);
    EXPECT_GT(*replay.trip_s, 3);
    EXPECT_GT(*replay.reset_s, *replay.trip_s);
    EXPECT_EQ(replay.points.back().current_a, 0); // off since
    EXPECT_NEAR(replay.points.back().time_s, 80, 1e-9);
    for (std::size_t i = 1; i < replay.points.size(); ++i)
        EXPECT_GE(replay.points[i].time_s, replay.points[i - 1].time_s);
}

TEST(OverloadModel, RefusesWhatIsNoCurrentAndNoClass) {
    EXPECT_THROW(OverloadModel(0, "10"), Error);
    EXPECT_THROW(OverloadModel(NAN, "10"), Error);
    EXPECT_THROW(OverloadModel(1, "11"), Error);
    const OverloadModel model(1, "10");
    EXPECT_THROW(model.trip_time_s(-1), Error);
    EXPECT_THROW(replay_overload(model, std::vector<CurrentStep>{{INFINITY, 1}}), Error);
    EXPECT_THROW(replay_overload(model, std::vector<CurrentStep>(100'001, {1, 1})), Error);
}

} // namespace
} // namespace stopspan::test
