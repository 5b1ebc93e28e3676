#include "ratings/power_paths.hpp"

#include <gtest/gtest.h>

#include <set>
#include <sstream>

namespace stopspan::test {
namespace {

using namespace stopspan::ratings;

void add(Circuit &circuit, const std::string &name, DeviceKind kind, const std::string &wires,
         const Parameters &parameters = {}) {
    std::vector<Connection> connections;
    std::istringstream words(wires);
    for (std::string word; words >> word;)
        connections.push_back({word.substr(0, word.find('=')), word.substr(word.find('=') + 1)});
    circuit.add(name, kind, connections, parameters);
}

const Parameters coil{{"coil_voltage_v", 230.0}};

struct Found {
    explicit Found(const Circuit &wired)
        : circuit(without_lengths(wired)), compiled(compile(circuit)), lookup(compiled),
          paths(motor_paths(compiled, lookup)), behind(motors_behind(compiled, paths)) {}
    std::set<std::string> devices(std::size_t path) const {
        std::set<std::string> names;
        for (const Element &element : paths[path].elements)
            names.insert(circuit.devices()[compiled.switches[element.contact].device].designation);
        return names;
    }
    Behind of(const std::string &device, std::size_t path = 0) const {
        for (const Behind &each : behind.at(circuit.find(device)->value))
            if (each.path == path)
                return each;
        throw std::runtime_error("not behind " + device);
    }
    Circuit circuit;
    Compiled compiled;
    Lookup lookup;
    std::vector<MotorPath> paths;
    std::map<std::uint32_t, std::vector<Behind>> behind;
};

// Two reversing machines on the same rails behind one contactor: neither is led through the other's contactors, though
// a simple path goes that way.
TEST(PowerPaths, AReversingMachineIsNotFedThroughItsNeighbour) {
    Circuit circuit;
    using enum DeviceKind;
    add(circuit, "G1", mains_3ph, "L1=L1 L2=L2 L3=L3 N=N");
    add(circuit, "K9", contactor, "1=L1 2=r1 3=L2 4=r2 5=L3 6=r3 A1=L1 A2=N", coil);
    for (const std::string n : {"1", "2"}) {
        add(circuit, "K" + n + "1", contactor, "1=r1 2=u" + n + " 3=r2 4=v" + n + " 5=r3 6=w" + n + " A1=L1 A2=N",
            coil);
        add(circuit, "K" + n + "2", contactor, "1=r1 2=w" + n + " 3=r2 4=v" + n + " 5=r3 6=u" + n + " A1=L1 A2=N",
            coil);
        add(circuit, "M" + n, motor_3ph, "U=u" + n + " V=v" + n + " W=w" + n);
    }
    const Found found(circuit);
    EXPECT_EQ(found.devices(0), (std::set<std::string>{"K9", "K11", "K12"}));
    EXPECT_EQ(found.devices(1), (std::set<std::string>{"K9", "K21", "K22"}));
    EXPECT_EQ(found.behind.at(circuit.find("K9")->value).size(), 2U);
    EXPECT_EQ(found.paths[0].reversing, (std::set{circuit.find("K11")->value, circuit.find("K12")->value}));
}

// A control fuse, its contacts and coil hang on a line of the motor and carry none of its current.
TEST(PowerPaths, ControlCircuitsCarryNoMotorCurrent) {
    Circuit circuit;
    using enum DeviceKind;
    add(circuit, "G1", mains_1ph, "L=L N=N");
    add(circuit, "Q1", isolator, "1=L 2=a 3=N 4=n");
    add(circuit, "F1", fuse, "1=a 2=c");
    add(circuit, "S1", push_button, "13=c 14=d");
    add(circuit, "K1", contactor, "1=a 2=m A1=d A2=n 13=c 14=d", coil);
    add(circuit, "M1", motor_1ph, "L=m N=n");
    EXPECT_EQ(Found(circuit).devices(0), (std::set<std::string>{"Q1", "K1"}));
}

TEST(PowerPaths, ALongCableIsPartOfTheWay) {
    Circuit circuit;
    using enum DeviceKind;
    add(circuit, "G1", mains_3ph, "L1=L1 L2=L2 L3=L3 N=N");
    add(circuit, "W1", cable, "1.1=L1 1.2=u 2.1=L2 2.2=v 3.1=L3 3.2=w", {{"length_m", 80.0}, {"csa_mm2", 2.5}});
    add(circuit, "M1", motor_3ph, "U=u V=v W=w");
    EXPECT_EQ(Found(circuit).devices(0), (std::set<std::string>{"W1"}));
}

// Pole-changing: slow set fed, fast set open; or fast set fed, slow set joined. The joining contactor carries half.
TEST(PowerPaths, TwoSpeedsAreToldApart) {
    Circuit circuit;
    using enum DeviceKind;
    add(circuit, "G1", mains_3ph, "L1=L1 L2=L2 L3=L3 N=N");
    add(circuit, "K1", contactor, "1=L1 2=u1 3=L2 4=v1 5=L3 6=w1 A1=L1 A2=N", coil);
    add(circuit, "K2", contactor, "1=L1 2=u2 3=L2 4=v2 5=L3 6=w2 A1=L1 A2=N", coil);
    add(circuit, "K3", contactor, "1=u1 2=v1 3=v1 4=w1 A1=L1 A2=N", coil);
    add(circuit, "M1", motor_2speed, "U1=u1 V1=v1 W1=w1 U2=u2 V2=v2 W2=w2");
    const Found found(circuit);
    EXPECT_TRUE(found.of("K1").slow);
    EXPECT_FALSE(found.of("K1").fast);
    EXPECT_TRUE(found.of("K2").fast);
    EXPECT_FALSE(found.of("K2").slow);
    EXPECT_TRUE(found.of("K3").star_point);
    EXPECT_EQ(found.of("K3").share, 0.5);
}

// The star point wired from pole to pole instead of to a common net; and a reversing pair ahead of star-delta.
TEST(PowerPaths, AStarPointWiredFromPoleToPoleIsOne) {
    Circuit circuit;
    using enum DeviceKind;
    add(circuit, "G1", mains_3ph, "L1=L1 L2=L2 L3=L3 N=N");
    add(circuit, "K1", contactor, "1=L1 2=a 3=L2 4=b 5=L3 6=c A1=L1 A2=N", coil);
    add(circuit, "K2", contactor, "1=L1 2=c 3=L2 4=b 5=L3 6=a A1=L1 A2=N", coil);
    add(circuit, "F1", overload, "1=a 2=u1 3=b 4=v1 5=c 6=w1");
    add(circuit, "K3", contactor, "1=a 2=w2 3=b 4=u2 5=c 6=v2 A1=L1 A2=N", coil);
    add(circuit, "K4", contactor, "1=u2 2=v2 3=v2 4=w2 A1=L1 A2=N", coil);
    add(circuit, "M1", motor_6lead, "U1=u1 V1=v1 W1=w1 U2=u2 V2=v2 W2=w2");
    const Found found(circuit);
    EXPECT_TRUE(found.paths[0].starts_in_star);
    EXPECT_NEAR(found.of("K4").share, 1.0 / 3, 1e-12);
    EXPECT_NEAR(found.of("K3").share, 0.57735, 1e-5); // behind the split
    EXPECT_NEAR(found.of("F1").share, 0.57735, 1e-5); // and so is the overload
    EXPECT_EQ(found.of("K1").share, 1);               // ahead of it
    EXPECT_EQ(found.of("K2").share, 1);
    EXPECT_EQ(found.paths[0].reversing.size(), 2U);
}

} // namespace
} // namespace stopspan::test
