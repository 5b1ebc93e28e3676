#include "markup.hpp"
#include "sheet_look.hpp"

#include "stopspan/exporter.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stopspan::svg {
namespace {

using sheet_look::capital_share, sheet_look::colour_of;
using text_out::Markup;

// Sheets stand in one file below each other. y runs downwards there and upwards in a drawing.
constexpr double sheet_width_mm = sheet_look::width_mm, sheet_height_mm = sheet_look::height_mm, sheet_step_mm = 317;

std::string lower_case(std::string_view tag) {
    std::string name;
    for (const char c : tag)
        name += c == '_' ? '-' : static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    return name;
}

// Draws primitives with y turned over: y_out = top - y.
class Shapes {
public:
    Shapes(Markup &out, double top_mm) : out_(out), top_(top_mm) {}

    void write(const Primitive &primitive) {
        std::visit([&](const auto &each) { put(each); }, primitive);
    }
    double y(Point p) const { return top_ - p.y_mm; }

private:
    void put(const Line &line) {
        out_.open("line")
            .number("x1", line.a.x_mm)
            .number("y1", y(line.a))
            .number("x2", line.b.x_mm)
            .number("y2", y(line.b));
        dashes(line.dashed);
        if (!line.net.empty())
            out_.text("data-net", line.net);
        out_.close_empty();
    }

    void put(const Polyline &line) {
        out_.open(line.closed ? "polygon" : "polyline");
        std::string points;
        for (const Point p : line.points)
            points += (points.empty() ? "" : " ") + text_out::number(p.x_mm) + "," + text_out::number(y(p));
        out_.text("points", points);
        dashes(line.dashed);
        out_.close_empty();
    }

    void put(const Circle &circle) {
        out_.open("circle")
            .number("cx", circle.centre.x_mm)
            .number("cy", y(circle.centre))
            .number("r", circle.radius_mm);
        if (circle.filled)
            out_.text("fill", "#000000");
        out_.close_empty();
    }

    void put(const Arc &arc) {
        const auto on_circle = [&](double degrees) {
            const double radians = degrees * std::numbers::pi / 180;
            const Point p{arc.centre.x_mm + arc.radius_mm * std::cos(radians),
                          arc.centre.y_mm + arc.radius_mm * std::sin(radians)};
            return text_out::number(p.x_mm, 3) + " " + text_out::number(y(p), 3);
        };
        const double sweep = std::fmod(std::fmod(arc.end_deg - arc.start_deg, 360) + 360, 360);
        const std::string radius = text_out::number(arc.radius_mm);
        out_.open("path")
            .text("d", "M " + on_circle(arc.start_deg) + " A " + radius + " " + radius + " 0 " +
                           (sweep > 180 ? "1" : "0") + " 0 " + on_circle(arc.end_deg))
            .close_empty();
    }

    void put(const Text &text) {
        out_.open("text").number("x", text.at.x_mm).number("y", y(text.at));
        out_.text("font-size", text_out::number(text.height_mm / capital_share, 3));
        if (text.align != Align::left)
            out_.text("text-anchor", text.align == Align::centre ? "middle" : "end");
        if (text.upright)
            out_.text("transform",
                      "rotate(-90 " + text_out::number(text.at.x_mm) + " " + text_out::number(y(text.at)) + ")");
        out_.text("fill", colour_of(text.layer)).text("stroke", "none").content(text.text).close("text");
    }

    void dashes(bool dashed) {
        if (dashed)
            out_.text("stroke-dasharray", "1.25,0.75");
    }

    Markup &out_;
    double top_;
};

class Document {
public:
    Document(const Drawing &drawing, ByteSink &sink) : drawing_(drawing), out_(sink) {}

