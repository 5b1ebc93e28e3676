#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/verdict.hpp"

#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// The smallest kinds of repair, the smaller first: one pole earthed, one link taken out, one wire moved or added, one
/// contact exchanged for another of its device, taken out, bridged, moved or added, one contactor or relay doubled, a
/// relay put behind a start button that lets it start only once it was let go.
struct Change {
    enum class Kind {
        pole_earthed,
        link_removed,
        wire_moved,
        wire_added,
        contact_exchanged,
        contact_removed,
        contact_bridged,
        contact_moved,
        contact_added,
        armature_doubled,
        start_relay_added
    } kind;
    std::string device, terminal; ///< the pole, the wire's end, or one of the link; of a contact moved or added: where
                                  ///< it is put in series; of a contactor or relay doubled or added: what it is called
    std::string net;              ///< wire: where it goes
    std::string owner;            ///< contact: the device it belongs to; what is doubled
    Contact block{};              ///< contact: its terminals
    Contact instead{};            ///< contact exchanged: the terminals that take its place; of the owner added
    std::string contactor{};      ///< that a start button brings in
    Contact lock{};               ///< break contact added to it
};

/// Can it be made here: are its devices, terminals and nets there?
bool fits(const Circuit &circuit, const Change &change);
/// @pre fits(circuit, change)
void apply(Circuit &circuit, const Change &change);
/// "move the wire at K1:13 from b to d". @pre fits(before, change)
std::string text_of(const Change &change, const Circuit &before);
/// Nets on which anything can become different. @pre fits(before, change)
std::vector<std::string> touched_nets(const Change &change, const Circuit &before);

/// A second contactor or relay beside this one; nothing for other kinds.
std::optional<Change> doubled(const Circuit &part, const Device &device);

/// A relay behind the contact of a button that starts a contactor: it comes in while the button is let go, stays in
/// until the contactor is in, and starts nothing else. A button that jams is then good for no second start.
std::optional<Change> with_start_relay(const Circuit &part, const Device &button);

/// Changes that may mend a finding, the likeliest first: wires and contacts near the path that holds the coil. Their
/// number does not grow with the circuit.
/// @param helpers  armatures that a stop of the finding lets fall already
std::vector<Change> candidates(const Circuit &part, const Finding &finding, const std::vector<std::string> &helpers);

} // namespace stopspan
