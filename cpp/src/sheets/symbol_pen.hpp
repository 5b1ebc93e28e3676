#pragma once

#include "sheets/symbols.hpp"

#include <initializer_list>

namespace stopspan {

/// Height of symbols with one terminal above and one below, and where the parts of a contact are.
inline constexpr double contact_height_mm = 12.5, contact_middle_mm = -6.25;
inline constexpr double fixed_contact_mm = -3.75, hinge_mm = -8.75;
/// Distance between neighbouring poles.
inline constexpr double pole_pitch_mm = 10;

/// Draws one symbol.
class SymbolPen {
public:
    explicit SymbolPen(std::string name, double height_mm = contact_height_mm);
    SymbolPen &line(Point a, Point b, bool dashed = false);
    SymbolPen &path(std::initializer_list<Point> points, bool closed = false);
    SymbolPen &box(double left, double bottom, double right, double top);
    SymbolPen &circle(Point centre, double radius_mm, bool filled = false);
    SymbolPen &arc(Point centre, double radius_mm, double start_deg, double end_deg);
    SymbolPen &text(Point middle_of_baseline, double height_mm, std::string text);
    /// A terminal at the top (y = 0) or the bottom of the symbol, and where its number stands relative to it.
    SymbolPen &terminal(double x_mm, bool upper, double number_dx_mm = 1);
    SymbolPen &point(std::string name, Point at);
    SymbolPen &designation(Point right_end);
    SymbolPen &rating(Point left_end);
    SymbolPen &reference(Point right_end);
    SymbolPen &attribute(std::string tag);
    /// Puts the finished symbol into the library.
    void into(SymbolLibrary &library);

private:
    SymbolShape shape_;
    bool empty_ = true;
    void cover(Point p);
};

} // namespace stopspan
