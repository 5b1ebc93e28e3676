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
