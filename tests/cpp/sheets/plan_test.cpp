#include "drawing_checks.hpp"

#include "stopspan/sheets.hpp"

#include <algorithm>
#include <gtest/gtest.h>

namespace stopspan::test {
namespace {

// A hall of 20 m by 10 m with a room in it, three machines, and stops close to each other.
Description hall() {
    Description d("Boat shed");
    d.title_block = {"Example yard", "Boat shed", "BS-1", "A", "2024-05-01", "A. Writer", "B. Reader", "en"};
    const SupplyId supply = d.add(Supply{.name = "G1"});
    const AreaId area = d.add(Area{.name = "Hall",
                                   .within = {},
                                   .floor = "ground floor",
                                   .outline = {{0, 0}, {20, 0}, {20, 10}, {0, 10}},
                                   .exits = {{"Gate", {20, 5}}},
                                   .board = {},
                                   .isolator = "Q9",
                                   .isolator_at = {1, 0.5}});
    const AreaId room = d.add(Area{.name = "Paint room",
                                   .within = area,
                                   .floor = "",
                                   .outline = {{14, 6}, {20, 6}, {20, 10}, {14, 10}},
                                   .exits = {},
                                   .board = {},
                                   .isolator = "",
                                   .isolator_at = {}});
    const BoardId board = d.add(
        Board{.name = "B1", .supply = supply, .fed_from = {}, .area = area, .at = Position{0.5, 9}, .isolator = "Q0"});
    const auto machine = [&](const char *name, Position at, AreaId where) {
        return d.add(Machine{.name = name,
                             .area = where,
                             .board = board,
                             .at = at,
                             .motors = {{std::string(name) + ".M", 1.5, 400}},
                             .isolator = "",
                             .run_down_s = {},
                             .run_down_without_supply_s = {}});
    };
    machine("Saw", {4, 4}, area);
    const MachineId planer = machine("Planer", {5, 4}, area);
    machine("Sander", {16, 8}, room);
    for (int i = 0; i < 6; ++i)
        d.add(StopDevice{.name = "ES" + std::to_string(i + 1),
                         .area = area,
                         .machine = i == 1 ? std::optional(planer) : std::nullopt,
                         .place = i == 1 ? Place::machine : Place::wall,
                         .at = Position{4 + 0.2 * i, 4.3},
                         .contact_blocks = {}});
    return d;
}

Verdict verdict() {
    Verdict v;
    for (int i = 0; i < 6; ++i)
        for (const char *machine : {"Saw", "Planer", "Sander"})
            v.matrix.push_back({"ES" + std::to_string(i + 1),
                                machine,
                                Asked::cut,
                                i == 5   ? Found::spares
                                : i == 4 ? Found::maybe
                                         : Found::cuts,
                                {}});
    return v;
}

const Sheet &sheet_titled(const Drawing &drawing, const std::string &title) {
    for (const Sheet &sheet : drawing.sheets)
        if (sheet.title == title)
            return sheet;
    throw std::runtime_error("no sheet " + title);
}

std::vector<Point> symbols_at(const Sheet &sheet, const std::string &symbol, const std::string &name) {
    std::vector<Point> points;
    for (const Insert &insert : sheet.inserts)
        if (insert.symbol == symbol && insert.attributes.at("NAME") == name)
            points.push_back(insert.at);
    return points;
}

bool says(const Sheet &sheet, const std::string &words) {
    return std::any_of(sheet.primitives.begin(), sheet.primitives.end(), [&](const Primitive &primitive) {
        const auto *text = std::get_if<Text>(&primitive);
        return text && text->text == words;
    });
}

TEST(Plan, IsToScaleAndSaysSo) {
    const Drawing drawing = draw(hall(), Circuit(), verdict());
    const Sheet &plan = sheet_titled(drawing, "Plan: Hall, ground floor");
    // 20 m in 250 mm less margins: 1:100 is the largest usual scale, so the two saws' metre is 10 mm.
    ASSERT_TRUE(says(plan, "1:100"));
    const auto saw = symbols_at(plan, "PLAN_MACHINE", "Saw"), planer = symbols_at(plan, "PLAN_MACHINE", "Planer");
    ASSERT_EQ(saw.size(), 1u);
    EXPECT_NEAR(planer[0].x_mm - saw[0].x_mm, 10, 0.02);
    EXPECT_NEAR(symbols_at(plan, "PLAN_EXIT", "Gate")[0].x_mm - saw[0].x_mm, 160, 0.02);
    EXPECT_NEAR(symbols_at(plan, "PLAN_ISOLATOR", "Q9")[0].y_mm - saw[0].y_mm, -35, 0.02);
}

TEST(Plan, NamesEveryThingInItsAreaAndWhatEachStopCuts) {
    const Drawing drawing = draw(hall(), Circuit(), verdict());
    const Sheet &plan = sheet_titled(drawing, "Plan: Hall, ground floor");
    for (const char *words :
         {"Saw [A]", "Planer [A]", "ES1 [A]", "ES2 [A]", "ES6", "Q9", "Gate", "B1 (Q0)", "Paint room"})
        EXPECT_TRUE(says(plan, words)) << words;
    EXPECT_FALSE(says(plan, "Sander [A]")) << "it stands in the inner area, which has its own plan";
    EXPECT_TRUE(says(plan, "Saw, Planer, Sander"));
    EXPECT_TRUE(says(sheet_titled(drawing, "Plan: Paint room"), "Sander [A]"));
}

TEST(Plan, ShowsNorthWhereItIsKnown) {
    EXPECT_FALSE(says(sheet_titled(draw(hall(), Circuit(), verdict()), "Plan: Hall, ground floor"), "N"));
    for (const double north_deg : {0.0, 90.0, 200.0}) {
        Description turned = hall();
        turned.set_north(north_deg);
        const Drawing drawing = draw(turned, Circuit(), verdict());
        EXPECT_TRUE(says(sheet_titled(drawing, "Plan: Hall, ground floor"), "N"));
        const auto faults = layout_faults(drawing);
        EXPECT_TRUE(faults.empty()) << faults.front();
    }
}

TEST(Plan, HasNoOverlaps) {
    const auto faults = layout_faults(draw(hall(), Circuit(), verdict()));
    EXPECT_TRUE(faults.empty()) << faults.front() << " and " << faults.size() - 1 << " more";
}

TEST(Matrix, ShowsAskedOverFoundAndMarksWhatDiffers) {
    const Drawing drawing = draw(hall(), Circuit(), verdict());
    const Sheet &matrix = sheet_titled(drawing, "Stop matrix");
    EXPECT_TRUE(says(matrix, "cut"));
    EXPECT_TRUE(says(matrix, "cuts"));
    EXPECT_TRUE(says(matrix, "spares !"));
    EXPECT_TRUE(says(matrix, "maybe !"));
}

TEST(Matrix, LeavesOutPagesOnWhichNothingIsAskedOrCut) {
    Verdict v;
    for (int s = 0; s < 60; ++s)
        for (int m = 0; m < 60; ++m)
            v.matrix.push_back({"ES" + std::to_string(s),
                                "M" + std::to_string(m),
                                s == m ? Asked::cut : Asked::free,
                                s == m ? Found::cuts : Found::spares,
                                {}});
    const Drawing drawing = draw(Description("test"), Circuit(), v);
    const auto pages = std::count_if(drawing.sheets.begin(), drawing.sheets.end(),
                                     [](const Sheet &sheet) { return sheet.title.starts_with("Stop matrix"); });
    EXPECT_LT(pages, 16); // 4 x 4 pages would hold them all
    EXPECT_GE(pages, 4);
    EXPECT_TRUE(layout_faults(drawing).empty());
}

} // namespace
} // namespace stopspan::test
