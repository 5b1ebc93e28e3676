#include "sheets/text_metrics.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan {
namespace {

// Advance of a character as a share of the height of capitals: common sans-serif fonts, rounded up.
constexpr double advance_of(unsigned char c) {
    switch (c) {
    case 'i':
    case 'j':
    case 'l':
    case '.':
    case ',':
    case ':':
    case ';':
    case '\'':
    case '|':
        return 0.42;
    case 'I':
    case 'f':
    case 't':
    case 'r':
    case ' ':
    case '/':
    case '(':
    case ')':
    case '-':
        return 0.55;
    case 'm':
    case 'M':
        return 1.25;
    case 'W':
    case '%':
        return 1.40;
    case 'w':
        return 1.10;
    default:
        if (c >= 0x80)
            return 1.10;
        return c >= 'A' && c <= 'Z' ? 1.05 : 0.85;
    }
}

constexpr std::array<double, 256> advances = [] {
    std::array<double, 256> all{};
    for (std::size_t c = 0; c < all.size(); ++c)
        all[c] = advance_of(static_cast<unsigned char>(c));
    return all;
}();

// How far a character reaches below the line as a share of the height of capitals: those of Helvetica (its published
// metrics: a "g" 220 of 718), rounded up. A letter of another script may have a mark below.
double tail(unsigned char c) {
    switch (c) {
    case '/':
    case 'Q':
        return 0.10;
    case ',':
    case ';':
    case '_':
        return 0.22;
    default:
        return c >= 0x80 || std::string_view("gjpqy|()[]{}").find(static_cast<char>(c)) != std::string_view::npos ? 0.32
                                                                                                                  : 0;
    }
}

bool is_continuation(unsigned char c) {
    return (c & 0xC0) == 0x80;
}

} // namespace

void Box::include(const Box &other) {
    left = std::min(left, other.left);
    bottom = std::min(bottom, other.bottom);
    right = std::max(right, other.right);
    top = std::max(top, other.top);
}

void Box::include(Point p) {
    include(Box{p.x_mm, p.y_mm, p.x_mm, p.y_mm});
}

double text_width_mm(std::string_view text, double height_mm) {
    double width = 0;
    for (const char c : text)
        if (!is_continuation(static_cast<unsigned char>(c)))
            width += advances[static_cast<unsigned char>(c)];
    return width * height_mm;
}

Box text_box(const Text &text) {
    const double width = text_width_mm(text.text, text.height_mm);
    double below = 0;
    for (const char c : text.text)
        below = std::max(below, tail(static_cast<unsigned char>(c)) * text.height_mm);
    const double start = text.align == Align::left ? 0 : text.align == Align::centre ? -width / 2 : -width;
    if (text.upright)
        return {text.at.x_mm - text.height_mm, text.at.y_mm + start, text.at.x_mm + below,
                text.at.y_mm + start + width};
    return {text.at.x_mm + start, text.at.y_mm - below, text.at.x_mm + start + width, text.at.y_mm + text.height_mm};
}

std::string fitted(std::string_view text, double height_mm, double width_mm) {
    std::string shown(text);
    if (text_width_mm(shown, height_mm) <= width_mm)
        return shown;
    while (!shown.empty() && text_width_mm(shown + "...", height_mm) > width_mm) {
        while (!shown.empty() && is_continuation(static_cast<unsigned char>(shown.back())))
            shown.pop_back();
        if (!shown.empty())
            shown.pop_back();
    }
    return shown + "...";
}

std::vector<std::string> wrapped(std::string_view text, double height_mm, double width_mm) {
    std::vector<std::string> lines{""};
    width_mm += 1e-9; // the same letters, added up in another order, are as wide
    if (!text.ends_with(' ') && text_width_mm(text, height_mm) <= width_mm)
        return {std::string(text)};
    std::size_t at = 0, breakable = 0; // where the line may end, in its bytes; 0: nowhere yet
    while (at < text.size()) {
        std::size_t next = at + 1;
        while (next < text.size() && is_continuation(static_cast<unsigned char>(text[next])))
            ++next;
        std::string &line = lines.back();
        if (!line.empty() && text[at] != ' ' &&
            text_width_mm(line, height_mm) + text_width_mm(text.substr(at, next - at), height_mm) > width_mm) {
            std::string rest = breakable ? line.substr(breakable) : "";
            if (breakable)
                line.resize(breakable);
            lines.push_back(std::move(rest));
            breakable = 0;
            continue;
        }
        line += text.substr(at, next - at);
        if (text[at] == ' ' || text[at] == '-' || text[at] == '.')
            breakable = line.size();
        at = next;
    }
    for (std::string &line : lines)
        while (!line.empty() && line.back() == ' ')
            line.pop_back();
    return lines;
}

double fitting_height_mm(std::string_view text, double width_mm) {
    return text_width_mm(text, normal_text_mm) <= width_mm ? normal_text_mm : small_text_mm;
}

double up_to_grid(double length_mm) {
    return std::ceil(length_mm / grid_mm - 1e-9) * grid_mm;
}

} // namespace stopspan
