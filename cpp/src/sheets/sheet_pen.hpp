#pragma once

#include "sheets/text_metrics.hpp"

#include <string>

namespace stopspan {

/// Adds primitives to a sheet on one layer.
class SheetPen {
public:
    SheetPen(Sheet &sheet, Layer layer) : sheet_(sheet), layer_(layer) {}
    SheetPen &line(Point a, Point b, bool dashed = false) {
        sheet_.primitives.emplace_back(Line{a, b, layer_, dashed, {}});
        return *this;
    }
    SheetPen &box(const Box &box) {
        sheet_.primitives.emplace_back(
            Polyline{{{box.left, box.bottom}, {box.right, box.bottom}, {box.right, box.top}, {box.left, box.top}},
                     true,
                     layer_});
        return *this;
    }
    SheetPen &text(Point at, double height_mm, std::string words, Align align = Align::left, bool upright = false) {
        if (!words.empty())
            sheet_.primitives.emplace_back(Text{at, height_mm, std::move(words), align, layer_, upright});
        return *this;
    }

private:
    Sheet &sheet_;
    Layer layer_;
};

} // namespace stopspan
