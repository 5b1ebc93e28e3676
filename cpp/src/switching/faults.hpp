#pragma once

#include "switching/cone.hpp"

#include <string>
#include <vector>

namespace stopspan {

/// One fault of one part. Nets and devices are those of the whole circuit.
struct Fault {
    enum class Kind : std::uint8_t {
        earth,        ///< net a touches earth
        bridge,       ///< nets a and b touch
        broken,       ///< the wire of a terminal comes off
        weld,         ///< a contactor or relay that is in stays in
        jam,          ///< a hand device stays where it is: pressed, or at rest where it is a stop
        detach,       ///< the only contact block comes off its actuator and stays at rest
        stays_closed, ///< one block of several comes off; its contact, closed at rest, joins nets a and b for good
        stays_open,   ///< likewise; its contact, open at rest, never closes again
        blind         ///< an overload never trips
    };
    Kind kind;
    std::uint32_t device = none;
    std::uint32_t a = none, b = none;
    std::string terminal; ///< of a broken wire; the first one of a contact that stays open
    std::string text;     ///< as an act of a replay: "bridge b c"
    /// Stands for what hangs between these nets and the real fault, open or closed at any moment.
    bool comes_and_goes = false;
    /// Happens only once the fault put in before it has.
    bool later = false;
};

/// Joins net a to net b, or to earth.
inline bool joins_nets(const Fault &fault) {
    return fault.kind == Fault::Kind::earth || fault.kind == Fault::Kind::bridge ||
           fault.kind == Fault::Kind::stays_closed;
}
/// Takes a conductor away and joins nothing.
inline bool only_parts(const Fault &fault) {
    return fault.kind == Fault::Kind::broken || fault.kind == Fault::Kind::stays_open;
}

/// Which ends of a device's contact, or of what joins two of its terminals for good, stand at this terminal: a, b.
std::pair<bool, bool> ends_at(const Device &device, const Switch &contact, const std::string &terminal);

/// Nets of the whole circuit that must stay what they are for the fault to be put in.
std::vector<std::uint32_t> nets_of(const Circuit &circuit, const Compiled &compiled, const Fault &fault);

/// Puts the fault into a part of the circuit as one more thing that may happen, once and for good. What keeps a device
/// whole at rest (detach, blind, a stop that jams) is no case for this: it only takes acts away.
/// @param cone  cut with nets_of() standing
/// @returns its variable; none when the part has nothing of it
std::uint32_t add_fault(Cone &cone, const Circuit &circuit, const Compiled &compiled, const Fault &fault);

/// Takes the fault out that was put in last. @pre not one that only parts
void take_out_fault(Cone &cone);

} // namespace stopspan
