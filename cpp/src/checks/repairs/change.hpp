#pragma once

#include "checks/repairs/second_row.hpp"
#include "checks/repairs/start_relay.hpp"
#include "stopspan/circuit.hpp"
#include "stopspan/verdict.hpp"

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace stopspan {

/// The smallest kinds of repair, the smaller first: one pole earthed, one insulation monitor added, one link taken out,
/// one wire moved or added, one contact exchanged for another of its device, taken out, bridged, moved or added, one
/// coil moved to the end of its line, one contact of a common return put ahead of each coil, one coil exchanged, one
/// conductor of less resistance, one contactor, relay or overload doubled, a relay put behind a start device that lets
/// it start only once it was let go, a second row of contacts with contactors of its own. What a link joins is best
/// parted where it is: a link between the lines of coils exchanged for a second contactor or relay comes next to one
/// taken out.
struct Change {
    enum class Kind {
        pole_earthed,
        monitor_added,
        link_removed,
        line_parted,
        wire_moved,
        wire_added,
        contact_exchanged,
        contact_removed,
        contact_bridged,
        contact_moved,
        contact_added,
        coil_turned,
        contact_per_coil,
        coil_exchanged,
        conductor_thickened,
        device_doubled,
        start_relay_added,
        row_added
    } kind;
    std::string device, terminal; ///< the pole, the wire's end, the coil, or one of the link; of a contact moved or
                                  ///< added: where it is put in series; of a device doubled or added: what it is called
    std::string net;              ///< wire: where it goes; monitor: what it watches; coil: where its return ends; line
                                  ///< parted: the one that gets a coil of its own
    std::string owner;            ///< contact: the device it belongs to; what is doubled; the link
    Contact block{};              ///< contact: its terminals
    Contact instead{};            ///< contact exchanged: the terminals that take its place
    double value{};               ///< conductor: its cross-section in mm2, of a resistor its resistance in ohm
    std::string like{};           ///< line parted: the contactor or relay that both lines act on
    StartRelay start_relay{};
    SecondRow row{};
};

/// Can it be made here: are its devices, terminals and nets there?
bool fits(const Circuit &circuit, const Change &change);
/// @pre fits(circuit, change)
void apply(Circuit &circuit, const Change &change);
/// "move the wire at K1:13 from b to d". @pre fits(before, change)
std::string text_of(const Change &change, const Circuit &before);
/// Nets on which anything can become different. @pre fits(before, change)
std::vector<std::string> touched_nets(const Change &change, const Circuit &before);

/// A fault of one part as a replay names it: "detach S1:11".
struct FaultAct {
    std::string verb, device;
    std::string terminal; ///< of a block or a wire; empty: the whole device
};
bool is_fault(const std::string &act);
/// @pre is_fault(act)
FaultAct fault_of(const std::string &act);
/// The one a finding tells of; conductors that touch are no fault of a part.
std::optional<FaultAct> fault_of(const Finding &finding);

/// Changes after which a fault may do no harm, the smallest first.
/// @param part   around what the fault is at
/// @param names  what nothing new may be called like
std::vector<Change> changes_against(const Circuit &part, const FaultAct &fault, const Circuit &names);
/// A stop that acts by closing a contact is lost with its wire or its block; one that opens the line of a contactor as
/// well is not.
std::vector<Change> stops_by_break_contacts(const Circuit &part, const Finding &finding);

/// What a stop does not take the feed from, as a timer, goes on by itself past a wire that comes off: each stop, moved
/// to stand in the path that holds the coil.
std::vector<Change> stops_moved_ahead(const Circuit &part, const Finding &finding);

/// The same conductor with less and less resistance: cables of the usual cross-sections; of a resistor, which may stand
/// for a loop of which nothing else is known, halves. Empty for other devices.
std::vector<Change> thicker(const Device &conductor);

/// Contacts that stand between a coil and a pole of its source.
struct ReturnLine {
    std::string pole;                                      ///< its net
    std::vector<std::pair<std::string, std::string>> ends; ///< devices and terminals on it
};
/// @returns nothing where the coil stands at the pole, or shares its return with other loads
std::optional<ReturnLine> return_line(const Circuit &circuit, const Device &coil);

/// A contact between a pole and what coils return to, which none of them has to itself: the coils.
std::vector<std::string> coils_behind(const Circuit &circuit, const Device &owner, const Contact &block);

/// Of a contactor whose coil hangs between two lines of a supply with an earthed neutral: the voltage of a coil between
/// line and neutral, and the net of the neutral.
std::optional<std::pair<double, std::string>> coil_to_neutral(const Circuit &circuit, const Device &device);

/// Changes that may mend a finding, the likeliest first: wires and contacts near the path that holds the coil. Their
/// number does not grow with the circuit.
/// @param helpers  armatures that a stop of the finding lets fall already
std::vector<Change> candidates(const Circuit &part, const Finding &finding, const std::vector<std::string> &helpers);

} // namespace stopspan
