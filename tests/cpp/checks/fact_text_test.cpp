#include "checks/fact_text.hpp"

#include <gtest/gtest.h>

namespace stopspan {
namespace {

TEST(ContactText, NamesTheBlockOfAStopWithMoreOfThemThanAByteCounts) {
    std::vector<Connection> blocks;
    for (int block = 1; block <= 600; ++block) {
        const std::string number = std::to_string(block);
        blocks.push_back({number + "1", "a" + number});
        blocks.push_back({number + "2", "b" + number});
    }
    Circuit circuit;
    circuit.add("ES1", DeviceKind::emergency_stop, blocks);
    const Compiled compiled = compile(circuit);
    ASSERT_EQ(compiled.switches.size(), 600);
    EXPECT_EQ(contact_text(circuit, compiled.switches[0]), "ES1:11-12");
    EXPECT_EQ(contact_text(circuit, compiled.switches[299]), "ES1:3001-3002");
    EXPECT_EQ(contact_text(circuit, compiled.switches[599]), "ES1:6001-6002");
}

TEST(ContactText, OfADeviceWithoutContactsIsItsDesignation) {
    Circuit circuit;
    circuit.add("F1", DeviceKind::fuse, std::vector<Connection>{{"1", "a"}, {"2", "b"}}, {{"rating_a", 2.0}});
    EXPECT_EQ(contact_text(circuit, compile(circuit).switches[0]), "F1");
}

} // namespace
} // namespace stopspan
