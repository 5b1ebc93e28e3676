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

} // namespace
} // namespace stopspan
