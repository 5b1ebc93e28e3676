#pragma once

#include "lists/cabling.hpp"
#include "sheets/symbols.hpp"

#include "stopspan/circuit.hpp"

#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// What a piece of a device does in a drawing.
enum class PartRole {
    poles,   ///< all poles of a contactor, isolator or overload: one block
    source,  ///< mains
    supply,  ///< transformer, DC supply
    motor,   ///< motor, drive
    contact, ///< one contact, drawn where it acts
    series,  ///< fuse, link, resistor, capacitor, cable core
    load,    ///< coil, lamp, load, input: what a current path is there for
};

struct Pin {
    std::string terminal;
    NetId net;
    double x_mm = 0; ///< relative to the part's origin
    bool upper = true;
    std::string strip{}; ///< terminal of a strip at which its wire leaves an enclosure; may be empty
};

/// One piece of a device, drawn as one symbol. Its pins are the symbol's connection points, in order.
struct Part {
    DeviceId device;
    PartRole role;
    std::string symbol;
    std::vector<Pin> pins;
    std::string rating;               ///< "2 A gG"; may be empty
    double left_mm = 0, right_mm = 0; ///< room it and its texts take on either side of its origin
    /// Other parts of a device that no coil moves, to which this one refers: a drive, else the poles, else the first
    /// contact, refer to all others, and these to it.
    std::vector<std::size_t> elsewhere{};
    Point reference_at{}; ///< of a reference, relative to the origin
    Align reference_align = Align::left;
    double reference_room_mm = 0;
    bool two_ended() const { return role == PartRole::contact || role == PartRole::series || role == PartRole::load; }
    std::string terminals() const; ///< "13-14"
    /// Where strip terminals of several pins are listed: "X3: 8 9 10". Empty of a part that has them beside its pins.
    std::string strips() const;
    /// Left end of the strip terminal beside a pin, relative to the part's origin.
    Point strip_at(std::size_t pin) const;
    Point strips_at() const; ///< of their list
};

/// All parts of a circuit in the order of its devices: every wired terminal is a pin of exactly one part.
std::vector<Part> parts_of(const Circuit &circuit, const StripTerminals &strips);
/// True for kinds whose contacts are moved by a coil of the same device.
bool has_coil(DeviceKind kind);

/// Width reserved for a reference to another place, "88/88", and to so many more, "88/88 +8".
double reference_width_mm(std::size_t more = 0);
std::string and_more(std::size_t more);
/// How a list of places calls a part, "poles" or "13-14", and the width such a line takes with the place.
std::string place_label(const Part &part);
double place_line_width_mm(const Part &part);

} // namespace stopspan
