// What the exporters write, from a drawing with one primitive of each kind. Expected values are the drawing's own
// figures put through the rules of the formats: DXF group codes, SVG with y downwards.
#include "stopspan/exporter.hpp"

#include <gtest/gtest.h>
#include <map>
#include <sstream>

namespace stopspan::test {
namespace {

std::string written(const Drawing &drawing, const std::string &format) {
    ExporterRegistry registry;
    const auto problems = registry.load_folder(STOPSPAN_EXPORTER_DIR);
    EXPECT_TRUE(problems.empty()) << problems.front();
    return exported(registry.find(format), drawing);
}

Drawing one_of_each() {
    Drawing drawing;
    drawing.name = "A & B";
    Symbol symbol{
        "LAMP", {}, {{"TERMINAL_1", {0, 0}}, {"TERMINAL_2", {0, -12.5}}}, {"DESIGNATION", "TERMINAL_1", "TERMINAL_2"}};
    symbol.shape.emplace_back(Circle{{0, -6.25}, 2.5, Layer::symbols});
    drawing.symbols.push_back(symbol);
    Sheet sheet{"1", "One", {}, {}};
    sheet.primitives.emplace_back(Line{{10, 20}, {30, 20}, Layer::wires, false, "n<1>"});
    sheet.primitives.emplace_back(Polyline{{{1, 2}, {3, 4}, {5, 2}}, true, Layer::plan, true});
    sheet.primitives.emplace_back(Arc{{50, 60}, 5, -90, 90, Layer::symbols});
    sheet.primitives.emplace_back(Circle{{30, 20}, 0.6, Layer::wires, true});
    sheet.primitives.emplace_back(Text{{100, 200}, 2.5, "5 \u03A9", Align::right, Layer::designations, true});
    sheet.inserts.push_back({"LAMP", {40, 50}, {{"DESIGNATION", "P1"}, {"TERMINAL_1", "1"}, {"TERMINAL_2", "2"}}});
    drawing.sheets.push_back(sheet);
    return drawing;
}

using Entity = std::multimap<int, std::string>;

// Entities of the ENTITIES section as group codes and values.
std::vector<std::pair<std::string, Entity>> entities_of(const std::string &dxf) {
    std::istringstream lines(dxf);
    std::vector<std::pair<std::string, Entity>> entities;
    std::string code, value;
    bool inside = false;
    while (std::getline(lines, code) && std::getline(lines, value)) {
        const int group = std::stoi(code);
        if (group == 2 && value == "ENTITIES")
            inside = true;
        else if (group == 0 && value == "ENDSEC")
            inside = false;
        else if (inside && group == 0)
            entities.emplace_back(value, Entity{});
        else if (inside && !entities.empty())
            entities.back().second.emplace(group, value);
    }
    return entities;
}

const Entity &entity(const std::vector<std::pair<std::string, Entity>> &all, const std::string &type) {
    for (const auto &[name, groups] : all)
        if (name == type)
            return groups;
    throw std::runtime_error("no " + type);
}

std::string value(const Entity &entity, int code) {
    const auto found = entity.find(code);
    return found == entity.end() ? "" : found->second;
}

TEST(DxfExporter, WritesEachPrimitiveWithItsFigures) {
    const auto all = entities_of(written(one_of_each(), "dxf"));
    const Entity &line = entity(all, "LINE");
    EXPECT_EQ(value(line, 8), "WIRES");
    EXPECT_EQ(value(line, 10) + " " + value(line, 20) + " " + value(line, 11) + " " + value(line, 21),
              "10.0 20.0 30.0 20.0");
    const Entity &path = entity(all, "LWPOLYLINE");
    EXPECT_EQ(value(path, 90), "3");
    EXPECT_EQ(value(path, 70), "1");
    EXPECT_EQ(value(path, 6), "DASHED");
    const Entity &arc = entity(all, "ARC");
    EXPECT_EQ(value(arc, 50) + " " + value(arc, 51), "270.0 90.0") << "angles from 0 to 360, counter-clockwise";
    EXPECT_EQ(value(entity(all, "CIRCLE"), 40), "0.6");
    EXPECT_EQ(value(entity(all, "SOLID"), 8), "WIRES");
    const Entity &text = entity(all, "TEXT");
    EXPECT_EQ(value(text, 1), "5 \\U+03A9");
    EXPECT_EQ(value(text, 50), "90.0");
    EXPECT_EQ(value(text, 72), "2");
    EXPECT_EQ(value(text, 11) + " " + value(text, 21), "100.0 200.0");
    // Estimated left end for readers that know no alignment: 3 characters of 0.75 x 2.5 mm below.
    EXPECT_EQ(value(text, 10) + " " + value(text, 20), "100.0 194.375");
}

TEST(DxfExporter, WritesNothingIntoR12ThatCameLater) {
    const std::string dxf = written(one_of_each(), "dxf-r12");
    const auto all = entities_of(dxf);
    for (const auto &[name, groups] : all)
        for (const int later : {100, 330, 370})
            EXPECT_EQ(groups.count(later), 0u) << name << " has " << later;
    std::vector<std::string> points;
    for (const auto &[name, groups] : all)
        if (name == "VERTEX")
            points.push_back(value(groups, 10) + " " + value(groups, 20));
    EXPECT_EQ(points, (std::vector<std::string>{"1.0 2.0", "3.0 4.0", "5.0 2.0"}));
    EXPECT_EQ(value(entity(all, "POLYLINE"), 70), "1");
    EXPECT_EQ(value(entity(all, "POLYLINE"), 66), "1") << "vertices follow";
    for (const char *later : {"CLASSES", "OBJECTS", "BLOCK_RECORD", "LWPOLYLINE", "VIEWPORT", "LAYOUT"})
        EXPECT_EQ(dxf.find("\n" + std::string(later) + "\n"), std::string::npos) << later;
}

TEST(DxfExporter, WritesAttributesOfAnInsertAtItsConnectionPoints) {
    const auto all = entities_of(written(one_of_each(), "dxf"));
    std::map<std::string, std::string> found;
    for (const auto &[name, groups] : all)
        if (name == "ATTRIB")
            found[value(groups, 2)] =
                value(groups, 1) + " at " + value(groups, 10) + " " + value(groups, 20) + " flags " + value(groups, 70);
    EXPECT_EQ(found, (std::map<std::string, std::string>{{"DESIGNATION", "P1 at 40.0 50.0 flags 1"},
                                                         {"TERMINAL_1", "1 at 40.0 50.0 flags 1"},
                                                         {"TERMINAL_2", "2 at 40.0 37.5 flags 1"}}));
}

TEST(DxfExporter, KeepsCodesAndLineEndsOfTheFormatOutOfNames) {
    Drawing drawing = one_of_each();
    drawing.sheets[0].primitives.emplace_back(Text{
        {0, 0}, 2.5, "\xFF 100%%d ^J \\U+0041\n\xC2\x85\xC3\xBC\xF0\x9F\x94\x8C", Align::left, Layer::designations});
    // Not UTF-8: the replacement character. A next line (U+0085) ends a line for some readers. The plug is U+1F50C,
    // D83D DD0C in UTF-16.
    for (const auto &[format, said] :
         {std::pair<std::string, std::string>{
              "dxf-r2007", "\xEF\xBF\xBD 100\\U+0025%d \\U+005EJ \\U+005CU+0041  \xC3\xBC\xF0\x9F\x94\x8C"},
          {"dxf", "\\U+FFFD 100\\U+0025%d \\U+005EJ \\U+005CU+0041  \\U+00FC\\U+D83D\\U+DD0C"},
          {"dxf-r12", "\\U+FFFD 100\\U+0025%d \\U+005EJ \\U+005CU+0041  \\U+00FC\\U+D83D\\U+DD0C"}}) {
        const std::string dxf = written(drawing, format);
        for (const char c : dxf)
            ASSERT_TRUE(c == '\n' || (static_cast<unsigned char>(c) >= ' ' && (format == "dxf-r2007" || c > 0)));
        EXPECT_NE(dxf.find("\n" + said + "\n"), std::string::npos) << format;
    }
}

TEST(SvgExporter, WritesEachPrimitiveWithYDownwards) {
    const std::string svg = written(one_of_each(), "svg");
    const std::vector<std::string> lines{
        R"(<line x1="10" y1="277" x2="30" y2="277" data-net="n&lt;1&gt;"/>)",
        R"(<polygon points="1,295 3,293 5,295" stroke-dasharray="1.25,0.75"/>)",
        R"(<path d="M 50 242 A 5 5 0 0 0 50 232"/>)",
        R"(<circle cx="30" cy="277" r="0.6" fill="#000000"/>)",
        R"q(text-anchor="end" transform="rotate(-90 100 97)" fill="#000000" stroke="none">)q",
        ">5 \u03A9</text>",
        R"(<symbol id="LAMP" overflow="visible" data-points="TERMINAL_1,0,0 TERMINAL_2,0,12.5">)",
        R"(<use xlink:href="#LAMP" x="40" y="247" data-designation="P1" data-terminal-1="1" data-terminal-2="2"/>)",
        R"(<title>A &amp; B</title>)",
    };
    for (const std::string &line : lines)
        EXPECT_NE(svg.find(line), std::string::npos) << line;
}

TEST(FodgExporter, WritesEachPrimitiveWithYDownwards) {
    const std::string fodg = written(one_of_each(), "fodg");
    const std::vector<std::string> lines{
        R"(draw:layer="wires" svg:x1="10mm" svg:y1="277mm" svg:x2="30mm" svg:y2="277mm"/>)",
        R"(svg:x="1mm" svg:y="293mm" svg:width="4mm" svg:height="2mm" svg:viewBox="0 0 4000 2000" draw:points="0,2000 2000,0 4000,2000"/>)",
        R"(svg:x="45mm" svg:y="232mm" svg:width="10mm" svg:height="10mm" draw:kind="arc" draw:start-angle="-90" draw:end-angle="90"/>)",
        R"(<draw:circle draw:style-name="wires-filled" draw:layer="wires" svg:x="29.4mm" svg:y="276.4mm" svg:width="1.2mm" svg:height="1.2mm"/>)",
        // The lamp of the block, at (40, 50 - 6.25) and drawn from its upper left corner.
        R"(svg:x="37.5mm" svg:y="250.75mm" svg:width="5mm" svg:height="5mm"/>)",
        "<svg:title>P1</svg:title>",
        ">5 \u03A9</text:p>",
        R"(<dc:title>A &amp; B</dc:title>)",
    };
    for (const std::string &line : lines)
        EXPECT_NE(fodg.find(line), std::string::npos) << line;
}

TEST(GraphmlExporter, WritesDevicesNetsAndTerminals) {
    Drawing drawing;
    drawing.netlist.push_back({"P1", "lamp", {{"1", "a<b"}, {"2", "N"}}, {{"voltage_v", "24"}}});
    const std::string graph = written(drawing, "graphml");
    const std::vector<std::string> lines{
        R"(<key id="p0" for="node" attr.name="voltage_v" attr.type="string"/>)",
        "<data key=\"label\">P1</data>\n<data key=\"kind\">lamp</data>\n<data key=\"p0\">24</data>\n</node>",
        "<data key=\"what\">net</data>\n<data key=\"label\">a&lt;b</data>",
        "<edge id=\"e1\" source=\"d0\" target=\"n1\">\n<data key=\"terminal\">2</data>\n</edge>",
    };
    for (const std::string &line : lines)
        EXPECT_NE(graph.find(line), std::string::npos) << line;
}

TEST(Exporters, GiveAWholeFileForADrawingWithoutSheets) {
    for (const char *format : {"dxf", "dxf-r2007", "dxf-r12"})
        EXPECT_TRUE(written(Drawing{}, format).ends_with("  0\nEOF\n")) << format;
    EXPECT_TRUE(written(Drawing{}, "fodg").ends_with("</office:document>\n"));
    EXPECT_TRUE(written(Drawing{}, "graphml").ends_with("</graphml>\n"));
    EXPECT_TRUE(written(Drawing{}, "svg").ends_with("</svg>\n"));
}

} // namespace
} // namespace stopspan::test
