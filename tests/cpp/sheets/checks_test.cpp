// The checks of this folder must find what they look for: each test spoils a good drawing in one way.
#include "circuits.hpp"
#include "drawing_checks.hpp"

#include "stopspan/sheets.hpp"

#include <gtest/gtest.h>

namespace stopspan::test {
namespace {

class SpoiltDrawing : public testing::Test {
protected:
    Circuit circuit = direct_on_line();
    Drawing drawing = draw(Description("test"), circuit, {});
    std::vector<Primitive> &primitives = drawing.sheets[1].primitives; // power and control circuit

    Line &wire(const std::string &net) {
        for (Primitive &primitive : primitives)
            if (auto *line = std::get_if<Line>(&primitive); line && line->net == net)
                return *line;
        throw std::runtime_error("no wire " + net);
    }
    Insert &insert(const std::string &designation) {
        for (Insert &each : drawing.sheets[1].inserts)
            if (each.attributes.contains("DESIGNATION") && each.attributes.at("DESIGNATION") == designation)
                return each;
        throw std::runtime_error("no insert " + designation);
    }
};

TEST_F(SpoiltDrawing, IsFoundWhenAWireIsMissing) {
    const Line gone = wire("c");
    std::erase_if(primitives, [&](const Primitive &each) {
        const auto *line = std::get_if<Line>(&each);
        return line && line->a == gone.a && line->b == gone.b;
    });
    EXPECT_FALSE(netlist_faults(drawing, circuit).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenAWireEndsBesideItsTerminal) {
    wire("c").a.x_mm += 2.5;
    EXPECT_FALSE(layout_faults(drawing).empty());
    EXPECT_FALSE(netlist_faults(drawing, circuit).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenTwoNetsTouch) {
    const Line b = wire("b"), c = wire("c");
    primitives.emplace_back(Line{b.b, c.a, Layer::wires, false, "b"});
    EXPECT_FALSE(layout_faults(drawing).empty());
    EXPECT_FALSE(netlist_faults(drawing, circuit).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenTerminalsAreSwapped) {
    Insert &contact = insert("ES1");
    std::swap(contact.attributes.at("TERMINAL_1"), contact.attributes.at("TERMINAL_2"));
    EXPECT_FALSE(netlist_faults(drawing, circuit).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenASymbolIsMissing) {
    std::erase_if(drawing.sheets[1].inserts, [](const Insert &each) {
        const auto found = each.attributes.find("DESIGNATION");
        return found != each.attributes.end() && found->second == "S1";
    });
    EXPECT_FALSE(netlist_faults(drawing, circuit).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenTextStandsOnText) {
    for (Primitive &primitive : primitives)
        if (auto *text = std::get_if<Text>(&primitive); text && text->text == "S1")
            text->at.y_mm -= 2;
    EXPECT_FALSE(layout_faults(drawing).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenASymbolStandsOnAWireOrOffTheSheet) {
    insert("S0").at = insert("S1").at;
    EXPECT_FALSE(layout_faults(drawing).empty());
    insert("S0").at = {500, 100};
    EXPECT_FALSE(layout_faults(drawing).empty());
}

TEST_F(SpoiltDrawing, IsFoundWhenAJunctionIsMissing) {
    std::erase_if(primitives, [](const Primitive &each) { return std::holds_alternative<Circle>(each); });
    EXPECT_FALSE(layout_faults(drawing).empty());
}

} // namespace
} // namespace stopspan::test
