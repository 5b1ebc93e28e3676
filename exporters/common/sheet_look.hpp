#pragma once

#include "stopspan/drawing.hpp"

#include <string_view>

/// What the formats for reading on a screen or paper have in common.
namespace stopspan::sheet_look {

inline constexpr double width_mm = 420, height_mm = 297;
/// Height of capitals as a share of the font size of common sans-serif fonts.
inline constexpr double capital_share = 0.716;

constexpr std::string_view colour_of(Layer layer) {
    switch (layer) {
    case Layer::net_names:
        return "#1f3f8f";
    case Layer::references:
        return "#555555";
    case Layer::stops:
        return "#a01818";
    default:
        return "#000000";
    }
}

} // namespace stopspan::sheet_look
