#include "hall.hpp"

#include <cmath>
#include <limits>

namespace stopspan::test {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

struct Refusal {
    std::string name;
    ErrorCode code;
    std::vector<std::string> parts;
    void (*change)(Description &);
    friend std::ostream &operator<<(std::ostream &out, const Refusal &it) { return out << it.name; }
};

class RefusedAdd : public testing::TestWithParam<Refusal> {};

TEST_P(RefusedAdd, WithTheObjectAndTheWayOutAndNothingChanged) {
    expect_refused(hall(), GetParam().code, GetParam().parts, GetParam().change);
}

Machine lathe(const Description &in) {
    return {.name = "Lathe", .area = in.area("Hall"), .at = Position{3, 3}, .motors = {{"M7", 2, 400}}};
}
StopDevice button(const Description &in) {
    return {.name = "S9", .area = in.area("Hall"), .at = Position{3, 3}};
}
const std::vector<Refusal> refusals{
    // names
    {"SupplyTwice",
     ErrorCode::duplicate_name,
     {"supply G1", "choose another"},
     [](Description &it) { it.add(Supply{.name = "G1"}); }},
    {"BoardNamedAsAnArea",
     ErrorCode::duplicate_name,
     {"board Hall", "already taken by area Hall"},
     [](Description &it) { it.add(Board{.name = "Hall", .supply = it.supply("G1")}); }},
    {"MachineTwice",
     ErrorCode::duplicate_name,
     {"machine Drill", "choose another"},
     [](Description &it) {
         Machine same = lathe(it);
         same.name = "Drill";
         it.add(same);
     }},
    {"MachineNamedAsALoad",
     ErrorCode::duplicate_name,
     {"machine E1", "already taken by kept load E1"},
     [](Description &it) {
         Machine same = lathe(it);
         same.name = "E1";
         it.add(same);
     }},
    {"MotorTwice",
     ErrorCode::duplicate_name,
     {"motor M1 of machine Lathe", "taken by motor M1 of machine Drill", "choose another"},
     [](Description &it) {
         Machine same = lathe(it);
         same.motors[0].name = "M1";
         it.add(same);
     }},
    {"MotorTwiceInOneMachine",
     ErrorCode::duplicate_name,
     {"motor M7 of machine Lathe", "already taken"},
     [](Description &it) {
         Machine same = lathe(it);
         same.motors.push_back(same.motors[0]);
         it.add(same);
     }},
    {"StopNamedAsAnIsolator",
     ErrorCode::duplicate_name,
     {"stop device Q2", "taken by the isolator of area Hall"},
     [](Description &it) {
         StopDevice same = button(it);
         same.name = "Q2";
         it.add(same);
     }},
    {"ExitTwice",
     ErrorCode::duplicate_name,
     {"exit South of area Nook"},
     [](Description &it) {
         it.add(
             Area{.name = "Nook", .outline = rectangle(0, 0, 4, 4), .exits = {{"South", {1, 0}}, {"South", {2, 0}}}});
     }},
    {"NameWithALineBreak",
     ErrorCode::bad_value,
     {"machine", "printable"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.name = "La\nthe";
         it.add(odd);
     }},
    {"NameNotUtf8",
     ErrorCode::bad_value,
     {"machine", "not UTF-8"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.name = "L\xff";
         it.add(odd);
     }},
    {"DesignationWithABlank",
     ErrorCode::bad_value,
     {"stop device S 9", "no designation"},
     [](Description &it) {
         StopDevice odd = button(it);
         odd.name = "S 9";
         it.add(odd);
     }},
    // unknown handles
    {"AreaUnknown",
     ErrorCode::unknown_name,
     {"machine Lathe", "its area (number 7)", "add the area first"},
     [](Description &it) {
         Machine lost = lathe(it);
         lost.area = AreaId{7};
         it.add(lost);
     }},
    {"AreaInItself",
     ErrorCode::unknown_name,
     {"area Nook", "its outer area (number 2)"},
     [](Description &it) { it.add(Area{.name = "Nook", .within = AreaId{2}, .outline = rectangle(0, 0, 1, 1)}); }},
    {"BoardFedFromItself",
     ErrorCode::unknown_name,
     {"board B9", "feeding board (number 1)"},
     [](Description &it) { it.add(Board{.name = "B9", .fed_from = BoardId{1}}); }},
    {"ZoneThroughItself",
     ErrorCode::unknown_name,
     {"zone Z1", "its zone (number 0)"},
     [](Description &it) { it.add(Zone{.name = "Z1", .devices = {it.stop("S1")}, .zones = {ZoneId{0}}}); }},
    // numbers
    {"NotANumber",
     ErrorCode::bad_value,
     {"machine Lathe: x_m is not a finite number", "give a number from"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.at->x_m = nan;
         it.add(odd);
     }},
    {"Endless",
     ErrorCode::bad_value,
     {"machine Lathe: run_down_s is not a finite number"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.run_down_s = infinity;
         it.add(odd);
     }},
    {"NotANumberInAnOutline",
     ErrorCode::bad_value,
     {"area Nook: y_m is not a finite number"},
     [](Description &it) {
         it.add(Area{.name = "Nook", .outline = {{0, 0}, {1, 0}, {1, nan}}});
     }},
    {"NoPower",
     ErrorCode::bad_value,
     {"motor M7 of machine Lathe: power_kw is 0"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.motors[0].power_kw = 0;
         it.add(odd);
     }},
    {"HeightBelowTheFloor",
     ErrorCode::bad_value,
     {"stop device S9: height_m is -0.1", "from 0 to 10"},
     [](Description &it) {
         StopDevice odd = button(it);
         odd.height_m = -0.1;
         it.add(odd);
     }},
    {"ControlVoltageThatNobodyMakes",
     ErrorCode::bad_value,
     {"machine Lathe: control_voltage_v is 42", "24, 48, 110"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.control_voltage_v = 42;
         it.add(odd);
     }},
    {"NoContactBlockLeft",
     ErrorCode::bad_value,
     {"stop device S9", "no contact block left", "at least 1"},
     [](Description &it) {
         StopDevice odd = button(it);
         odd.contact_blocks = 0;
         it.add(odd);
     }},
    // places
    {"MachineOutsideEveryArea",
     ErrorCode::contradiction,
     {"machine Lathe: 50, 3 m is outside every area", "correct"},
     [](Description &it) {
         Machine lost = lathe(it);
         lost.at->x_m = 50;
         it.add(lost);
     }},
    {"MachineInAnotherArea",
     ErrorCode::contradiction,
     {"machine Lathe", "in area Bay but 3, 3 m is in area Hall"},
     [](Description &it) {
         Machine lost = lathe(it);
         lost.area = it.area("Bay");
         it.add(lost);
     }},
    {"StopOutside",
     ErrorCode::contradiction,
     {"stop device S9: 3, -4 m is outside every area"},
     [](Description &it) {
         StopDevice lost = button(it);
         lost.at->y_m = -4;
         it.add(lost);
     }},
    {"LoadOutside",
     ErrorCode::contradiction,
     {"kept load E9: 3, 40 m is outside every area"},
     [](Description &it) {
         it.add(KeptLoad{.name = "E9", .area = it.area("Hall"), .at = Position{3, 40}});
     }},
    {"BoardOutside",
     ErrorCode::contradiction,
     {"board B9: -1, 0 m is outside every area"},
     [](Description &it) {
         it.add(Board{.name = "B9", .supply = it.supply("G1"), .area = it.area("Hall"), .at = {-1, 0}});
     }},
    {"ExitOutside",
     ErrorCode::contradiction,
     {"exit South of area Nook: 9, 9 m is outside the area"},
     [](Description &it) {
         it.add(Area{.name = "Nook", .outline = rectangle(0, 0, 4, 4), .exits = {{"South", {9, 9}}}});
     }},
    {"IsolatorOutside",
     ErrorCode::contradiction,
     {"area Nook: its isolator Q9 at 9, 9 m is outside"},
     [](Description &it) {
         it.add(Area{.name = "Nook", .outline = rectangle(0, 0, 4, 4), .isolator = "Q9", .isolator_at = {9, 9}});
     }},
    // feeds
    {"BoardFedTwice",
     ErrorCode::contradiction,
     {"board B9", "give one of them"},
     [](Description &it) { it.add(Board{.name = "B9", .supply = it.supply("G1"), .fed_from = it.board("B1")}); }},
    {"BoardFedByNothing",
     ErrorCode::missing_value,
     {"board B9", "nothing feeds it"},
     [](Description &it) { it.add(Board{.name = "B9"}); }},
    {"SupplyThatIsNoMains",
     ErrorCode::bad_value,
     {"supply G9", "a lamp does not feed a site"},
     [](Description &it) { it.add(Supply{.name = "G9", .kind = DeviceKind::lamp}); }},
    {"MotorForAnotherVoltage",
     ErrorCode::contradiction,
     {"machine Lathe: motor M7 is rated 400 V", "gives it 230 V", "board B1, supply G1"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.starter = Starter::one_phase_one_pole;
         it.add(odd);
     }},
    {"DirectCurrentControlOfMainsVoltage",
     ErrorCode::contradiction,
     {"machine Lathe: control is dc-supply but control_voltage_v is 230", "24, 48 or 110"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.control = ControlSupply::dc_supply;
         it.add(odd);
     }},
    {"ControlVoltageTheFeedDoesNotHave",
     ErrorCode::contradiction,
     {"machine Lathe: its feed has no 24 V for control", "dc-supply"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.control_voltage_v = 24;
         it.add(odd);
     }},
    {"NoMotor",
     ErrorCode::missing_value,
     {"machine Lathe", "needs a motor"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.motors.clear();
         it.add(odd);
     }},
    {"CategoryOneWithoutADrive",
     ErrorCode::contradiction,
     {"machine Lathe", "cannot brake"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.stop_category = 1;
         it.add(odd);
     }},
    {"DelayInCategoryZero",
     ErrorCode::contradiction,
     {"machine Lathe", "stop_delay_s is 2"},
     [](Description &it) {
         Machine odd = lathe(it);
         odd.stop_delay_s = 2;
         it.add(odd);
     }},
    // stops and zones
    {"StopThatNobodyCanOperate",
     ErrorCode::bad_value,
     {"stop device S9", "nobody can operate a fuse"},
     [](Description &it) {
         StopDevice odd = button(it);
         odd.kind = DeviceKind::fuse;
         it.add(odd);
     }},
    {"StopOnNoMachine",
     ErrorCode::missing_value,
     {"stop device S9", "give the machine"},
     [](Description &it) {
         StopDevice odd = button(it);
         odd.place = Place::machine;
         it.add(odd);
     }},
    {"ZoneWithoutStop",
     ErrorCode::missing_value,
     {"zone Z1", "no stop device"},
     [](Description &it) { it.add(Zone{.name = "Z1", .areas = {it.area("Hall")}}); }},
    {"ZoneWithNothingToStop",
     ErrorCode::missing_value,
     {"zone Z1", "nothing to stop"},
     [](Description &it) { it.add(Zone{.name = "Z1", .devices = {it.stop("S1")}}); }},
    {"ZoneThatListsAStopTwice",
     ErrorCode::duplicate_name,
     {"zone Z1", "stop devices is listed twice"},
     [](Description &it) {
         it.add(Zone{.name = "Z1", .devices = {it.stop("S1"), it.stop("S1")}, .areas = {it.area("Hall")}});
     }},
    {"ChainWithAReset",
     ErrorCode::contradiction,
     {"zone Z1", "nothing to reset"},
     [](Description &it) {
         it.add(Zone{.name = "Z1",
                     .link = ZoneLink::series_chain,
                     .devices = {it.stop("S1")},
                     .areas = {it.area("Hall")},
                     .reset = "S8"});
     }},
    {"ChainThatResetsItself",
     ErrorCode::contradiction,
     {"zone Z1", "nothing to reset; leave automatic_reset away"},
     [](Description &it) {
         it.add(Zone{.name = "Z1",
                     .link = ZoneLink::contact_blocks,
                     .devices = {it.stop("S1")},
                     .areas = {it.area("Hall")},
                     .automatic_reset = true});
     }},
    {"AutomaticResetWithAResetDevice",
     ErrorCode::contradiction,
     {"zone Z1", "nobody presses reset S8"},
     [](Description &it) {
         it.add(Zone{.name = "Z1",
                     .link = ZoneLink::stop_relay,
                     .devices = {it.stop("S1")},
                     .areas = {it.area("Hall")},
                     .reset = "S8",
                     .automatic_reset = true});
     }},
    {"ChannelsWithoutAStopRelay",
     ErrorCode::contradiction,
     {"zone Z1", "no channels", "link it by stop-relay"},
     [](Description &it) {
         it.add(Zone{.name = "Z1",
                     .link = ZoneLink::zone_relay,
                     .devices = {it.stop("S1")},
                     .areas = {it.area("Hall")},
                     .channels = 2});
     }},
    {"ThreeChannels",
     ErrorCode::bad_value,
     {"zone Z1", "channels"},
     [](Description &it) {
         it.add(Zone{.name = "Z1",
                     .link = ZoneLink::stop_relay,
                     .devices = {it.stop("S1")},
                     .areas = {it.area("Hall")},
                     .channels = 3});
     }},
};

INSTANTIATE_TEST_SUITE_P(Description, RefusedAdd, testing::ValuesIn(refusals),
                         [](const auto &each) { return each.param.name; });

TEST(Description, RefusesAThreePhaseStarterOnAOnePhaseFeed) {
    Description it = hall();
    it.add(Supply{.name = "G2", .kind = DeviceKind::mains_1ph});
    it.add(Board{.name = "B2", .supply = it.supply("G2")});
    expect_refused(it, ErrorCode::contradiction,
                   {"machine Lathe", "star-delta starter needs three phases", "board B2, supply G2"},
                   [](Description &in) {
                       Machine odd = lathe(in);
                       odd.starter = Starter::star_delta;
                       odd.board = in.board("B2");
                       in.add(odd);
                   });
}

} // namespace
} // namespace stopspan::test
