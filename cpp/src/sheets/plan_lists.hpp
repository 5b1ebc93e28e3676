#pragma once

#include "sheets/plan_reach.hpp"
#include "sheets/row_plan.hpp"
#include "sheets/special_sheets.hpp"

#include <functional>
#include <map>
#include <string>
#include <vector>

namespace stopspan {

/// Where the list beside a plan begins.
inline constexpr double plan_list_width_mm = 120, plan_list_left_mm = content_right_mm - plan_list_width_mm;

/// Numbers by which a crowded plan calls its machines.
using MachineNumbers = std::map<std::string, int, std::less<>>;

/// Rows of lists that run down a column, on to the next column and to further sheets.
class ListFlow {
public:
    /// Writes a heading whose left end is at `x`, below `top`; returns where the rows begin.
    using Heading = std::function<double(Sheet &sheet, double x, double top)>;

    /// @param title  of sheets to come, all of document type "Plan"
    ListFlow(std::vector<SpecialSheet> &sheets, std::string title) : sheets_(sheets), title_(std::move(title)) {}
    /// Begins in the right-hand column of the last sheet, beside a plan.
    void begin_beside_plan(Heading heading);
    /// Begins in a column of its own.
    void begin(Heading heading);
    /// Begins below the list before, where there is room.
    void begin_below(Heading heading);
    /// The next row.
    struct Row {
        Sheet &sheet;
        double x_mm, y_mm;
    };
    Row row();

private:
    void next_column();
    std::vector<SpecialSheet> &sheets_;
    std::string title_;
    Heading heading_;
    std::size_t column_ = 0;
    bool own_sheet_ = false; ///< the last sheet is one of lists
    double x_ = 0, y_ = 0;
};

/// Which machines each stop device cuts, as a list.
class ReachList {
public:
    ReachList(const Description &description, const PlanReach &reach) : description_(description), reach_(reach) {}
    /// The stops of one area. @param numbers  machines to be called by number; may be empty
    void write(AreaId area, const MachineNumbers &numbers, ListFlow &flow, bool beside_plan) const;

private:
    double heading(Sheet &sheet, double x, double top) const;
    std::vector<std::string> lines_of(const StopDevice &stop, const MachineNumbers &numbers) const;

    const Description &description_;
    const PlanReach &reach_;
};

/// Number, name and isolator of the machines of an area.
void write_machine_list(const Description &description, AreaId area, const MachineNumbers &numbers, ListFlow &flow);
/// The way from each machine and exit of an area to the nearest stop that cuts, below the list before.
void write_walks(const Description &description, AreaId area, const std::vector<Walk> &walks, ListFlow &flow);
/// What a plan had no room to name, if anything.
void write_unnamed(const std::vector<std::string> &names, ListFlow &flow);

} // namespace stopspan
