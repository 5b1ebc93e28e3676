#include "sheets/special_sheets.hpp"
#include "sheets/symbol_pen.hpp"

namespace stopspan {

void add_plan_symbols(SymbolLibrary &library) {
    SymbolPen("PLAN_MACHINE", 0).box(-2.5, -2.5, 2.5, 2.5).attribute("NAME").attribute("REACH").into(library);
    SymbolPen("PLAN_MACHINE_WITH_ISOLATOR", 0)
        .box(-2.5, -2.5, 2.5, 2.5)
        .box(-6, -1.75, -2.5, 1.75)
        .line({-6, -1.75}, {-2.5, 1.75})
        .attribute("NAME")
        .attribute("ISOLATOR")
        .attribute("REACH")
        .into(library);
    SymbolPen("PLAN_STOP", 0)
        .circle({0, 0}, 1.75)
        .circle({0, 0}, 0.75, true)
        .attribute("NAME")
        .attribute("REACH")
        .into(library);
    SymbolPen("PLAN_ISOLATOR", 0)
        .box(-1.75, -1.75, 1.75, 1.75)
        .line({-1.75, -1.75}, {1.75, 1.75})
        .attribute("NAME")
        .into(library);
    SymbolPen("PLAN_BOARD", 0)
        .box(-3, -1.5, 3, 1.5)
        .line({-3, -1.5}, {3, 1.5})
        .attribute("NAME")
        .attribute("ISOLATOR")
        .into(library);
    SymbolPen("PLAN_KEPT_LOAD", 0)
        .circle({0, 0}, 1.75)
        .line({-1.24, -1.24}, {1.24, 1.24})
        .line({-1.24, 1.24}, {1.24, -1.24})
        .attribute("NAME")
        .into(library);
    SymbolPen("PLAN_EXIT", 0).path({{-2, -1.5}, {2, 0}, {-2, 1.5}}, true).attribute("NAME").into(library);
}

} // namespace stopspan
