#include "hall.hpp"

namespace stopspan::test {
namespace {

TEST(Description, KeepsWhatIsAddedInOrder) {
    const Description it = hall();
    EXPECT_EQ(it.supplies().size(), 1u);
    EXPECT_EQ(it.boards().size(), 1u);
    ASSERT_EQ(it.areas().size(), 2u);
    EXPECT_EQ(it.areas()[1].name, "Bay");
    ASSERT_EQ(it.machines().size(), 2u);
    EXPECT_EQ(it.machines()[0].name, "Drill");
    EXPECT_EQ(it[it.machine("Saw")].motors[0].name, "M2");
    EXPECT_EQ(it[it.load("E1")].at, (Position{4, 4}));
    EXPECT_EQ(it[it.stop("S1")].kind, DeviceKind::emergency_stop);
}

TEST(Description, IsAValue) {
    const Description before = hall();
    Description after = before;
    EXPECT_EQ(before, after);
    after.add(StopDevice{.name = "S2", .area = after.area("Bay"), .at = Position{15, 5}});
    EXPECT_NE(before, after);
    EXPECT_THROW((void)before.stop("S2"), Error);
}

TEST(Description, FeedsAMachineFromItsOwnBoardElseFromTheNearestAreaThatHasOne) {
    Description it = hall();
    EXPECT_EQ(it.board_of(it[it.machine("Drill")]), it.board("B1"));
    EXPECT_EQ(it.board_of(it[it.machine("Saw")]), it.board("B1")) << "the bay has none, the hall around it has";
    const BoardId sub = it.add(Board{.name = "B2", .fed_from = it.board("B1")});
    it.add(Machine{
        .name = "Press", .area = it.area("Bay"), .board = sub, .at = Position{15, 2}, .motors = {{"M3", 3, 400}}});
    EXPECT_EQ(it.board_of(it[it.machine("Press")]), sub);
    EXPECT_EQ(it.supply_of(sub), it.supply("G1"));
}

TEST(Description, HasNoBoardForAMachineWhenNothingAroundItHasOne) {
    Description it;
    it.add(Area{.name = "Yard", .outline = rectangle(0, 0, 5, 5)});
    it.add(Machine{.name = "Winch", .area = it.area("Yard"), .at = Position{1, 1}, .motors = {{"M1", 1, 400}}});
    EXPECT_EQ(it.board_of(it[it.machine("Winch")]), std::nullopt);
}

TEST(Description, WordsReadBackAsTheSameValue) {
    for (const Starter each :
         {Starter::one_phase_in_line, Starter::one_phase_one_pole, Starter::one_phase_two_pole, Starter::direct,
          Starter::reversing, Starter::star_delta, Starter::two_speed, Starter::drive, Starter::as_found})
        EXPECT_EQ(starter(to_text(each)), each);
    for (const ControlSupply each : {ControlSupply::same_supply, ControlSupply::dc_supply, ControlSupply::transformer})
        EXPECT_EQ(control_supply(to_text(each)), each);
    for (const Place each : {Place::machine, Place::wall, Place::floor})
        EXPECT_EQ(place(to_text(each)), each);
    for (const ZoneLink each : {ZoneLink::series_chain, ZoneLink::zone_relay, ZoneLink::zone_contactor,
                                ZoneLink::contact_blocks, ZoneLink::stop_relay})
        EXPECT_EQ(zone_link(to_text(each)), each);
    EXPECT_EQ(to_text(Starter::star_delta), "star-delta");
    EXPECT_EQ(to_text(ZoneLink::contact_blocks), "contact-blocks");
    EXPECT_THROW(starter("slowly"), Error);
}

TEST(Description, LinksAZoneAnotherWayOrLeavesItAsItIs) {
    Description it = hall();
    const ZoneId zone = it.add(Zone{.name = "Z1",
                                    .link = ZoneLink::zone_relay,
                                    .devices = {it.stop("S1")},
                                    .areas = {it.area("Hall")},
                                    .reset = "S8"});
    it.arrange(zone, ZoneLink::stop_relay, 1);
    EXPECT_EQ(it[zone].link, ZoneLink::stop_relay);
    EXPECT_EQ(it[zone].channels, 1);
    EXPECT_EQ(it[zone].reset, "S8");
    const Description before = it;
    EXPECT_THROW(it.arrange(zone, ZoneLink::stop_relay, 3), Error);
    EXPECT_THROW(it.arrange(zone, ZoneLink::zone_contactor, 2), Error);
    EXPECT_EQ(it, before);
    it.arrange(zone, ZoneLink::series_chain);
    EXPECT_EQ(it[zone].channels, std::nullopt);
    EXPECT_EQ(it[zone].reset, ""); // a chain has nothing to reset
}

TEST(Description, ListsWhatIsKnownWhenANameIsNot) {
    const Description it = hall();
    try {
        (void)it.machine("Lathe");
        FAIL();
    } catch (const Error &error) {
        EXPECT_EQ(error.code(), ErrorCode::unknown_name);
        EXPECT_STREQ(error.what(), "no machine 'Lathe'; known: Drill, Saw");
    }
}

TEST(Description, TakesAMachineThatIsNothingButItsMotor) {
    Description it = hall();
    it.add(Machine{.name = "M9", .area = it.area("Hall"), .at = Position{3, 3}, .motors = {{"M9", 1, 400}}});
    EXPECT_EQ(it[it.machine("M9")].motors[0].name, "M9");
}

TEST(Description, TakesAMachineAsFoundWithoutMotors) {
    Description it = hall();
    it.add(Machine{.name = "Old lathe", .area = it.area("Hall"), .at = Position{3, 3}, .starter = Starter::as_found});
    EXPECT_TRUE(it[it.machine("Old lathe")].motors.empty());
}

} // namespace
} // namespace stopspan::test
