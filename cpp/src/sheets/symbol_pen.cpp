#include "sheets/symbol_pen.hpp"

namespace stopspan {

SymbolPen::SymbolPen(std::string name, double height_mm) {
    shape_.symbol.name = std::move(name);
    shape_.height_mm = height_mm;
    shape_.designation_at = {-3.5, -3.25};
    shape_.rating_at = {3.5, -7.5};
    shape_.reference_at = {-3.5, -height_mm + 0.75};
}

void SymbolPen::cover(Point p) {
    if (empty_)
        shape_.extent = {p.x_mm, p.y_mm, p.x_mm, p.y_mm};
    shape_.extent.include(p);
    empty_ = false;
}

SymbolPen &SymbolPen::line(Point a, Point b, bool dashed) {
    cover(a);
    cover(b);
    shape_.symbol.shape.emplace_back(Line{a, b, Layer::symbols, dashed, {}});
    return *this;
}

SymbolPen &SymbolPen::path(std::initializer_list<Point> points, bool closed) {
    for (const Point p : points)
        cover(p);
    shape_.symbol.shape.emplace_back(Polyline{points, closed, Layer::symbols});
    return *this;
}

SymbolPen &SymbolPen::box(double left, double bottom, double right, double top) {
    return path({{left, bottom}, {right, bottom}, {right, top}, {left, top}}, true);
}

SymbolPen &SymbolPen::circle(Point centre, double radius_mm, bool filled) {
    cover({centre.x_mm - radius_mm, centre.y_mm - radius_mm});
    cover({centre.x_mm + radius_mm, centre.y_mm + radius_mm});
    shape_.symbol.shape.emplace_back(Circle{centre, radius_mm, Layer::symbols, filled});
    return *this;
}

SymbolPen &SymbolPen::arc(Point centre, double radius_mm, double start_deg, double end_deg) {
    cover({centre.x_mm - radius_mm, centre.y_mm - radius_mm});
    cover({centre.x_mm + radius_mm, centre.y_mm + radius_mm});
    shape_.symbol.shape.emplace_back(Arc{centre, radius_mm, start_deg, end_deg, Layer::symbols});
    return *this;
}

SymbolPen &SymbolPen::text(Point middle_of_baseline, double height_mm, std::string text) {
    shape_.symbol.shape.emplace_back(
        Text{middle_of_baseline, height_mm, std::move(text), Align::centre, Layer::symbols});
    return *this;
}

SymbolPen &SymbolPen::terminal(double x_mm, bool upper, double number_dx_mm) {
    const double y = upper ? 0 : -shape_.height_mm;
    point("TERMINAL_" + std::to_string(shape_.symbol.connection_points.size() + 1), {x_mm, y});
    shape_.terminal_at.push_back({x_mm + number_dx_mm, upper ? -2.75 : y + 0.25});
    return *this;
}

SymbolPen &SymbolPen::point(std::string name, Point at) {
    cover(at);
    shape_.symbol.connection_points.emplace_back(std::move(name), at);
    return *this;
}

SymbolPen &SymbolPen::designation(Point right_end) {
    shape_.designation_at = right_end;
    return *this;
}

SymbolPen &SymbolPen::rating(Point left_end) {
    shape_.rating_at = left_end;
    return *this;
}

SymbolPen &SymbolPen::reference(Point right_end) {
    shape_.reference_at = right_end;
    return *this;
}

SymbolPen &SymbolPen::attribute(std::string tag) {
    shape_.symbol.attributes.push_back(std::move(tag));
    return *this;
}

void SymbolPen::into(SymbolLibrary &library) {
    auto &attributes = shape_.symbol.attributes;
    if (attributes.empty())
        attributes = {"DESIGNATION", "KIND", "RATING"};
    for (const auto &[name, at] : shape_.symbol.connection_points)
        attributes.push_back(name);
    for (std::size_t i = 0; i < shape_.terminal_at.size(); ++i)
        attributes.push_back("STRIP_" + std::to_string(i + 1));
    std::string name = shape_.symbol.name;
    library.emplace(std::move(name), std::move(shape_));
}

} // namespace stopspan
