#pragma once

#include <array>
#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace stopspan {

/// Millimetres on the sheet, origin bottom left, y upwards.
struct Point {
    double x_mm = 0;
    double y_mm = 0;
    friend bool operator==(const Point &, const Point &) = default;
};

/// What a primitive belongs to; each is one layer in an output file.
enum class Layer { frame, title, symbols, wires, designations, terminals, net_names, plan, stops, references };
inline constexpr std::array all_layers{Layer::frame,        Layer::title,     Layer::symbols,   Layer::wires,
                                       Layer::designations, Layer::terminals, Layer::net_names, Layer::plan,
                                       Layer::stops,        Layer::references};
/// Inline, as everything an exporter needs: a plugin is not linked to the core.
constexpr std::string_view to_text(Layer layer) {
    constexpr std::array<std::string_view, all_layers.size()> names{
        "frame", "title", "symbols", "wires", "designations", "terminals", "net-names", "plan", "stops", "references"};
    return names[static_cast<std::size_t>(layer)];
}
/// Pen width of a layer in millimetres, of the series of ISO 128: 0.25, 0.35, 0.5, 0.7.
constexpr double pen_width_mm(Layer layer) {
    constexpr std::array<double, all_layers.size()> widths{0.5, 0.25, 0.35, 0.35, 0.25, 0.25, 0.25, 0.35, 0.35, 0.25};
    return widths[static_cast<std::size_t>(layer)];
}

struct Line {
    Point a, b;
    Layer layer;
    bool dashed = false;
    std::string net; /* wires: name of their net */
};
struct Polyline {
    std::vector<Point> points;
    bool closed = false;
    Layer layer;
    bool dashed = false;
};
struct Circle {
    Point centre;
    double radius_mm;
    Layer layer;
    bool filled = false;
};
struct Arc {
    Point centre;
    double radius_mm, start_deg, end_deg;
    Layer layer;
}; ///< counter-clockwise
enum class Align { left, centre, right };
/// One line of text; `at` is the left, middle or right end of its baseline.
struct Text {
    Point at;
    double height_mm;
    std::string text;
    Align align = Align::left;
    Layer layer;
    bool upright = false; /* turned 90 degrees */
};
using Primitive = std::variant<Line, Polyline, Circle, Arc, Text>;

/// A symbol drawn once and inserted many times: a block. A connection point is named after the attribute that says
/// what it is: point "TERMINAL_1" is the terminal whose number is the attribute TERMINAL_1; point "NET" lies on the
/// net named by the attribute NET.
struct Symbol {
    std::string name;             ///< "MAKE_CONTACT"
    std::vector<Primitive> shape; ///< around the origin
    std::vector<std::pair<std::string, Point>> connection_points;
    std::vector<std::string> attributes; ///< tags, "DESIGNATION", "TERMINAL_1" ...
};
/// A symbol placed on a sheet. Attribute values are data; what is to be read is also a Text.
struct Insert {
    std::string symbol;
    Point at;
    std::map<std::string, std::string> attributes;
    Layer layer = Layer::symbols;
};

/// One A3 sheet, landscape, 420 x 297 mm.
struct Sheet {
    std::string number; ///< "3"
    std::string title;
    std::vector<Primitive> primitives;
    std::vector<Insert> inserts;
};

/// A device of the circuit drawn, as its wiring table says; in words, so that an exporter needs nothing of the core.
struct WiredDevice {
    std::string designation, kind;                               ///< "K1", "contactor"
    std::vector<std::pair<std::string, std::string>> terminals;  ///< terminal and net, in the order of the circuit
    std::vector<std::pair<std::string, std::string>> parameters; ///< name and value as text, sorted by name
};

/// Everything an exporter sees.
struct Drawing {
    std::string name;
    std::vector<Symbol> symbols; ///< each used one once, sorted by name
    std::vector<Sheet> sheets;
    std::vector<WiredDevice> netlist; ///< the whole circuit, also when only some of its sheets are here
};

/// Sheet `index` alone. Symbols that it does not use do no harm. @pre index < drawing.sheets.size()
inline Drawing one_sheet(const Drawing &drawing, std::size_t index) {
    return {drawing.name, drawing.symbols, {drawing.sheets[index]}, drawing.netlist};
}

} // namespace stopspan
