#pragma once

#include "stopspan/description.hpp"

#include <string>

namespace stopspan {

/// How far a point may lie outside an outline and still count as on it, metres: coordinates are rounded decimals.
inline constexpr double outline_tolerance_m = 0.001;

/// @throws Error (bad_value, contradiction) unless `outline` is a polygon of at least three corners that neither
/// crosses nor touches itself. The closing side is implied: the first corner is not repeated.
void check_outline(const std::string &object, std::span<const Position> outline);
/// True if a point lies in an outline or on its border, within outline_tolerance_m.
bool is_inside(std::span<const Position> outline, Position at);
/// True if a point lies inside and further than outline_tolerance_m from the border.
bool is_well_inside(std::span<const Position> outline, Position at);
/// True if an outline lies in another one, within outline_tolerance_m; common borders are allowed.
bool is_inside(std::span<const Position> outer, std::span<const Position> inner);

} // namespace stopspan