    void write() {
        const double height = sheet_step_mm * static_cast<double>(std::max<std::size_t>(drawing_.sheets.size(), 1)) -
                              (sheet_step_mm - sheet_height_mm);
        out_.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        out_.open("svg")
            .text("xmlns", "http://www.w3.org/2000/svg")
            .text("xmlns:xlink", "http://www.w3.org/1999/xlink")
            .text("xmlns:inkscape", "http://www.inkscape.org/namespaces/inkscape") // layer names of vector editors
            .text("version", "1.1")
            .text("width", text_out::number(sheet_width_mm) + "mm")
            .text("height", text_out::number(height) + "mm")
            .text("viewBox", "0 0 " + text_out::number(sheet_width_mm) + " " + text_out::number(height))
            .close_start();
        out_.open("title").content(drawing_.name.empty() ? "Drawing" : drawing_.name).close("title");
        symbols();
        for (std::size_t i = 0; i < drawing_.sheets.size(); ++i)
            sheet(drawing_.sheets[i], sheet_step_mm * static_cast<double>(i));
        out_.close("svg");
    }

private:
    void symbols() {
        out_.open("defs").close_start();
        for (const Symbol &symbol : drawing_.symbols) {
            out_.open("symbol").text("id", symbol.name).text("overflow", "visible");
            std::string points;
            for (const auto &[name, at] : symbol.connection_points)
                points += (points.empty() ? "" : " ") + name + "," + text_out::number(at.x_mm) + "," +
                          text_out::number(-at.y_mm + 0.0);
            if (!points.empty())
                out_.text("data-points", points);
            out_.close_start();
            Shapes shapes(out_, 0);
            for (const Primitive &primitive : symbol.shape)
                shapes.write(primitive);
            out_.close("symbol");
        }
        out_.close("defs");
    }

    void sheet(const Sheet &sheet, double top) {
        out_.open("g")
            .text("id", "sheet-" + sheet.number)
            .text("transform", "translate(0," + text_out::number(top) + ")")
            .text("font-family", "Arial, Liberation Sans, Helvetica, sans-serif")
            .text("stroke-linecap", "round")
            .text("stroke-linejoin", "round")
            .text("fill", "none")
            .close_start();
        out_.open("title").content(sheet.number + " " + sheet.title).close("title");
        out_.open("rect")
            .number("x", 0)
            .number("y", 0)
            .number("width", sheet_width_mm)
            .number("height", sheet_height_mm)
            .text("fill", "#ffffff")
            .close_empty();
        for (const Layer layer : all_layers)
            this->layer(sheet, layer);
        out_.close("g");
    }

    static Layer layer_of(const Primitive &primitive) {
        return std::visit([](const auto &each) { return each.layer; }, primitive);
    }

    void layer(const Sheet &sheet, Layer layer) {
        const bool empty = std::none_of(sheet.primitives.begin(), sheet.primitives.end(),
                                        [&](const Primitive &each) { return layer_of(each) == layer; }) &&
                           std::none_of(sheet.inserts.begin(), sheet.inserts.end(),
                                        [&](const Insert &each) { return each.layer == layer; });
        if (empty)
            return;
        const std::string name(to_text(layer));
        out_.open("g")
            .text("id", "sheet-" + sheet.number + "-" + name)
            .text("inkscape:groupmode", "layer")
            .text("inkscape:label", name)
            .text("stroke", colour_of(layer))
            .text("stroke-width", text_out::number(pen_width_mm(layer)))
            .close_start();
        Shapes shapes(out_, sheet_height_mm);
        for (const Primitive &primitive : sheet.primitives)
            if (layer_of(primitive) == layer)
                shapes.write(primitive);
        for (const Insert &insert : sheet.inserts)
            if (insert.layer == layer) {
                out_.open("use").text("xlink:href", "#" + insert.symbol).number("x", insert.at.x_mm);
                out_.number("y", shapes.y(insert.at));
                for (const auto &[tag, value] : insert.attributes)
                    out_.text("data-" + lower_case(tag), value);
                out_.close_empty();
            }
        out_.close("g");
    }

    const Drawing &drawing_;
    Markup out_;
};

constexpr std::array<std::string_view, 1> suffix{"svg"};

class SvgExporter final : public Exporter {
public:
    std::string_view name() const noexcept override { return "svg"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing, out).write(); }
};

} // namespace
} // namespace stopspan::svg

STOPSPAN_EXPORTERS(stopspan::svg::SvgExporter)
