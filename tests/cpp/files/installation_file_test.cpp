#include "sample.hpp"

namespace stopspan::test {
namespace {

TEST(InstallationFile, IsReadBackEqualAndWrittenAgainWithTheSameBytes) {
    const InstallationFile before = everything();
    const std::string xml = write_installation(before);
    const InstallationFile after = read_installation(xml);
    EXPECT_EQ(after.description, before.description);
    EXPECT_EQ(after.recorded, before.recorded);
    EXPECT_EQ(write_installation(after), xml);
}

TEST(InstallationFile, OfNothingIsReadBackToo) {
    const InstallationFile nothing{Description(""), {}};
    EXPECT_EQ(read_installation(write_installation(nothing)), nothing);
}

TEST(InstallationFile, LooksAsPublished) {
    InstallationFile file{Description("Yard"), {}};
    Description &it = file.description;
    it.add(Supply{"G1"});
    it.add(Board{.name = "B1", .supply = it.supply("G1")});
    it.add(Area{.name = "Yard",
                .outline = {{0, 0}, {4, 0}, {4, 2.5}},
                .exits = {{"Gate", {4, 1}}},
                .obstacles = {{"Bench", {{1, 0.25}, {2, 0.25}, {2, 0.5}}}},
                .board = it.board("B1")});
    it.add(Machine{.name = "Saw", .area = it.area("Yard"), .at = Position{2, 1}, .motors = {{"M1", 1.5, 400}}});
    it.add(StopDevice{.name = "S1", .area = it.area("Yard"), .at = Position{3, 1}, .height_m = 1.1});
    it.add(StopDevice{.name = "S3", .area = it.area("Yard")});
    it.add(Zone{.name = "All", .devices = {it.stop("S1")}, .areas = {it.area("Yard")}, .reset = "S2"});
    file.recorded.add("F1", DeviceKind::fuse, std::vector<Connection>{{"1", "L1"}, {"2", "a"}}, {{"rating_a", 6.0}});
    EXPECT_EQ(write_installation(file), R"(<?xml version="1.0" encoding="UTF-8"?>
<installation xmlns="urn:stopspan:installation:1" name="Yard">
  <supply name="G1" kind="mains-3ph" voltage_v="230" frequency_hz="50" />
  <board name="B1" supply="G1" x_m="0" y_m="0" />
  <area name="Yard" board="B1">
    <corner x_m="0" y_m="0" />
    <corner x_m="4" y_m="0" />
    <corner x_m="4" y_m="2.5" />
    <exit name="Gate" x_m="4" y_m="1" />
    <obstacle name="Bench">
      <corner x_m="1" y_m="0.25" />
      <corner x_m="2" y_m="0.25" />
      <corner x_m="2" y_m="0.5" />
    </obstacle>
  </area>
  <machine name="Saw" area="Yard" x_m="2" y_m="1" starter="direct" control="same-supply" control_voltage_v="230" mechanical_interlock="true" star_time_s="6" stop_category="0" stop_delay_s="0">
    <motor name="M1" power_kw="1.5" voltage_v="400" />
  </machine>
  <stop-device name="S1" kind="emergency-stop" area="Yard" place="wall" x_m="3" y_m="1" height_m="1.1" reset_on_device="true" />
  <stop-device name="S3" kind="emergency-stop" area="Yard" place="wall" reset_on_device="true" />
  <zone name="All" link="zone-relay" reset="S2">
    <stop-device ref="S1" />
    <area ref="Yard" />
  </zone>
  <circuit>
    <fuse designation="F1" rating_a="6">
      <terminal name="1" net="L1" />
      <terminal name="2" net="a" />
    </fuse>
  </circuit>
</installation>
)");
}

TEST(InstallationFile, MayLeaveAwayWhatIsUsualAndNameThingsBeforeTheyCome) {
    const std::string xml = "\xEF\xBB\xBF<?xml version='1.0' encoding='utf-8'?>\r\n<!-- by hand -->\r\n"
                            "<installation xmlns='urn:stopspan:installation:1' name='Hall'>\r\n"
                            "<supply name='G1'/>\r\n"
                            "<board name='Sub' fed_from='Main' area='Bay'/>"
                            "<board name='Main' supply='G1'/>"
                            "<area name='Bay' within='Hall' board='Sub'>"
                            "<corner x_m='0' y_m='0'/><corner x_m='1e1' y_m='0'/><corner x_m='10' y_m='+5.0'/></area>"
                            "<area name='Hall' board='Main'>"
                            "<corner x_m='0' y_m='0'/><corner x_m='20' y_m='0'/><corner x_m='20' y_m='10'/></area>"
                            "<machine name='Saw' area='Bay' x_m='5' y_m='1'><motor name='M1' power_kw='2'/></machine>"
                            "</installation>\r\n";
    const Description it = read_installation(xml).description;
    ASSERT_EQ(it.boards().size(), 2u);
    EXPECT_EQ(it[it.board("Sub")].fed_from, it.board("Main"));
    EXPECT_EQ(it[it.area("Bay")].within, it.area("Hall"));
    EXPECT_EQ(it[it.area("Bay")].outline[2], (Position{10, 5}));
    EXPECT_EQ(it.board_of(it[it.machine("Saw")]), it.board("Sub"));
    EXPECT_EQ(it[it.machine("Saw")].starter, Starter::direct);
    EXPECT_EQ(it[it.supply("G1")].voltage_v, 230);
}

TEST(InstallationFile, WithTextThatNoFileCanCarryIsNotWritten) {
    InstallationFile file = everything();
    file.description.title_block.author = "bell \x07";
    try {
        write_installation(file);
        FAIL();
    } catch (const Error &error) {
        EXPECT_EQ(error.code(), ErrorCode::bad_value);
        EXPECT_NE(std::string(error.what()).find("<title-block> author holds a control character"), std::string::npos)
            << error.what();
    }
    file.description.title_block.author = "\xff";
    EXPECT_THROW(write_installation(file), Error);
}

TEST(InstallationFile, OfTenThousandMachinesIsReadInReasonableTime) {
    // Guards against looking lines up by counting from the top: that takes minutes here.
    InstallationFile file{hall(), {}};
    Description &it = file.description;
    for (int i = 0; i < 10'000; ++i)
        it.add(Machine{.name = "Machine " + std::to_string(i),
                       .area = it.area("Hall"),
                       .at = Position{2, 2},
                       .motors = {{"MM" + std::to_string(i), 1, 400}}});
    EXPECT_EQ(read_installation(write_installation(file)), file);
}

} // namespace
} // namespace stopspan::test
