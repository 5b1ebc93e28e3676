#include "switching/feeding_poles.hpp"
#include "switching/structure.hpp"

#include <algorithm>
#include <gtest/gtest.h>

namespace stopspan {
namespace {

// A load between two lines, each behind a pole of a contactor; between m1 and L1 stand a coil and a lamp in series.
Compiled two_lines(const std::string &second_pole_of) {
    Circuit circuit;
    const auto add = [&](const std::string &name, DeviceKind kind, const std::vector<Connection> &terminals,
                         const Parameters &parameters = {}) { circuit.add(name, kind, terminals, parameters); };
    const Parameters coil{{"coil_voltage_v", 230.0}};
    const bool same = second_pole_of == "K1";
    add("G1", DeviceKind::mains_3ph, {{"L1", "L1"}, {"L2", "L2"}, {"L3", "L3"}, {"N", "N"}});
    if (same) {
        add("K1", DeviceKind::contactor,
            {{"A1", "L3"}, {"A2", "N"}, {"1", "L1"}, {"2", "m1"}, {"3", "L2"}, {"4", "m2"}}, coil);
    } else {
        add("K1", DeviceKind::contactor, {{"A1", "L3"}, {"A2", "N"}, {"1", "L1"}, {"2", "m1"}}, coil);
        add(second_pole_of, DeviceKind::contactor, {{"A1", "L3"}, {"A2", "N"}, {"1", "L2"}, {"2", "m2"}}, coil);
    }
    add("E1", DeviceKind::load, {{"1", "m1"}, {"2", "m2"}}, {{"voltage_v", 400.0}, {"current_a", 1.0}});
    add("K3", DeviceKind::relay, {{"A1", "m1"}, {"A2", "x"}}, coil);
    add("P1", DeviceKind::lamp, {{"1", "x"}, {"2", "L1"}}, {{"voltage_v", 230.0}, {"current_a", 0.1}});
    return compile(circuit);
}

bool nothing_at_coil(const Compiled &circuit) {
    const auto net = [&](const std::string &name) {
        return static_cast<std::uint32_t>(std::find(circuit.net_names.begin(), circuit.net_names.end(), name) -
                                          circuit.net_names.begin());
    };
    const FeedingPoles poles(circuit, std::vector<std::uint8_t>(circuit.variables.size(), Structure::free));
    return poles.nothing_between(net("m1"), net("x"));
}

// By hand: what L2 sends through E1 comes to m1 only while K1 is in, and then m1 stands on L1, where the lamp hangs,
// too.
TEST(FeedingPoles, OneLineDoesNotComeThroughALoadIntoAnotherThatTheSameContactorSwitches) {
    EXPECT_TRUE(nothing_at_coil(two_lines("K1")));
}

// With K2 in and K1 out m1 hangs through E1 on L2, and the coil and the lamp between that and L1.
TEST(FeedingPoles, ItDoesWhereAnotherContactorSwitchesIt) {
    EXPECT_FALSE(nothing_at_coil(two_lines("K2")));
}

// A hall behind a main isolator and a contactor that stays out; a lamp ahead of that contactor joins L1 to the neutral.
// In the hall a transformer, a coil on it, and a load that leads from the neutral to the dead line.
class DeadHall : public testing::Test {
protected:
    DeadHall() {
        const auto add = [&](const std::string &name, DeviceKind kind, const std::vector<Connection> &terminals,
                             const Parameters &parameters = {}) { circuit.add(name, kind, terminals, parameters); };
        add("G1", DeviceKind::mains_1ph, {{"L", "L"}, {"N", "N"}});
        add("Q100", DeviceKind::isolator, {{"1", "L"}, {"2", "l"}, {"3", "N"}, {"4", "n"}});
        add("P1", DeviceKind::lamp, {{"1", "l"}, {"2", "n"}}, {{"voltage_v", 230.0}, {"current_a", 0.1}});
        add("Q1", DeviceKind::contactor, {{"A1", "off"}, {"A2", "n"}, {"1", "l"}, {"2", "z"}},
            {{"coil_voltage_v", 230.0}});
        add("E1", DeviceKind::load, {{"1", "z"}, {"2", "n"}}, {{"voltage_v", 230.0}, {"current_a", 1.0}});
        add("G2", DeviceKind::transformer, {{"p1", "z"}, {"p2", "n"}, {"s1", "x"}, {"s2", "y"}},
            {{"primary_v", 230.0}, {"secondary_v", 24.0}});
        add("K1", DeviceKind::relay, {{"A1", "x"}, {"A2", "y"}}, {{"coil_voltage_v", 24.0}});
    }

    bool nothing_at_coil(std::uint8_t position_of_contactor) const {
        const Compiled compiled = compile(circuit);
        const auto net = [&](const std::string &name) {
            return static_cast<std::uint32_t>(std::find(compiled.net_names.begin(), compiled.net_names.end(), name) -
                                              compiled.net_names.begin());
        };
        std::vector<std::uint8_t> positions(compiled.variables.size(), Structure::free);
        positions[compiled.variable_of[circuit.find("Q1")->value]] = position_of_contactor;
        return FeedingPoles(compiled, positions).nothing_between(net("x"), net("y"));
    }

    Circuit circuit;
};

// By hand: all in the hall hangs on the neutral alone, so the transformer has nothing to give.
TEST_F(DeadHall, ATransformerThatHangsOnOnePoleGivesNothing) {
    EXPECT_TRUE(nothing_at_coil(Structure::rest));
    EXPECT_FALSE(nothing_at_coil(Structure::free));
}

// By hand: L comes through the second contactor, whatever the first does.
TEST_F(DeadHall, ItIsNotDeadWhereAnotherContactorFeedsIt) {
    circuit.add("Q2", DeviceKind::contactor, std::vector<Connection>{{"A1", "l"}, {"A2", "n"}, {"1", "l"}, {"2", "z"}},
                Parameters{{"coil_voltage_v", 230.0}});
    EXPECT_FALSE(nothing_at_coil(Structure::rest));
}

// By hand: with the isolator bridged on the neutral's side alone nothing changes; on the line's it feeds past Q100.
TEST_F(DeadHall, ALineThatPassesTheIsolatorComes) {
    circuit.add("Q3", DeviceKind::isolator, std::vector<Connection>{{"1", "N"}, {"2", "n"}});
    EXPECT_TRUE(nothing_at_coil(Structure::rest));
    circuit.add("Q4", DeviceKind::isolator, std::vector<Connection>{{"1", "L"}, {"2", "z"}});
    EXPECT_FALSE(nothing_at_coil(Structure::rest));
}

} // namespace
} // namespace stopspan
