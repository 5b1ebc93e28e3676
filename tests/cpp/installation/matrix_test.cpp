#include "hall.hpp"

#include <map>

namespace stopspan::test {
namespace {

std::map<std::pair<std::string, std::string>, Asked> cells(const Description &of) {
    std::map<std::pair<std::string, std::string>, Asked> all;
    for (const AskedCell &cell : of.asked())
        EXPECT_TRUE(all.emplace(std::pair(cell.stop, cell.machine), cell.asked).second)
            << cell.stop << " and " << cell.machine << " stand in two cells";
    return all;
}

TEST(Matrix, AsksToKeepEveryLoadAndNothingElseWithoutZones) {
    const auto found = cells(hall());
    EXPECT_EQ(found.size(), 1u);
    EXPECT_EQ(found.at({"S1", "E1"}), Asked::keep);
}

TEST(Matrix, OfSeveralZonesTheStrictestTargetCountsWhicheverComesFirst) {
    for (const bool strict_first : {false, true}) {
        Description it = hall();
        for (const bool strict : {strict_first, !strict_first})
            it.add(Zone{.name = strict ? "Strict" : "Usual",
                        .devices = {it.stop("S1")},
                        .machines = {it.machine("Saw")},
                        .target = strict ? Target::single_fault : Target::no_fault});
        it.add(Zone{.name = "Drills", .devices = {it.stop("S1")}, .machines = {it.machine("Drill")}});
        for (const AskedCell &cell : it.asked())
            EXPECT_EQ(cell.target, cell.machine == "Saw" ? Target::single_fault : Target::no_fault) << cell.machine;
    }
}

TEST(Matrix, AsksADeviceOnAMachineToCutIt) {
    Description it = hall();
    it.add(StopDevice{.name = "S2",
                      .kind = DeviceKind::push_button,
                      .area = it.area("Bay"),
                      .machine = it.machine("Saw"),
                      .place = Place::machine,
                      .at = Position{12, 2}});
    const auto found = cells(it);
    EXPECT_EQ(found.at({"S2", "Saw"}), Asked::cut);
    EXPECT_FALSE(found.contains({"S2", "Drill"}));
}

TEST(Matrix, AZoneReachesItsMachinesItsAreasWithInnerOnesAndTheZonesItActsThrough) {
    Description it = hall();
    it.add(Area{.name = "Yard", .outline = rectangle(30, 0, 40, 10), .board = it.board("B1")});
    it.add(Machine{.name = "Winch", .area = it.area("Yard"), .at = Position{31, 1}, .motors = {{"M3", 2, 400}}});
    it.add(StopDevice{.name = "S2", .area = it.area("Yard"), .at = Position{35, 5}});
    it.add(StopDevice{.name = "S3", .area = it.area("Yard"), .at = Position{36, 5}});
    const ZoneId bay = it.add(Zone{.name = "Bay", .devices = {it.stop("S1")}, .areas = {it.area("Bay")}});
    const ZoneId whole = it.add(Zone{.name = "Hall", .devices = {it.stop("S2")}, .areas = {it.area("Hall")}});
    const ZoneId site = it.add(
        Zone{.name = "Site", .devices = {it.stop("S3")}, .machines = {it.machine("Winch")}, .zones = {whole, bay}});
    EXPECT_EQ(it.span_of(bay), (std::vector{it.machine("Saw")}));
    EXPECT_EQ(it.span_of(whole), (std::vector{it.machine("Drill"), it.machine("Saw")}));
    EXPECT_EQ(it.span_of(site), (std::vector{it.machine("Drill"), it.machine("Saw"), it.machine("Winch")}));

    std::map<std::pair<std::string, std::string>, Asked> expected;
    for (const auto &[stop, machine] :
         {std::pair{"S1", "Saw"}, {"S2", "Drill"}, {"S2", "Saw"}, {"S3", "Drill"}, {"S3", "Saw"}, {"S3", "Winch"}})
        expected[{stop, machine}] = Asked::cut;
    for (const char *stop : {"S1", "S2", "S3"})
        expected[{stop, "E1"}] = Asked::keep;
    EXPECT_EQ(cells(it), expected);
}

TEST(Matrix, WhatIsAskedByHandWinsAndTheLaterWordCounts) {
    Description it = hall();
    it.add(Zone{.name = "All", .devices = {it.stop("S1")}, .areas = {it.area("Hall")}});
    it.ask("S1", "Saw", Asked::keep);
    it.ask("S1", "Saw", Asked::free);
    it.ask("S1", "E1", Asked::cut);
    EXPECT_EQ(it.asked_by_hand().size(), 2u);
    const auto found = cells(it);
    EXPECT_EQ(found.at({"S1", "Saw"}), Asked::free);
    EXPECT_EQ(found.at({"S1", "Drill"}), Asked::cut);
    EXPECT_EQ(found.at({"S1", "E1"}), Asked::cut);
}

TEST(Matrix, AskingForSomethingUnknownIsRefused) {
    expect_refused(hall(), ErrorCode::unknown_name, {"no stop device 'S7'; known: S1"},
                   [](Description &it) { it.ask("S7", "Drill", Asked::cut); });
    expect_refused(hall(), ErrorCode::unknown_name, {"no machine 'Lathe'; known: Drill, Saw"},
                   [](Description &it) { it.ask("S1", "Lathe", Asked::cut); });
}

} // namespace
} // namespace stopspan::test
