#include "sample.hpp"

namespace stopspan::test {
namespace {

struct BadFile {
    std::string name;
    ErrorCode code;
    std::size_t line;
    std::vector<std::string> parts;
    std::string xml;
    friend std::ostream &operator<<(std::ostream &out, const BadFile &it) { return out << it.name; }
};

/// Line 1 opens the installation, line 2 has a supply and a board, line 3 an area; `body` begins in line 4.
std::string file_with(const std::string &body) {
    return "<installation xmlns='urn:stopspan:installation:1' name='Yard'>\n"
           "<supply name='G1'/><board name='B1' supply='G1'/>\n"
           "<area name='Yard' board='B1'><corner x_m='0' y_m='0'/><corner x_m='9' y_m='0'/><corner x_m='9' "
           "y_m='9'/></area>\n" +
           body + "\n</installation>\n";
}
std::string circuit_with(const std::string &devices) {
    return file_with("<circuit>\n" + devices + "\n</circuit>");
}
const std::string machine = "<machine name='Saw' area='Yard' x_m='5' y_m='2'><motor name='M1' power_kw='2'/></machine>";
const std::string stop = "<stop-device name='S1' area='Yard' x_m='5' y_m='2'/>";

class RefusedFile : public testing::TestWithParam<BadFile> {};

TEST_P(RefusedFile, WithFileAndLineAndTheWayOut) {
    const BadFile &it = GetParam();
    expect_file_error(it.code, it.line, "yard.xml", it.parts, [&] { read_installation(it.xml, "yard.xml"); });
}

const auto unreadable = ErrorCode::unreadable;

const std::vector<BadFile> broken{
    {"Empty", unreadable, 1, {"no element <installation>"}, ""},
    {"WaiverOfAnUnknownRule",
     ErrorCode::unknown_name,
     5,
     {"waiver of stop-hums", "known: stop-cuts"},
     file_with(stop +
               "\n<waiver rule='stop-hums' reason='r' name='n' date='2026-01-31'><subject name='S1'/></waiver>")},
    {"WaiverWithoutAReason",
     ErrorCode::missing_value,
     5,
     {"<waiver name='n'> needs reason"},
     file_with(stop + "\n<waiver rule='stop-cuts' name='n' date='2026-01-31'><subject name='S1'/></waiver>")},
    {"WaiverTwice",
     ErrorCode::duplicate_name,
     5,
     {"waiver of stop-cuts", "leave one away"},
     file_with("<waiver rule='stop-cuts' reason='r' name='n' date='2026-01-31'><subject name='S1'/></waiver>\n<waiver "
               "rule='stop-cuts' reason='q' name='n' date='2026-01-31'><subject name='S1'/></waiver>")},
    {"LimitOutOfRange",
     ErrorCode::bad_value,
     4,
     {"coil_volts_lowest_percent", "allowed is 1 to 100"},
     file_with("<limits coil_volts_lowest_percent='101'/>")},
    {"CutOff",
     unreadable,
     5,
     {"before every element is closed"},
     "<installation xmlns='urn:stopspan:installation:1' name='Y'>\n\n\n\n<circuit>"},
    {"TagsCrossed", unreadable, 4, {"broken XML", "mismatch"}, file_with("<machine></zone>")},
    {"QuoteNotClosed", unreadable, 4, {"a quote is not closed"}, file_with("<machine name='Saw>\n</machine>")},
    {"NoQuotes", unreadable, 4, {"must stand in quotes"}, file_with("<machine name=Saw/>")},
    {"AttributeTwice", unreadable, 4, {"attribute name is given twice"}, file_with("<machine name='a' name='b'/>")},
    {"UnknownEntity", unreadable, 4, {"& begins no known entity"}, file_with("<machine name='&home;'/>")},
    {"BareAmpersand", unreadable, 4, {"write &amp;"}, file_with("<machine name='a & b'/>")},
    {"ForbiddenCharacterNumber", unreadable, 4, {"& begins no known entity"}, file_with("<machine name='&#1;'/>")},
    {"Text", unreadable, 4, {"text between elements"}, file_with("Saw")},
    {"Cdata", unreadable, 4, {"text between elements"}, file_with("<![CDATA[Saw]]>")},
    {"DocumentType",
     unreadable,
     1,
     {"document type"},
     "<!DOCTYPE installation SYSTEM 'http://example.invalid/a.dtd'>" + file_with("")},
    {"ExternalEntity",
     unreadable,
     2,
     {"document type"},
     "<?xml version='1.0'?>\n<!DOCTYPE i [<!ENTITY e SYSTEM 'file:///etc/passwd'>]>" + file_with("")},
    {"Instruction", unreadable, 1, {"processing instruction"}, "<?run me?>" + file_with("")},
    {"TwoRoots", unreadable, 6, {"second root element"}, file_with("") + "<installation/>"},
    {"Latin1", unreadable, 4, {"not UTF-8"}, file_with("<machine name='S\xE4g'/>")},
    {"Zero", unreadable, 4, {"not UTF-8"}, file_with(std::string("<machine name='S\0g'/>", 21))},
    {"OtherEncoding",
     unreadable,
     1,
     {"save the file as UTF-8"},
     "<?xml version='1.0' encoding='ISO-8859-1'?>" + file_with("")},
    {"TooDeep", unreadable, 4, {"nested deeper than 16"}, file_with([] {
         std::string deep;
         for (int i = 0; i < 100'000; ++i)
             deep += "<a>";
         return deep;
     }())},
    {"OtherVocabulary",
     unreadable,
     1,
     {"root must be <installation xmlns=\"urn:stopspan:installation:1\">"},
     "<workshop/>"},
    {"OtherNamespace", unreadable, 1, {"root must be"}, "<installation xmlns='urn:stopspan:installation:2' name='Y'/>"},
};

const std::vector<BadFile> wrong{
    {"UnknownElement",
     unreadable,
     5,
     {"<installation> has no element <robot>", "known: title-block, supply"},
     file_with("\n<robot/>")},
    {"UnknownInnerElement",
     unreadable,
     5,
     {"<machine> has no element <gear>; known: motor"},
     file_with("<machine name='Saw' area='Yard' x_m='5' y_m='2'>\n<gear/></machine>")},
    {"UnknownAttribute",
     unreadable,
     5,
     {"<motor> has no attribute 'colour'", "known: name, power_kw, voltage_v"},
     file_with(
         "<machine name='Saw' area='Yard' x_m='5' y_m='2'><motor name='M1' power_kw='1'\n colour='red'/></machine>")},
    {"OutOfOrder", unreadable, 5, {"<machine> must stand before <stop-device>"}, file_with(stop + "\n" + machine)},
    {"CircuitTwice",
     ErrorCode::duplicate_name,
     5,
     {"a second <circuit>"},
     file_with("<circuit><fuse designation='F1'><terminal name='1' net='a'/><terminal name='2' "
               "net='b'/></fuse></circuit>\n<circuit/>")},
    {"AttributeMissing",
     ErrorCode::missing_value,
     4,
     {"<machine name='Saw'> needs area"},
     file_with("<machine name='Saw' x_m='1' y_m='1'/>")},
    {"NotANumber",
     ErrorCode::bad_value,
     5,
     {"<machine name='Saw'> x_m='nan' is not a finite number"},
     file_with("<machine name='Saw' area='Yard'\n x_m='nan' y_m='2'/>")},
    {"Infinite",
     ErrorCode::bad_value,
     4,
     {"y_m='INF' is not a finite number"},
     file_with("<machine name='Saw' area='Yard' x_m='1' y_m='INF'/>")},
    {"TooLargeForANumber",
     ErrorCode::bad_value,
     4,
     {"y_m='1e999'"},
     file_with("<machine name='Saw' area='Yard' x_m='1' y_m='1e999'/>")},
    {"DecimalComma",
     ErrorCode::bad_value,
     4,
     {"x_m='2,5'", "with a point and no unit"},
     file_with("<machine name='Saw' area='Yard' x_m='2,5' y_m='1'/>")},
    {"NumberWithUnit",
     ErrorCode::bad_value,
     4,
     {"height_m='1.1 m'"},
     file_with("<stop-device name='S1' area='Yard' x_m='5' y_m='2' height_m='1.1 m'/>")},
    {"OutOfRange",
     ErrorCode::bad_value,
     4,
     {"stop device S1: height_m is 11", "from 0 to 10"},
     file_with("<stop-device name='S1' area='Yard' x_m='5' y_m='2' height_m='11'/>")},
    {"HalfABlock",
     ErrorCode::bad_value,
     4,
     {"contact_blocks='1.5' is not a whole number"},
     file_with("<stop-device name='S1' area='Yard' x_m='5' y_m='2' contact_blocks='1.5'/>")},
    {"NoBlockLeft",
     ErrorCode::bad_value,
     4,
     {"no contact block left"},
     file_with("<stop-device name='S1' area='Yard' x_m='5' y_m='2' contact_blocks='0'/>")},
    {"UnknownWord",
     ErrorCode::bad_value,
     4,
     {"<machine name='Saw'> starter: no starter 'slowly'; known: one-phase-in-line"},
     file_with("<machine name='Saw' area='Yard' x_m='1' y_m='1' starter='slowly'/>")},
    {"FlagThatIsNone",
     ErrorCode::bad_value,
     4,
     {"must be true or false"},
     file_with("<machine name='Saw' area='Yard' x_m='1' y_m='1' mechanical_interlock='yes'/>")},
    {"EmptyReference",
     ErrorCode::bad_value,
     4,
     {"isolator is empty"},
     file_with("<machine name='Saw' area='Yard' x_m='1' y_m='1' isolator=''/>")},
    {"NameTwice", ErrorCode::duplicate_name, 5, {"machine Saw", "choose another"}, file_with(machine + "\n" + machine)},
    {"UnknownReference",
     ErrorCode::unknown_name,
     4,
     {"<machine name='Saw'> area: no area 'Barn'; known: Yard"},
     file_with("<machine name='Saw' area='Barn' x_m='1' y_m='1'/>")},
    {"UnknownOuterArea",
     ErrorCode::unknown_name,
     1,
     {"area Yard: no area 'Barn'; known: Yard"},
     "<installation xmlns='urn:stopspan:installation:1' name='Y'><area name='Yard' within='Barn'/></installation>"},
    {"MachineOutsideEveryArea",
     ErrorCode::contradiction,
     4,
     {"machine Saw: 50, 1 m is outside every area"},
     file_with("<machine name='Saw' area='Yard' x_m='50' y_m='1'><motor name='M1' power_kw='2'/></machine>")},
    {"CyclicAreas",
     ErrorCode::contradiction,
     3,
     {"areas refer to each other in a circle: Nook -> Yard -> Nook", "take one"},
     "<installation xmlns='urn:stopspan:installation:1' name='Y'>\n<area name='Hall'/>\n<area name='Nook' "
     "within='Yard'/>\n<area name='Yard' within='Nook'/></installation>"},
    {"CyclicBoards",
     ErrorCode::contradiction,
     2,
     {"boards refer to each other in a circle: B1 -> B1"},
     "<installation xmlns='urn:stopspan:installation:1' name='Y'>\n<board name='B1' fed_from='B1'/></installation>"},
    {"CyclicZones",
     ErrorCode::contradiction,
     5,
     {"zones refer to each other in a circle: Z1 -> Z2 -> Z1"},
     file_with(stop + "\n<zone name='Z1'><stop-device ref='S1'/><zone ref='Z2'/></zone>\n<zone name='Z2'><stop-device "
                      "ref='S1'/><zone ref='Z1'/></zone>")},
    {"AskedOfNothing",
     ErrorCode::missing_value,
     5,
     {"<asked> needs either machine"},
     file_with(machine + stop + "\n<asked stop_device='S1' effect='cut'/>")},
    {"AskedTwice",
     ErrorCode::duplicate_name,
     6,
     {"S1 and Saw are asked for twice"},
     file_with(machine + stop +
               "\n<asked stop_device='S1' machine='Saw' effect='cut'/>\n<asked stop_device='S1' machine='Saw' "
               "effect='keep'/>")},
    {"BoardThatDoesNotFit",
     ErrorCode::contradiction,
     2,
     {"outline crosses"},
     "<installation xmlns='urn:stopspan:installation:1' name='Y'>\n<area name='Bow'><corner x_m='0' y_m='0'/><corner "
     "x_m='2' y_m='2'/><corner x_m='2' y_m='0'/><corner x_m='0' y_m='2'/></area></installation>"},
};

const std::vector<BadFile> miswired{
    {"UnknownKind",
     ErrorCode::bad_value,
     5,
     {"no device kind 'robot'; known: mains-3ph"},
     circuit_with("<robot designation='K1'/>")},
    {"UnknownTerminal",
     ErrorCode::bad_terminal,
     6,
     {"F1: a fuse has no terminal '3'; it has 1, 2"},
     circuit_with("<fuse designation='F1'>\n<terminal name='3' net='a'/></fuse>")},
    {"CoilWithoutVoltage",
     ErrorCode::missing_value,
     5,
     {"K1: a relay needs coil_voltage_v"},
     circuit_with("<relay designation='K1'>\n<terminal name='A1' net='a'/><terminal name='A2' net='b'/></relay>")},
    {"UnknownParameter",
     unreadable,
     5,
     {"<fuse> has no attribute 'coil_voltage_v'", "rating_a"},
     circuit_with("<fuse designation='F1' coil_voltage_v='24'/>")},
    {"ParameterNotANumber",
     ErrorCode::bad_value,
     5,
     {"rating_a='six'"},
     circuit_with("<fuse designation='F1' rating_a='six'/>")},
    {"DeviceTwice",
     ErrorCode::duplicate_name,
     6,
     {"F1: this designation is already used"},
     circuit_with("<fuse designation='F1'><terminal name='1' net='a'/><terminal name='2' net='b'/></fuse>\n<fuse "
                  "designation='F1'><terminal name='1' net='a'/><terminal name='2' net='b'/></fuse>")},
    {"TerminalTwice",
     ErrorCode::bad_terminal,
     7,
     {"F1: terminal 1 is given twice"},
     circuit_with("<fuse designation='F1'>\n<terminal name='1' net='a'/>\n<terminal name='1' net='b'/></fuse>")},
};

const auto name_of = [](const auto &each) { return each.param.name; };
INSTANTIATE_TEST_SUITE_P(BrokenXml, RefusedFile, testing::ValuesIn(broken), name_of);
INSTANTIATE_TEST_SUITE_P(WrongContent, RefusedFile, testing::ValuesIn(wrong), name_of);
INSTANTIATE_TEST_SUITE_P(WrongCircuit, RefusedFile, testing::ValuesIn(miswired), name_of);

TEST(InstallationFile, CutAtAnyByteIsRefusedAndNothingElseHappens) {
    const std::string xml = write_installation(everything());
    for (std::size_t length = 0; length + 2 < xml.size(); ++length) // the last two are ">" and a line break
        EXPECT_THROW(read_installation(xml.substr(0, length)), FileError) << length;
}

TEST(InstallationFile, WithAnyOneByteChangedIsReadOrRefusedButNeverMisread) {
    // Whatever is still accepted must be written back as something that reads the same: no byte is dropped in silence.
    const std::string xml = write_installation(everything());
    std::size_t accepted = 0;
    for (std::size_t i = 0; i < xml.size(); i += 3)
        for (const char c : {'<', '&', '"', 'x', '0', '\0', '\xC3'}) {
            std::string changed = xml;
            changed[i] = c;
            try {
                const InstallationFile read = read_installation(changed);
                ++accepted;
                EXPECT_EQ(read_installation(write_installation(read)), read) << i << c;
            } catch (const FileError &error) {
                EXPECT_GT(error.line(), 0u) << error.what();
            }
        }
    EXPECT_GT(accepted, 0u);
}

} // namespace
} // namespace stopspan::test
