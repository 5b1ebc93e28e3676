#include "sheets/symbol_pen.hpp"

namespace stopspan {
namespace {

using enum DeviceKind;
constexpr double middle = contact_middle_mm;
constexpr std::size_t most_poles = 4;

double x_of(std::size_t pole) {
    return pole_pitch_mm * static_cast<double>(pole);
}

// Terminals in the order of their numbers: 1 above, 2 below, 3 above ...
void pole_terminals(SymbolPen &pen, std::size_t count) {
    for (std::size_t pole = 0; pole < count; ++pole)
        pen.terminal(x_of(pole), true).terminal(x_of(pole), false);
}

void add_switch_poles(SymbolLibrary &library, const std::string &name, std::size_t count, bool by_hand) {
    SymbolPen pen(name + std::to_string(count));
    for (std::size_t pole = 0; pole < count; ++pole) {
        const double x = x_of(pole);
        pen.line({x, 0}, {x, fixed_contact_mm})
            .line({x, hinge_mm}, {x, -contact_height_mm})
            .line({x, hinge_mm}, {x - 2.5, fixed_contact_mm});
        if (by_hand) // a disconnector's bar
            pen.line({x - 1, fixed_contact_mm}, {x + 1, fixed_contact_mm});
        else // the half circle of a contactor's pole
            pen.arc({x, fixed_contact_mm + 0.75}, 0.75, 90, 270);
    }
    pole_terminals(pen, count);
    if (by_hand) {
        pen.line({-7.5, middle}, {x_of(count - 1) - 1.25, middle}, true)
            .line({-7.5, middle + 1.75}, {-7.5, middle - 1.75});
    } else if (count > 1) {
        pen.line({-1.25, middle}, {x_of(count - 1) - 1.25, middle}, true);
    }
    pen.rating({x_of(count - 1) + 1.5, middle - 1.25}).into(library);
}

void add_overload(SymbolLibrary &library, std::size_t count) {
    SymbolPen pen("OVERLOAD_" + std::to_string(count));
    const double right = x_of(count - 1) + 4;
    for (std::size_t pole = 0; pole < count; ++pole) {
        const double x = x_of(pole);
        pen.path({{x, 0}, {x, -5}, {x + 2, -5}, {x + 2, -7.5}, {x, -7.5}, {x, -contact_height_mm}});
    }
    pen.box(-2.5, hinge_mm, right, fixed_contact_mm);
    pole_terminals(pen, count);
    pen.rating({right + 1, middle - 1.25})
        .designation({-3.5, middle - 1.75})
        .reference({-3.5, 0.25 - contact_height_mm})
        .into(library);
}

void add_mains(SymbolLibrary &library, const std::string &name, std::size_t count) {
    SymbolPen pen(name, 10);
    for (std::size_t pole = 0; pole < count; ++pole)
        pen.circle({x_of(pole), -3.75}, 1).line({x_of(pole), -4.75}, {x_of(pole), -10});
    for (std::size_t pole = 0; pole < count; ++pole)
        pen.terminal(x_of(pole), false);
    pen.designation({-2.5, -5.5}).rating({x_of(count - 1) + 2.5, -5}).into(library);
}

void add_dc_supply(SymbolLibrary &library, const std::string &name, bool fed) {
    SymbolPen pen(name, 17.5);
    if (fed)
        pen.line({0, 0}, {0, -3.75}).line({10, 0}, {10, -3.75});
    pen.box(-3.75, -13.75, 13.75, -3.75)
        .line({-3.75, -13.75}, {13.75, -3.75})
        .line({0, -13.75}, {0, -17.5})
        .line({10, -13.75}, {10, -17.5})
        .line({7, -11.25}, {11, -11.25}) // direct current: a full line over a broken one
        .line({7, -12.25}, {8.5, -12.25})
        .line({9.5, -12.25}, {11, -12.25});
    if (fed)
        pen.arc({0.5, -6.5}, 1, 0, 180).arc({2.5, -6.5}, 1, 180, 360);
    pen.terminal(0, false).terminal(10, false);
    if (fed)
        pen.terminal(0, true).terminal(10, true);
    pen.designation({-4.75, -10.5}).rating({14.75, -10}).into(library);
}

void add_transformer(SymbolLibrary &library, const std::string &name, bool fed) {
    SymbolPen pen(name, 17.5);
    pen.circle({5, -7}, 3.25).circle({5, -10.5}, 3.25);
    if (fed)
        pen.path({{0, 0}, {0, -7}, {1.75, -7}}).path({{10, 0}, {10, -7}, {8.25, -7}});
    pen.path({{0, -17.5}, {0, -10.5}, {1.75, -10.5}}).path({{10, -17.5}, {10, -10.5}, {8.25, -10.5}});
    if (fed)
        pen.terminal(0, true).terminal(10, true);
    pen.terminal(0, false).terminal(10, false);
    pen.designation({-1.5, -10.5}).rating({11.5, -10}).into(library);
}

} // namespace

void add_pole_symbols(SymbolLibrary &library) {
    for (std::size_t count = 1; count <= most_poles; ++count) {
        add_switch_poles(library, "CONTACTOR_POLES_", count, false);
        add_switch_poles(library, "ISOLATOR_POLES_", count, true);
        add_overload(library, count);
        add_mains(library, "MAINS_" + std::to_string(count), count);
    }
    for (const bool fed : {false, true}) {
        add_dc_supply(library, fed ? "DC_SUPPLY" : "DC_SUPPLY_FEED_NOT_SHOWN", fed);
        add_transformer(library, fed ? "TRANSFORMER" : "TRANSFORMER_FEED_NOT_SHOWN", fed);
    }
}

std::string pole_symbol(DeviceKind kind, std::size_t count) {
    const std::string tail = std::to_string(count);
    return kind == isolator   ? "ISOLATOR_POLES_" + tail
           : kind == overload ? "OVERLOAD_" + tail
                              : "CONTACTOR_POLES_" + tail;
}

} // namespace stopspan
