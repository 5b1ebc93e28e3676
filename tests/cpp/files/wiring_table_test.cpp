#include "sample.hpp"

namespace stopspan::test {
namespace {

TEST(WiringTable, IsReadBackAsTheSameCircuit) {
    Circuit circuit = everything().recorded;
    circuit.add("Q/7-a", DeviceKind::load, std::vector<Connection>{{"1", "a \"quoted\", net"}, {"2", "é"}},
                {{"machine", ""}, {"current_a", 1e-3}, {"kept", false}});
    const std::string csv = write_wiring_table(circuit);
    const Circuit again = read_wiring_table(csv);
    EXPECT_EQ(again, circuit);
    EXPECT_EQ(write_wiring_table(again), csv);
}

TEST(WiringTable, LooksAsDescribed) {
    Circuit circuit;
    circuit.add("K1", DeviceKind::relay, std::vector<Connection>{{"A1", "say \"a\", then b"}, {"A2", "N"}},
                {{"coil_voltage_v", 24.5}, {"coil_current", "DC"}});
    EXPECT_EQ(write_wiring_table(circuit), "device,kind,terminal,net,parameter,value\n"
                                           "K1,relay,A1,\"say \"\"a\"\", then b\",,\n"
                                           "K1,relay,A2,N,,\n"
                                           "K1,relay,,,coil_current,DC\n"
                                           "K1,relay,,,coil_voltage_v,24.5\n");
}

TEST(WiringTable, FromASpreadsheetIsRead) {
    // Byte order mark, CRLF, everything quoted, kind only once, rows of one device apart, empty rows, no last line end.
    const Circuit circuit = read_wiring_table("\xEF\xBB\xBF\"device\",kind,terminal,net,parameter,value\r\n"
                                              "F1,fuse,1,L1,,\r\n"
                                              ",,,,,\r\n"
                                              "E1,load,1,a,,\r\n"
                                              "\r\n"
                                              "F1,,2,a,,\r\n"
                                              "E1,,2,N,,\r\n"
                                              "\"F1\",,,,\"rating_a\",\"6\"");
    Circuit expected;
    expected.add("F1", DeviceKind::fuse, std::vector<Connection>{{"1", "L1"}, {"2", "a"}}, {{"rating_a", 6.0}});
    expected.add("E1", DeviceKind::load, std::vector<Connection>{{"1", "a"}, {"2", "N"}});
    EXPECT_EQ(circuit, expected);
}

struct BadTable {
    std::string name;
    ErrorCode code;
    std::size_t line;
    std::vector<std::string> parts;
    std::string rows; ///< below the header
    friend std::ostream &operator<<(std::ostream &out, const BadTable &it) { return out << it.name; }
};

class RefusedTable : public testing::TestWithParam<BadTable> {};

TEST_P(RefusedTable, WithFileAndLineAndTheWayOut) {
    const BadTable &it = GetParam();
    expect_file_error(it.code, it.line, "old.csv", it.parts,
                      [&] { read_wiring_table("device,kind,terminal,net,parameter,value\n" + it.rows, "old.csv"); });
}

const std::string fuse = "F1,fuse,1,a,,\nF1,fuse,2,b,,\n";

const std::vector<BadTable> tables{
    {"UnknownTerminal",
     ErrorCode::bad_terminal,
     3,
     {"F1: a fuse has no terminal '9'; it has 1, 2"},
     "F1,fuse,1,a,,\nF1,fuse,9,b,,\n"},
    {"TerminalTwice", ErrorCode::bad_terminal, 4, {"F1: terminal 2 is given twice"}, fuse + "F1,fuse,2,c,,\n"},
    {"HalfAContact", ErrorCode::bad_terminal, 2, {"S1: terminal 14 is not wired"}, "S1,push-button,13,a,,\n"},
    {"CoilWithoutVoltage",
     ErrorCode::missing_value,
     2,
     {"K1: a relay needs coil_voltage_v"},
     "K1,relay,A1,a,,\nK1,relay,A2,b,,\n"},
    {"UnknownKind", ErrorCode::bad_value, 2, {"F1: no device kind 'fuze'; known:"}, "F1,fuze,1,a,,\n"},
    {"KindNeverGiven", ErrorCode::bad_value, 2, {"F1: no device kind ''"}, "F1,,1,a,,\n"},
    {"DeviceTwiceWithAnotherKind",
     ErrorCode::duplicate_name,
     4,
     {"F1: is a fuse in line 2 but a lamp here"},
     fuse + "F1,lamp,1,c,,\n"},
    {"UnknownParameter",
     ErrorCode::bad_value,
     4,
     {"F1: a fuse has no parameter 'rating'; known: rating_a"},
     fuse + "F1,,,,rating,6\n"},
    {"ParameterTwice",
     ErrorCode::duplicate_name,
     5,
     {"F1: rating_a is given twice"},
     fuse + "F1,,,,rating_a,6\nF1,,,,rating_a,10\n"},
    {"NotANumber",
     ErrorCode::bad_value,
     4,
     {"F1: rating_a 'NaN' is not a finite number"},
     fuse + "F1,,,,rating_a,NaN\n"},
    {"DecimalComma",
     ErrorCode::bad_value,
     4,
     {"rating_a '6,3' is not a finite number"},
     fuse + "F1,,,,rating_a,\"6,3\"\n"},
    {"OutOfRange", ErrorCode::bad_value, 2, {"F1: rating_a is -6"}, fuse + "F1,,,,rating_a,-6\n"},
    {"FlagThatIsNone", ErrorCode::bad_value, 2, {"E1: kept 'yes' must be true or false"}, "E1,load,,,kept,yes\n"},
    {"NeitherTerminalNorParameter", ErrorCode::unreadable, 4, {"F1: a row has either"}, fuse + "F1,fuse,,,,\n"},
    {"BothTerminalAndParameter", ErrorCode::unreadable, 2, {"F1: a row has either"}, "F1,fuse,1,a,rating_a,6\n"},
    {"NoDevice", ErrorCode::unreadable, 2, {"a row without a device"}, ",fuse,1,a,,\n"},
    {"TooFewFields", ErrorCode::unreadable, 2, {"has 4 fields; a row has six"}, "F1,fuse,1,a\n"},
    {"QuoteNeverClosed", ErrorCode::unreadable, 3, {"never closed"}, "F1,fuse,1,a,,\nF1,fuse,2,\"b,,\nF2,fuse,1,a,,\n"},
    {"NotUtf8", ErrorCode::unreadable, 2, {"not UTF-8"}, "F1,fuse,1,\xE4,,\n"},
};

INSTANTIATE_TEST_SUITE_P(WiringTable, RefusedTable, testing::ValuesIn(tables),
                         [](const auto &each) { return each.param.name; });

TEST(WiringTable, WithoutItsHeaderIsRefused) {
    for (const char *csv : {"", "F1,fuse,1,a,,\n", "device;kind;terminal;net;parameter;value\n"})
        expect_file_error(ErrorCode::unreadable, 1, "old.csv", {"the first row must be device,kind,terminal"},
                          [&] { read_wiring_table(csv, "old.csv"); });
}

} // namespace
} // namespace stopspan::test
