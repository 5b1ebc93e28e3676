#pragma once

#include "sheets/text_metrics.hpp"

#include <optional>
#include <vector>

namespace stopspan {

/// True when the segment passes through the box.
bool crosses(const Box &box, Point a, Point b);

/// Finds places for the labels of a plan: near their points, over nothing else.
class LabelPlacer {
public:
    explicit LabelPlacer(Box region) : region_(region) {}
    void block(const Box &box) { boxes_.push_back(box); }
    void block(Point a, Point b) { lines_.emplace_back(a, b); }

    /// True where a symbol may stand: over no other symbol or name, over an outline if need be.
    bool open(const Box &box) const;
    /// True where a line from one point to the other crosses no symbol or name, save one it begins on.
    bool clear(Point a, Point b) const;

    struct Label {
        Text text;
        std::optional<Line> leader; ///< from the point to a label that could not stand beside it
        bool over_symbols = false;  ///< that line passes over neighbours: the plan is crowded here
    };
    /// @param around  the symbol the label belongs to
    /// @returns nothing when the region is full
    std::optional<Label> place(const Box &around, const std::string &words, double height_mm, Layer layer);

private:
    bool free(const Box &box) const;
    std::optional<Label> search(const Box &around, const std::string &words, double height_mm, Layer layer,
                                bool leader_over_symbols);
    static Line leader(const Box &around, Point middle, const Box &text, Layer layer);
    bool may_lead(const Line &line, const Box &around, bool over_symbols) const;
    Box region_;
    std::vector<Box> boxes_; ///< of symbols and names
    std::vector<Box> names_;
    std::vector<std::pair<Point, Point>> lines_;
};

} // namespace stopspan
