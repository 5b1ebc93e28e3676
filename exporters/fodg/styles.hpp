#pragma once

#include "markup.hpp"

#include "stopspan/drawing.hpp"

#include <string>
#include <string_view>

namespace stopspan::fodg {

inline constexpr std::string_view page_style = "page", master_page = "Sheet", label_style = "label";

/// Styles of shapes, one for each layer: the pen, and for others a dashed pen or a filled face.
std::string shape_style(Layer layer, bool dashed = false, bool filled = false);
/// Style of a paragraph. Size and colour belong there: programs lose them on the frame around it.
std::string text_style(const Text &text);

/// Everything of the document before its pages: fonts, styles, the layers, the paper.
void write_styles(text_out::Markup &out, const Drawing &drawing);

/// "12.5mm"
inline std::string mm(double value) {
    return text_out::number(value) + "mm";
}

} // namespace stopspan::fodg
