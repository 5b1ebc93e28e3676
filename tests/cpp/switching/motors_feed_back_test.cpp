#include "switching/motors_feed_back.hpp"

#include "stopspan/circuit.hpp"

#include <gtest/gtest.h>

#include <set>
#include <string>
#include <vector>

namespace stopspan {
namespace {

std::set<std::string> fed(const Circuit &circuit) {
    const Compiled compiled = compile(circuit);
    const auto found = fed_by_motors(compiled);
    std::set<std::string> names;
    for (std::uint32_t net = 0; net < compiled.net_count; ++net)
        if (found[net])
            names.insert(compiled.net_names[net]);
    return names;
}

void add(Circuit &circuit, const std::string &name, DeviceKind kind, const std::vector<Connection> &connections) {
    const bool coil = kind == DeviceKind::contactor;
    circuit.add(name, kind, connections, coil ? Parameters{{"coil_voltage_v", 230.0}} : Parameters{});
}

Circuit mains() {
    Circuit circuit;
    add(circuit, "G1", DeviceKind::mains_3ph, {{"L1", "L1"}, {"L2", "L2"}, {"L3", "L3"}, {"N", "N"}});
    return circuit;
}

void add_contactor(Circuit &circuit, const std::string &name, const std::vector<std::string> &from,
                   const std::vector<std::string> &to) {
    std::vector<Connection> connections{{"A1", name + " coil"}, {"A2", "N"}};
    for (std::size_t pole = 0; pole < from.size(); ++pole) {
        connections.push_back({std::to_string(2 * pole + 1), from[pole]});
        connections.push_back({std::to_string(2 * pole + 2), to[pole]});
    }
    add(circuit, name, DeviceKind::contactor, connections);
}

void add_isolator(Circuit &circuit, const std::string &name, const std::string &to) {
    add(circuit, name, DeviceKind::isolator,
        {{"1", "L1"}, {"2", to + "1"}, {"3", "L2"}, {"4", to + "2"}, {"5", "L3"}, {"6", to + "3"}});
}

TEST(MotorsFeedBack, LinesThatPartTogetherFeedNothing) {
    // Reversing, behind fuses, an isolator and an overload; and one phase with its neutral through the same isolator.
    Circuit circuit = mains();
    add_isolator(circuit, "Q1", "u");
    for (const char *line : {"1", "2", "3"})
        add(circuit, std::string("F") + line, DeviceKind::fuse,
            {{"1", std::string("u") + line}, {"2", std::string("v") + line}});
    add_contactor(circuit, "K1", {"v1", "v2", "v3"}, {"t1", "t2", "t3"});
    add_contactor(circuit, "K2", {"v1", "v2", "v3"}, {"t3", "t2", "t1"});
    add(circuit, "F4", DeviceKind::overload,
        {{"1", "t1"}, {"2", "m1"}, {"3", "t2"}, {"4", "m2"}, {"5", "t3"}, {"6", "m3"}});
    add(circuit, "M1", DeviceKind::motor_3ph, {{"U", "m1"}, {"V", "m2"}, {"W", "m3"}});
    add(circuit, "Q2", DeviceKind::isolator, {{"1", "u1"}, {"2", "w1"}, {"3", "N"}, {"4", "wn"}});
    add_contactor(circuit, "K3", {"w1", "wn"}, {"x1", "xn"});
    add(circuit, "M2", DeviceKind::motor_1ph, {{"L", "x1"}, {"N", "xn"}});
    EXPECT_EQ(fed(circuit), std::set<std::string>{});
}

TEST(MotorsFeedBack, AMotorBehindTwoIsolatorsFeedsWhatOneOfThemCutOff) {
    Circuit circuit = mains();
    add_isolator(circuit, "Q1", "u");
    add_isolator(circuit, "Q2", "v");
    add_contactor(circuit, "K1", {"u1", "v2", "u3"}, {"m1", "m2", "m3"});
    add(circuit, "M1", DeviceKind::motor_3ph, {{"U", "m1"}, {"V", "m2"}, {"W", "m3"}});
    EXPECT_EQ(fed(circuit), (std::set<std::string>{"u1", "v2", "u3"}));
}

TEST(MotorsFeedBack, TheFarEndsOfWindingsAreLiveAndFeedWhatHangsThere) {
    // Star-delta: with only the line contactor in, U2 V2 W2 are live through the windings.
    Circuit circuit = mains();
    add_contactor(circuit, "K1", {"L1", "L2", "L3"}, {"m1", "m2", "m3"});
    add_contactor(circuit, "K2", {"m1", "m2", "m3"}, {"w2", "u2", "v2"});
    add_contactor(circuit, "K3", {"u2", "v2", "w2"}, {"s", "s", "s"});
    add(circuit, "M1", DeviceKind::motor_6lead,
        {{"U1", "m1"}, {"V1", "m2"}, {"W1", "m3"}, {"U2", "u2"}, {"V2", "v2"}, {"W2", "w2"}});
    EXPECT_EQ(fed(circuit), std::set<std::string>{});
    add(circuit, "P1", DeviceKind::lamp, {{"1", "u2"}, {"2", "N"}});
    EXPECT_EQ(fed(circuit), std::set<std::string>{"u2"});
}

TEST(MotorsFeedBack, ANeutralThatOpensAloneIsLiveThroughTheMotor) {
    Circuit circuit = mains();
    add_contactor(circuit, "K1", {"N"}, {"n"});
    add(circuit, "K2", DeviceKind::contactor, {{"A1", "b"}, {"A2", "n"}, {"1", "L1"}, {"2", "m"}});
    add(circuit, "M1", DeviceKind::motor_1ph, {{"L", "m"}, {"N", "n"}});
    EXPECT_EQ(fed(circuit), std::set<std::string>{"n"});
}

TEST(MotorsFeedBack, WhatOneMotorMakesLiveTheNextFeedsOn) {
    // With K1 open M1 makes n live, and M2, on the line of K2's coil by mistake, feeds the coil from there.
    Circuit circuit = mains();
    add_contactor(circuit, "K1", {"N"}, {"n"});
    add(circuit, "K2", DeviceKind::contactor, {{"A1", "c"}, {"A2", "N"}, {"1", "L1"}, {"2", "m"}});
    add(circuit, "S1", DeviceKind::push_button, {{"13", "L3"}, {"14", "c"}});
    add(circuit, "M1", DeviceKind::motor_1ph, {{"L", "m"}, {"N", "n"}});
    EXPECT_EQ(fed(circuit), std::set<std::string>{});
    add(circuit, "M2", DeviceKind::motor_1ph, {{"L", "c"}, {"N", "n"}});
    EXPECT_EQ(fed(circuit), std::set<std::string>{"c"});
}

} // namespace
} // namespace stopspan
