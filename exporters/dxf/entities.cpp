#include "entities.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan::dxf {
namespace {

constexpr double attribute_height_mm = 2.5;

// Where an attribute stands: at its connection point, or at the symbol's origin.
Point attribute_at(const Symbol &symbol, const std::string &tag) {
    for (const auto &[name, at] : symbol.connection_points)
        if (name == tag)
            return at;
    return {};
}

// Left end of a baseline whose middle or right end is given; for programs that read nothing else.
double estimated_width(const Text &text) {
    const auto characters = std::count_if(text.text.begin(), text.text.end(),
                                          [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; });
    return 0.75 * text.height_mm * static_cast<double>(characters);
}

} // namespace

std::string layer_name(Layer layer) {
    std::string name(to_text(layer));
    for (char &c : name)
        c = c == '-' ? '_' : static_cast<char>(c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c);
    return name;
}

void EntityWriter::write(const Primitive &primitive) {
    std::visit([&](const auto &each) { put(each); }, primitive);
}

void EntityWriter::linetype(bool dashed) {
    if (dashed)
        out_.word(6, dashed_linetype);
}

void EntityWriter::put(const Line &line) {
    out_.entity("LINE", owner_, layer_name(line.layer));
    linetype(line.dashed);
    const Point a = moved(line.a), b = moved(line.b);
    out_.subclass("AcDbLine").point(10, a.x_mm, a.y_mm).point(11, b.x_mm, b.y_mm);
}

void EntityWriter::put(const Polyline &line) {
    if (out_.version() == Version::r12)
        return put_with_vertices(line);
    out_.entity("LWPOLYLINE", owner_, layer_name(line.layer));
    linetype(line.dashed);
    out_.subclass("AcDbPolyline")
        .whole(90, static_cast<long long>(line.points.size()))
        .whole(70, line.closed ? 1 : 0)
        .real(43, 0);
    for (const Point each : line.points) {
        const Point p = moved(each);
        out_.real(10, p.x_mm).real(20, p.y_mm);
    }
}

void EntityWriter::put_with_vertices(const Polyline &line) {
    const std::string layer = layer_name(line.layer);
    out_.entity("POLYLINE", owner_, layer);
    linetype(line.dashed);
    out_.whole(66, 1).point(10, 0, 0).whole(70, line.closed ? 1 : 0);
    for (const Point each : line.points) {
        const Point p = moved(each);
        out_.entity("VERTEX", owner_, layer);
        out_.point(10, p.x_mm, p.y_mm);
    }
    out_.entity("SEQEND", owner_, layer);
}

void EntityWriter::put(const Circle &circle) {
    const Point c = moved(circle.centre);
    out_.entity("CIRCLE", owner_, layer_name(circle.layer));
    out_.subclass("AcDbCircle").point(10, c.x_mm, c.y_mm).real(40, circle.radius_mm);
    if (!circle.filled)
        return;
    const double r = circle.radius_mm * std::sqrt(0.5); // corners of the inscribed square, in the order SOLID wants
    out_.entity("SOLID", owner_, layer_name(circle.layer));
    out_.subclass("AcDbTrace")
        .point(10, c.x_mm - r, c.y_mm - r)
        .point(11, c.x_mm + r, c.y_mm - r)
        .point(12, c.x_mm - r, c.y_mm + r)
        .point(13, c.x_mm + r, c.y_mm + r);
}

void EntityWriter::put(const Arc &arc) {
    const Point c = moved(arc.centre);
    const auto turn = [](double degrees) { return std::fmod(std::fmod(degrees, 360) + 360, 360); };
    out_.entity("ARC", owner_, layer_name(arc.layer));
    out_.subclass("AcDbCircle")
        .point(10, c.x_mm, c.y_mm)
        .real(40, arc.radius_mm)
        .subclass("AcDbArc")
        .real(50, turn(arc.start_deg))
        .real(51, turn(arc.end_deg));
}

void EntityWriter::put(const Text &text) {
    const Point at = moved(text.at);
    Point start = at;
    const double back = text.align == Align::left     ? 0
                        : text.align == Align::centre ? estimated_width(text) / 2
                                                      : estimated_width(text);
    (text.upright ? start.y_mm : start.x_mm) -= back;
    out_.entity("TEXT", owner_, layer_name(text.layer));
    out_.subclass("AcDbText").point(10, start.x_mm, start.y_mm).real(40, text.height_mm).text(1, text.text);
    if (text.upright)
        out_.real(50, 90);
    out_.word(7, text_style);
    if (text.align != Align::left)
        out_.whole(72, text.align == Align::centre ? 1 : 2).point(11, at.x_mm, at.y_mm);
    out_.subclass("AcDbText");
}

void EntityWriter::attribute_definition(const Symbol &symbol, const std::string &tag) {
    const Point at = attribute_at(symbol, tag);
    out_.entity("ATTDEF", owner_, "0");
    out_.subclass("AcDbText")
        .point(10, at.x_mm, at.y_mm)
        .real(40, attribute_height_mm)
        .word(1, "")
        .word(7, text_style)
        .subclass("AcDbAttributeDefinition")
        .word(3, "")
        .word(2, tag)
        .whole(70, 1); // invisible: what is to be read stands beside as TEXT
}

void EntityWriter::write(const Insert &insert, const Symbol &symbol) {
    const Point at = moved(insert.at);
    const std::string layer = layer_name(insert.layer);
    const std::uint32_t own = out_.entity("INSERT", owner_, layer);
    out_.subclass("AcDbBlockReference");
    const bool attributes = !insert.attributes.empty();
    if (attributes)
        out_.whole(66, 1);
    out_.word(2, insert.symbol).point(10, at.x_mm, at.y_mm);
    if (!attributes)
        return;
    for (const std::string &tag : symbol.attributes) { // in the order of the block, those that have a value
        const auto value = insert.attributes.find(tag);
        if (value == insert.attributes.end())
            continue;
        const Point where = attribute_at(symbol, tag);
        out_.entity("ATTRIB", own, layer);
        out_.subclass("AcDbText")
            .point(10, at.x_mm + where.x_mm, at.y_mm + where.y_mm)
            .real(40, attribute_height_mm)
            .text(1, value->second)
            .word(7, text_style)
            .subclass("AcDbAttribute")
            .word(2, tag)
            .whole(70, 1);
    }
    out_.entity("SEQEND", own, layer);
}

} // namespace stopspan::dxf
