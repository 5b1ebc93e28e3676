#include "sheets/single_line.hpp"
#include "sheets/symbol_pen.hpp"

namespace stopspan {

// One pole stands for all.
void add_single_line_symbols(SymbolLibrary &library) {
    const auto switching = [](const char *name) {
        SymbolPen pen(name);
        pen.line({0, 0}, {0, fixed_contact_mm})
            .line({0, hinge_mm}, {0, -contact_height_mm})
            .line({0, hinge_mm}, {-2.5, fixed_contact_mm});
        return pen;
    };
    SymbolPen("LINE_SUPPLY", contact_height_mm)
        .circle({0, -6.25}, 2.5)
        .line({0, -8.75}, {0, -contact_height_mm})
        .attribute("NAME")
        .into(library);
    SymbolPen("LINE_BOARD")
        .line({0, 0}, {0, -5})
        .box(-3, -8, 3, -5)
        .line({-3, -8}, {3, -5})
        .line({0, -8}, {0, -contact_height_mm})
        .attribute("NAME")
        .into(library);
    switching("LINE_ISOLATOR").line({-1, fixed_contact_mm}, {1, fixed_contact_mm}).attribute("NAME").into(library);
    switching("LINE_CONTACTOR").arc({0, fixed_contact_mm + 0.75}, 0.75, 90, 270).attribute("NAME").into(library);
    switching("LINE_SWITCH").attribute("NAME").into(library);
    SymbolPen("LINE_OVERLOAD")
        .path({{0, 0}, {0, -5}, {2, -5}, {2, -7.5}, {0, -7.5}, {0, -contact_height_mm}})
        .box(-2.5, hinge_mm, 4, fixed_contact_mm)
        .attribute("NAME")
        .into(library);
    SymbolPen("LINE_FUSE")
        .line({0, 0}, {0, -contact_height_mm})
        .box(-1.25, hinge_mm, 1.25, fixed_contact_mm)
        .attribute("NAME")
        .into(library);
    SymbolPen("LINE_MOTOR")
        .line({0, 0}, {0, -3.75})
        .circle({0, -7.5}, 3.75)
        .text({0, -8.75}, small_text_mm, "M")
        .attribute("NAME")
        .into(library);
    SymbolPen("LINE_LOAD")
        .line({0, 0}, {0, -5})
        .box(-2.5, -10, 2.5, -5)
        .line({-2.5, -10}, {2.5, -5})
        .line({-2.5, -5}, {2.5, -10})
        .attribute("NAME")
        .into(library);
    SymbolPen("LINE_CONVERTER") // a transformer, a DC supply, a drive
        .line({0, 0}, {0, -5})
        .box(-3.75, -12.5, 3.75, -5)
        .line({-3.75, -12.5}, {3.75, -5})
        .attribute("NAME")
        .into(library);
}

} // namespace stopspan
