#pragma once

#include "stopspan/drawing.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// Letter heights of a sheet, millimetres (ISO 3098 nominal sizes).
inline constexpr double small_text_mm = 2.5, normal_text_mm = 3.5, title_text_mm = 5.0;
/// Base line to base line of small texts that stand below each other: 14/10 of the height (ISO 3098-1, lettering type B
/// without marks over the letters), so that tails of one do not reach the next.
inline constexpr double small_line_mm = 3.5;

/// Upright rectangle on a sheet, millimetres.
struct Box {
    double left = 0, bottom = 0, right = 0, top = 0;
    bool overlaps(const Box &other) const {
        return left < other.right && other.left < right && bottom < other.top && other.bottom < top;
    }
    bool within(const Box &outer) const {
        return left >= outer.left && right <= outer.right && bottom >= outer.bottom && top <= outer.top;
    }
    void include(const Box &other);
    void include(Point p);
};

/// Length of a line of text in a plain sans-serif letter, rather too long than too short: a sheet is laid out before
/// anybody knows which font will show it. Bytes of UTF-8 are counted as characters, not as bytes.
double text_width_mm(std::string_view text, double height_mm);
/// Rectangle a text covers, from below its descenders to the top of its capitals.
Box text_box(const Text &text);
/// The text, shortened with an ellipsis until it fits; unchanged when it does.
std::string fitted(std::string_view text, double height_mm, double width_mm);
/// The text in lines that fit, broken after spaces, hyphens and full stops, else anywhere; nothing is left out.
std::vector<std::string> wrapped(std::string_view text, double height_mm, double width_mm);

/// The height for a text of a given width: the usual one, or the small one where it would be too long.
double fitting_height_mm(std::string_view text, double width_mm);

/// Smallest multiple of the 2.5 mm grid that is not below the length.
double up_to_grid(double length_mm);
inline constexpr double grid_mm = 2.5;

} // namespace stopspan
