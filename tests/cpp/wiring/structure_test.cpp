// Wiring compared with what a direct starter's circuit diagram shows, drawn by hand: line-side contacts, the coil's A2
// on the neutral, the holding contact across the start button only.
#include "stopspan/error.hpp"
#include "stopspan/wiring.hpp"

#include <gtest/gtest.h>

namespace stopspan {
namespace {

Description workshop(std::optional<int> blocks) {
    Description d("workshop");
    const SupplyId supply = d.add(Supply{.name = "G1"});
    const BoardId board = d.add(Board{.name = "B1", .supply = supply});
    const AreaId area =
        d.add(Area{.name = "Hall", .outline = {{0, 0}, {9, 0}, {9, 9}, {0, 9}}, .board = board, .isolator_at = {1, 1}});
    StopDevice stop{.name = "S91", .area = area, .at = Position{6, 5}};
    stop.contact_blocks = blocks;
    Zone zone{.name = "Room", .link = ZoneLink::contact_blocks, .devices = {d.add(stop)}, .areas = {area}};
    for (const char *motor : {"M1", "M2"})
        d.add(Machine{.name = std::string("Saw ") + motor,
                      .area = area,
                      .at = Position{2, 2},
                      .motors = {Motor{motor, 1.5, 400}},
                      .isolator = std::string("Q") + motor[1]});
    d.add(zone);
    return d;
}

std::string net(const Circuit &circuit, std::string_view device, std::string_view terminal) {
    const auto found = circuit.at(device).net_of(terminal);
    return found ? circuit.net_name(*found) : "";
}

// Control from a series chain comes from ahead of the machine's isolator and returns there, so three poles do.
TEST(WiringStructure, AnIsolatorHasNoPoleForANeutralThatNothingBehindItUses) {
    Description d("workshop");
    const SupplyId supply = d.add(Supply{.name = "G1"});
    const BoardId board = d.add(Board{.name = "B1", .supply = supply});
    const AreaId area =
        d.add(Area{.name = "Hall", .outline = {{0, 0}, {9, 0}, {9, 9}, {0, 9}}, .board = board, .isolator_at = {1, 1}});
    const StopId stop = d.add(StopDevice{.name = "S91", .area = area, .at = Position{6, 5}});
    d.add(Machine{
        .name = "Saw", .area = area, .at = Position{2, 2}, .motors = {Motor{"M1", 1.5, 400}}, .isolator = "Q1"});
    d.add(Machine{.name = "Pump",
                  .area = area,
                  .at = Position{4, 2},
                  .motors = {Motor{"M2", 0.37, 230}},
                  .starter = Starter::one_phase_two_pole,
                  .isolator = "Q2"});
    d.add(Zone{.name = "Room", .link = ZoneLink::series_chain, .devices = {stop}, .areas = {area}});
    const Circuit circuit = wire(d);
    EXPECT_EQ(net(circuit, "Q1", "6"), "M1.L3");
    EXPECT_EQ(net(circuit, "Q1", "7") + net(circuit, "Q1", "8"), "");
    EXPECT_EQ(net(circuit, "Q2", "4"), "M2.N") << "its motor runs between line and neutral";
    for (const Device &device : circuit.devices())
        for (const Device::Terminal &terminal : device.terminals) {
            int ends = 0;
            for (const Device &other : circuit.devices())
                for (const Device::Terminal &end : other.terminals)
                    ends += end.net == terminal.net;
            EXPECT_GT(ends, 1) << device.designation << ":" << terminal.name << " ends in the air";
        }
}

TEST(WiringStructure, DirectStarterHoldsItselfBehindItsStops) {
    const Circuit circuit = wire(workshop({}));
    EXPECT_EQ(net(circuit, "Q1.1", "A2"), net(circuit, "Q1", "8"));    // coil to the neutral behind the isolator
    EXPECT_EQ(net(circuit, "Q1.1", "A1"), net(circuit, "S1.2", "14")); // start button to coil
    EXPECT_EQ(net(circuit, "Q1.1", "13"), net(circuit, "S1.2", "13")); // holding contact across it
    EXPECT_EQ(net(circuit, "Q1.1", "14"), net(circuit, "S1.2", "14"));
    EXPECT_EQ(net(circuit, "S1.1", "12"), net(circuit, "S1.2", "13")); // own stop ahead of both
    EXPECT_EQ(net(circuit, "S91", "12"), net(circuit, "S1.1", "11"));  // zone's block ahead of the own stop
    EXPECT_EQ(circuit.at("S91").terminals.size(), 4u);                 // a break block per machine
    EXPECT_EQ(circuit, wire(workshop({})));
}

TEST(WiringStructure, TooFewContactBlocksAreRefused) {
    EXPECT_NO_THROW(wire(workshop(2)));
    EXPECT_THROW(wire(workshop(1)), Error);
}

} // namespace
} // namespace stopspan
