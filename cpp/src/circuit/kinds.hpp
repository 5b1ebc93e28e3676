#pragma once

#include "stopspan/circuit.hpp"

namespace stopspan {

/// What terminals a kind has, beside contacts whose numbers speak for themselves.
struct KindRule {
    DeviceKind kind;
    std::string_view text;                       ///< "push-button"
    std::span<const std::string_view> terminals; ///< fixed names, all optional unless in `needed`
    std::span<const std::string_view> needed;    ///< must be wired
    bool poles = false;                          ///< 1-2 3-4 5-6 7-8
    bool contacts = false;                       ///< auxiliary contacts x1-x2 x3-x4, x from 1 to 9 (and two-digit rows)
    bool delayed = false;                        ///< x5-x6 x7-x8
    bool coil = false;                           ///< has coil parameters
    bool actuator = false;                       ///< moved by a person or guard
};

const KindRule &kind_rule(DeviceKind kind);

/// Sense and partner of a contact terminal of this kind of device, or nothing.
struct ContactTerminal {
    ContactSense sense;
    bool first;          ///< the lower number of the pair
    std::string partner; ///< "14" for "13"
};
std::optional<ContactTerminal> contact_terminal(const KindRule &rule, std::string_view terminal);
/// The contact whose first terminal this one of the device is, or nothing.
std::optional<Contact> contact_at(const Device &device, std::size_t terminal);
/// Nets at the two ends of each core of a cable, in the order of its terminals. @pre device.kind is cable
std::vector<std::pair<NetId, NetId>> cores_of(const Device &device);
/// Pole of a source that is earthed: as stated, else the neutral of a mains; of any other device none.
/// @returns the name of a terminal, which may not be wired, or "none"
std::string_view earthed_pole_of(const Device &device);
/// True for motors; a drive is none.
bool is_motor(DeviceKind kind);

/// A terminal this kind of device has: a fixed one, a contact's, or a cable core's end.
bool has_terminal(const KindRule &rule, std::string_view terminal);

} // namespace stopspan
