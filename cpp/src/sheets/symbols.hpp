#pragma once

#include "sheets/text_metrics.hpp"

#include "stopspan/circuit.hpp"

#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// A symbol with what the layout must know of it. Its origin is its first upper (else first lower) connection point;
/// it hangs down from y = 0, so upper points lie at y = 0 and lower ones at y = -height.
struct SymbolShape {
    Symbol symbol;
    Box extent;                     ///< of the shape, without the texts below
    double height_mm = 0;           ///< multiple of the grid
    std::vector<Point> terminal_at; ///< start of each terminal number, one for each connection point
    Point designation_at;           ///< right end of the designation
    Point rating_at;                ///< left end of the rating
    Point reference_at;             ///< right end of the cross-reference
    bool upper(std::size_t point) const { return symbol.connection_points[point].second.y_mm == 0; }
};

/// Symbols of IEC 60617, drawn in this library's own proportions on the 2.5 mm grid.
/// @pre the name is one that the functions below return, or "NET_NAME", "NET_GOES_UP", "NET_GOES_DOWN"
const SymbolShape &symbol_shape(std::string_view name);
/// Those that stand on the sheets, each once, sorted by name.
std::vector<Symbol> used_symbols(const std::vector<Sheet> &sheets);
/// Name of the symbol of one contact of a device.
std::string contact_symbol(const Device &device, ContactSense sense);
/// Name of the symbol of all `count` poles of a contactor, isolator or overload. @pre 1 <= count <= 4
std::string pole_symbol(DeviceKind kind, std::size_t count);
/// Name of the symbol of a coil; `terminal` is its first one.
std::string coil_symbol(const Device &device, std::string_view terminal);
/// Name of the symbol of anything else; `count` is its number of poles or terminals on show.
std::string device_symbol(const Device &device, std::size_t count);

using SymbolLibrary = std::map<std::string, SymbolShape, std::less<>>;
void add_contact_symbols(SymbolLibrary &library);
void add_pole_symbols(SymbolLibrary &library);
void add_machine_symbols(SymbolLibrary &library);
void add_two_terminal_symbols(SymbolLibrary &library);
void add_net_symbols(SymbolLibrary &library);

} // namespace stopspan
