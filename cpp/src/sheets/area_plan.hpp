#pragma once

#include "sheets/plan_lists.hpp"

#include <optional>

namespace stopspan {

/// Part of an area's floor, metres.
using FloorPart = Box;
/// The rectangle around an area.
FloorPart floor_around(const Area &area);

/// How the plan of an area is drawn.
struct PlanStyle {
    bool whole_sheet = false;                ///< no list stands beside it
    const MachineNumbers *numbers = nullptr; ///< machines are called by number, for want of room for names
    int scale = 0;                           ///< 1:scale; 0: the largest usual one at which the part fits
};

/// A plan, and how much of it came out as it should not.
struct AreaPlan {
    SpecialSheet page;
    std::size_t crowded = 0;          ///< symbols over others, names without a place, lines from names over symbols
    std::vector<std::string> unnamed; ///< what had no room for its name
};

/// The largest usual scale at which so much floor fits. @param width_m, height_m  metres
int plan_scale(double width_m, double height_m, bool whole_sheet);
/// The next larger usual scale; 0 when there is none.
int larger_plan_scale(int scale);
/// How much floor a sheet shows at a scale: width and height, metres.
std::pair<double, double> floor_on_a_sheet(int scale);

/// Draws a part of an area with what stands there; stops and machines bear the letters of their reach.
/// @param note  a sentence to be written below it
AreaPlan draw_area_plan(const Description &description, AreaId area, const FloorPart &part, const PlanStyle &style,
                        const PlanReach &reach, const std::string &note);
/// An area as divided into parts, each shown on a sheet of its own.
AreaPlan draw_division(const Description &description, AreaId area, const std::vector<FloorPart> &parts);

} // namespace stopspan
