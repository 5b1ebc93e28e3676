#include "circuits.hpp"
#include "drawing_checks.hpp"

#include "stopspan/sheets.hpp"

#include <algorithm>
#include <gtest/gtest.h>
#include <set>

namespace stopspan::test {
namespace {

std::string listed_faults(const std::vector<std::string> &faults) {
    std::string text;
    for (std::size_t i = 0; i < std::min<std::size_t>(faults.size(), 12); ++i)
        text += faults[i] + "\n";
    return text + std::to_string(faults.size()) + " faults";
}

class DrawnCircuit : public testing::TestWithParam<NamedCircuit> {};

TEST_P(DrawnCircuit, HasTheNetlistOfItsCircuit) {
    const Circuit &circuit = GetParam().circuit;
    const auto faults = netlist_faults(draw(Description("test"), circuit, {}), circuit);
    EXPECT_TRUE(faults.empty()) << listed_faults(faults);
}

TEST_P(DrawnCircuit, IsLaidOutWithoutOverlapsAndLooseEnds) {
    const auto faults = layout_faults(draw(Description("test"), GetParam().circuit, {}));
    EXPECT_TRUE(faults.empty()) << listed_faults(faults);
}

TEST_P(DrawnCircuit, IsTheSameEveryTime) {
    const Drawing a = draw(Description("test"), GetParam().circuit, {});
    const Drawing b = draw(Description("test"), GetParam().circuit, {});
    ASSERT_EQ(a.sheets.size(), b.sheets.size());
    for (std::size_t i = 0; i < a.sheets.size(); ++i) {
        EXPECT_EQ(a.sheets[i].title, b.sheets[i].title);
        ASSERT_EQ(a.sheets[i].inserts.size(), b.sheets[i].inserts.size());
        for (std::size_t k = 0; k < a.sheets[i].inserts.size(); ++k) {
            EXPECT_EQ(a.sheets[i].inserts[k].at, b.sheets[i].inserts[k].at);
            EXPECT_EQ(a.sheets[i].inserts[k].attributes, b.sheets[i].inserts[k].attributes);
        }
    }
}

INSTANTIATE_TEST_SUITE_P(Samples, DrawnCircuit, testing::ValuesIn(sample_circuits()),
                         [](const auto &sample) { return sample.param.name; });

const Insert &insert_of(const Drawing &drawing, const std::string &designation, const std::string &terminal) {
    for (const Sheet &sheet : drawing.sheets)
        for (const Insert &insert : sheet.inserts) {
            const auto found = insert.attributes.find("DESIGNATION");
            if (found == insert.attributes.end() || found->second != designation)
                continue;
            for (const auto &[tag, value] : insert.attributes)
                if (tag.starts_with("TERMINAL_") && value == terminal)
                    return insert;
        }
    throw std::runtime_error(designation + ":" + terminal + " is not drawn");
}

TEST(ControlCircuit, StandsAsOneCurrentPathWithTheCoilBelow) {
    const Drawing drawing = draw(Description("test"), direct_on_line(), {});
    const double x = insert_of(drawing, "K1", "A1").at.x_mm;
    double above = 1e9;
    for (const auto &[designation, terminal] : std::vector<std::pair<std::string, std::string>>{
             {"F2", "1"}, {"F1", "95"}, {"ES1", "11"}, {"S0", "11"}, {"S1", "13"}, {"K1", "A1"}}) {
        const Insert &insert = insert_of(drawing, designation, terminal);
        EXPECT_EQ(insert.at.x_mm, x) << designation;
        EXPECT_LT(insert.at.y_mm, above) << designation;
        above = insert.at.y_mm;
    }
    const Insert &holding = insert_of(drawing, "K1", "13");
    EXPECT_EQ(holding.at.y_mm, insert_of(drawing, "S1", "13").at.y_mm) << "it bridges the start button";
    EXPECT_GT(holding.at.x_mm, x);
}

TEST(ControlCircuit, PutsTheCoilAboveContactsInTheEarthedConductor) {
    const Drawing drawing = draw(Description("test"), stops_in_neutral(), {});
    EXPECT_GT(insert_of(drawing, "K1", "A1").at.y_mm, insert_of(drawing, "F1", "95").at.y_mm);
    EXPECT_GT(insert_of(drawing, "F1", "95").at.y_mm, insert_of(drawing, "S0", "11").at.y_mm);
}

TEST(ControlCircuit, ListsUnderACoilWhereItsContactsAreAndBesideAContactWhereItsCoilIs) {
    const Drawing drawing = draw(Description("test"), direct_on_line(), {});
    std::set<std::string> references;
    for (const Sheet &sheet : drawing.sheets)
        for (const Primitive &primitive : sheet.primitives)
            if (const auto *text = std::get_if<Text>(&primitive); text && text->layer == Layer::references)
                references.insert(text->text);
    // Sheet 1 lists the sheets, 2 has power and control circuit: path 1 the coil, path 2 its contact.
    EXPECT_TRUE(references.contains("13-14 2/2"));
    EXPECT_TRUE(references.contains("2/1"));
}

const Sheet &sheet_with(const Drawing &drawing, const Insert &wanted) {
    for (const Sheet &sheet : drawing.sheets)
        if (!sheet.inserts.empty() && &wanted >= &sheet.inserts.front() && &wanted <= &sheet.inserts.back())
            return sheet;
    throw std::runtime_error("on no sheet");
}

TEST(ControlCircuit, OfAMachineStandsOnItsOwnSheetAndWhatSeveralShareOnAnother) {
    const Drawing drawing = draw(Description("test"), common_rail(), {});
    const auto title = [&](const std::string &designation, const std::string &terminal) {
        return sheet_with(drawing, insert_of(drawing, designation, terminal)).title;
    };
    for (const std::string n : {"1", "2", "3"})
        for (const auto &[device, terminal] : std::vector<std::pair<std::string, std::string>>{
                 {"F" + n, "95"}, {"S" + n, "13"}, {"K" + n, "13"}, {"K" + n, "A1"}})
            EXPECT_EQ(title(device, terminal), "M" + n + ": power and control circuit") << device;
    EXPECT_EQ(title("ES1", "11"), title("ES2", "11"));
    EXPECT_EQ(title("ES1", "11"), title("F9", "1"));
    EXPECT_EQ(title("F1", "1"), "M1: power and control circuit");
}

TEST(ControlCircuit, OfMachinesThatAreTiedTogetherIsDrawnInOnePiece) {
    const Drawing drawing = draw(Description("test"), joined_coils(), {});
    EXPECT_EQ(sheet_with(drawing, insert_of(drawing, "S11", "13")).title,
              sheet_with(drawing, insert_of(drawing, "S21", "13")).title);
}

constexpr double contact_height = 12.5; // of a symbol with a terminal at each end

std::set<std::string> references_of(const Drawing &drawing) {
    std::set<std::string> references;
    for (const Sheet &sheet : drawing.sheets)
        for (const Primitive &primitive : sheet.primitives)
            if (const auto *text = std::get_if<Text>(&primitive); text && text->layer == Layer::references)
                references.insert("sheet " + sheet.number + ": " + text->text);
    return references;
}

// Three machines, each fed from L1 and stopped by a block of ES1.
Circuit one_stop_for_three(const std::string &feed) {
    Circuit c;
    wire_up(c, "G1", DeviceKind::mains_3ph, "L1=" + feed + " L2=L2 L3=L3 N=N");
    for (const std::string n : {"1", "2", "3"})
        wire_up(c, "K" + n, DeviceKind::contactor,
                "1=" + feed + " 2=u" + n + " 3=L2 4=v" + n + " 5=L3 6=w" + n + " A1=a" + n + " A2=N",
                {{"coil_voltage_v", 230.0}});
    for (const std::string n : {"1", "2", "3"})
        wire_up(c, "M" + n, DeviceKind::motor_3ph, "U=u" + n + " V=v" + n + " W=w" + n);
    wire_up(c, "ES1", DeviceKind::emergency_stop, "11=" + feed + " 12=a1 21=" + feed + " 22=a2 31=" + feed + " 32=a3");
    return c;
}

TEST(References, OfAStopThatActsInSeveralCircuitsLeadFromEachBlockToTheOthers) {
    // Sheet 1 lists the sheets, 2 has the mains, 3 to 5 a machine each, with its one current path.
    const auto said = references_of(draw(Description("test"), one_stop_for_three("L1"), {}));
    EXPECT_TRUE(said.contains("sheet 3: 4/1 +1")) << "the first block names the second, and that there is one more";
    EXPECT_TRUE(said.contains("sheet 4: 3/1"));
    EXPECT_TRUE(said.contains("sheet 5: 3/1"));
    EXPECT_TRUE(said.contains("sheet 6: ES1"));
    EXPECT_TRUE(said.contains("sheet 6: 11-12 3/1, 21-22 4/1, 31-32 5/1"));
}

TEST(References, LeadFromADriveToItsInputsAndBack) {
    Circuit c;
    wire_up(c, "G1", DeviceKind::mains_3ph, "L1=L1 L2=L2 L3=L3 N=N");
    wire_up(c, "K1", DeviceKind::contactor, "1=L1 2=u 3=L2 4=v 5=L3 6=w A1=a A2=N 23=r1 24=r2",
            {{"coil_voltage_v", 230.0}});
    wire_up(c, "U1", DeviceKind::drive, "R=u S=v T=w RUN1=r1 RUN2=r2 STO1=s1 STO2=s2");
    wire_up(c, "ES1", DeviceKind::emergency_stop, "11=L1 12=a 21=s1 22=s2");
    const Drawing drawing = draw(Description("test"), c, {});
    EXPECT_TRUE(layout_faults(drawing).empty()) << listed_faults(layout_faults(drawing));
    const Insert &drive = insert_of(drawing, "U1", "R");
    const auto path = [&](const char *terminal) { // the numbers of the current paths stand above them
        const Insert &input = insert_of(drawing, "U1", terminal);
        const Text *found = nullptr;
        for (const Primitive &primitive : sheet_with(drawing, input).primitives)
            if (const auto *text = std::get_if<Text>(&primitive); text && text->layer == Layer::references &&
                                                                  text->at.x_mm == input.at.x_mm &&
                                                                  (!found || text->at.y_mm > found->at.y_mm))
                found = text;
        return sheet_with(drawing, input).number + "/" + (found ? found->text : "?");
    };
    std::set<std::string> beside;
    for (const Primitive &primitive : sheet_with(drawing, drive).primitives)
        if (const auto *text = std::get_if<Text>(&primitive);
            text && text->layer == Layer::references && text->at.x_mm == drive.at.x_mm + 18)
            beside.insert(text->text);
    EXPECT_EQ(beside, (std::set<std::string>{"RUN1-RUN2 " + path("RUN1"), "STO1-STO2 " + path("STO1")}));
    // Fields of the frame are 50 mm high and wide, counted from the middle of the sheet (ISO 5457).
    const double upper_end = drive.at.y_mm - 5;
    const std::string row = upper_end > 248.5 ? "A" : upper_end > 198.5 ? "B" : "C";
    ASSERT_LT(drive.at.x_mm, 60) << "column 1";
    for (const char *terminal : {"RUN1", "STO1"}) {
        const Insert &input = insert_of(drawing, "U1", terminal);
        bool leads_back = false;
        for (const Primitive &primitive : sheet_with(drawing, input).primitives)
            if (const auto *text = std::get_if<Text>(&primitive); text && text->layer == Layer::references)
                leads_back =
                    leads_back || (text->at.x_mm == input.at.x_mm + 6 &&
                                   text->at.y_mm > input.at.y_mm - contact_height && text->at.y_mm < input.at.y_mm &&
                                   text->text == sheet_with(drawing, drive).number + "/" + row + "1");
        EXPECT_TRUE(leads_back) << terminal;
    }
}

TEST(References, OfANetLeadToWhereItComesFromAndFromThereToAllOthers) {
    const Drawing drawing = draw(Description("test"), one_stop_for_three("L1"), {});
    const auto said = references_of(drawing);
    // L1 is at the mains, at the poles of each contactor and at each current path: seven pieces.
    std::size_t from_mains = 0, more = 0;
    for (const std::string &each : said) {
        from_mains += each.starts_with("sheet 3: 2/");
        more += each.starts_with("sheet 2: 3/") && each.ends_with(" +5");
    }
    EXPECT_GT(from_mains, 0u);
    EXPECT_GT(more, 0u);
    const auto list = std::find_if(said.begin(), said.end(), [](const std::string &each) {
        return each.starts_with("sheet 6: 2/") && std::count(each.begin(), each.end(), ',') == 6;
    });
    EXPECT_NE(list, said.end()) << "the list names all seven";
}

TEST(References, OfAVeryLongWireNumberGiveItInFull) {
    const std::string name = "Works.North-building.Ground-floor.Line-7.Station-12.Motor-feed.L1"; // over 60 mm
    const Circuit circuit = one_stop_for_three(name);
    const Drawing drawing = draw(Description("test"), circuit, {});
    EXPECT_TRUE(netlist_faults(drawing, circuit).empty()) << "the data keep the name";
    EXPECT_TRUE(layout_faults(drawing).empty()) << listed_faults(layout_faults(drawing));
    std::set<std::string> shown;
    std::string list;
    for (const Sheet &sheet : drawing.sheets)
        for (const Primitive &primitive : sheet.primitives)
            if (const auto *text = std::get_if<Text>(&primitive)) {
                if (text->layer == Layer::net_names && text->text.starts_with("Works"))
                    shown.insert(text->text);
                if (sheet.title == "Cross-references")
                    list += text->text;
            }
    ASSERT_EQ(shown.size(), 1u);
    EXPECT_TRUE(shown.begin()->ends_with("... (1)"));
    EXPECT_NE(list.find("= " + name), std::string::npos);
}

TEST(SymbolsOfADrawing, AreEachUsedAndInOrder) {
    const Drawing drawing = draw(Description("test"), every_kind(), {});
    std::set<std::string> used;
    for (const Sheet &sheet : drawing.sheets)
        for (const Insert &insert : sheet.inserts)
            used.insert(insert.symbol);
    std::vector<std::string> names;
    for (const Symbol &symbol : drawing.symbols)
        names.push_back(symbol.name);
    EXPECT_EQ(names, std::vector<std::string>(used.begin(), used.end()));
}

} // namespace
} // namespace stopspan::test
