// Nets keep the order of first use, whatever is changed in whatever order.
#include "circuit/cut_out.hpp"
#include "stopspan/circuit.hpp"
#include "stopspan/error.hpp"

#include <array>
#include <gtest/gtest.h>
#include <random>

namespace stopspan {
namespace {

std::vector<Connection> connections_of(const Circuit &circuit, const Device &device) {
    std::vector<Connection> connections;
    for (const Device::Terminal &each : device.terminals)
        connections.push_back({each.name, circuit.net_name(each.net)});
    return connections;
}

// The same, added device by device.
Circuit rebuilt(const Circuit &circuit) {
    Circuit fresh;
    for (const Device &device : circuit.devices())
        fresh.add(device.designation, device.kind, connections_of(circuit, device), device.parameters);
    return fresh;
}

class Changes {
public:
    explicit Changes(unsigned seed) : random_(seed) {}

    void make(Circuit &circuit) {
        const std::string net = "n" + std::to_string(up_to(11));
        const std::size_t count = circuit.devices().size();
        switch (count < 3 ? 0 : up_to(5)) {
        case 0:
            circuit.add("F" + std::to_string(next_++), DeviceKind::fuse,
                        std::vector<Connection>{{"1", net}, {"2", "n" + std::to_string(up_to(11))}});
            break;
        case 1:
            circuit.remove(std::string(circuit.devices()[up_to(count - 1)].designation));
            break;
        default:
            circuit.connect(circuit.devices()[up_to(count - 1)].designation, up_to(1) ? "1" : "2", net);
        }
    }

private:
    std::size_t up_to(std::size_t most) { return std::uniform_int_distribution<std::size_t>(0, most)(random_); }
    std::mt19937 random_;
    int next_ = 1;
};

TEST(Circuit, NumbersItsNetsInTheOrderOfFirstUseAfterEveryChange) {
    for (unsigned seed = 0; seed < 20; ++seed) {
        Circuit circuit;
        Changes changes(seed);
        for (int i = 0; i < 60; ++i) {
            changes.make(circuit);
            const Circuit fresh = rebuilt(circuit);
            ASSERT_EQ(circuit, fresh) << "seed " << seed << ", change " << i;
            for (const std::string &net : circuit.nets())
                ASSERT_EQ(circuit.find_net(net), fresh.find_net(net)) << net;
            ASSERT_FALSE(circuit.find_net("n12"));
        }
    }
}

TEST(Circuit, AForgottenNetHasNoNumber) {
    Circuit circuit;
    circuit.add("F1", DeviceKind::fuse, std::array<Connection, 2>{{{"1", "a"}, {"2", "b"}}});
    circuit.connect("F1", "1", "c");
    EXPECT_FALSE(circuit.find_net("a"));
    EXPECT_EQ(circuit.find_net("c")->value, 0U);
    EXPECT_EQ(circuit.find_net("b")->value, 1U);
}

TEST(Circuit, APartCutOutKeepsTheOrderOfTheWhole) {
    Circuit whole;
    whole.add("S1", DeviceKind::emergency_stop,
              std::array<Connection, 4>{{{"11", "a"}, {"12", "z"}, {"21", "b"}, {"22", "c"}}});
    whole.add("F1", DeviceKind::fuse, std::array<Connection, 2>{{{"1", "L"}, {"2", "b"}}});
    whole.add("S2", DeviceKind::emergency_stop, std::array<Connection, 2>{{{"11", "a"}, {"12", "L"}}});
    whole.add("F2", DeviceKind::fuse, std::array<Connection, 2>{{{"1", "c"}, {"2", "a"}}});
    const std::vector<TakenDevice> devices{
        {0, std::vector<std::uint32_t>{2, 3}}, {2, std::vector<std::uint32_t>{}}, {3}};
    const Circuit part = cut_out(whole, devices, std::vector<SharedNet>{{*whole.find_net("a"), 0, 0}});
    ASSERT_EQ(part.devices().size(), 3U);
    EXPECT_EQ(connections_of(part, part.at("S1")), (std::vector<Connection>{{"21", "b"}, {"22", "c"}}));
    EXPECT_TRUE(part.at("S2").terminals.empty());
    // "a" is used last here, but first in the whole.
    EXPECT_EQ(std::vector<std::string>(part.nets().begin(), part.nets().end()),
              (std::vector<std::string>{"a", "b", "c"}));
    Circuit changed = part;
    changed.connect("F2", "2", "b");
    EXPECT_FALSE(changed.find_net("a"));
}

TEST(Circuit, SettingAllParametersLeavesOutTheRest) {
    Circuit circuit;
    circuit.add("F1", DeviceKind::fuse, std::array<Connection, 2>{{{"1", "a"}, {"2", "b"}}},
                {{"rating_a", 6.0}, {"fuse_type", std::string("gG")}});
    const Circuit before = circuit;
    EXPECT_THROW(circuit.set_parameters("F1", {{"rating_a", -1.0}}), Error);
    EXPECT_EQ(circuit, before);
    circuit.set_parameters("F1", {{"rating_a", 10.0}});
    EXPECT_EQ(circuit.at("F1").parameters, (Parameters{{"rating_a", 10.0}}));
}

} // namespace
} // namespace stopspan
