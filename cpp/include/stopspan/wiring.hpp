#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/description.hpp"

namespace stopspan {

/// Turns a description into a circuit: one arrangement per starter and zone link, added to what was
/// recorded by hand. Same input, same designations and nets.
/// Nets that a recorded circuit can join: supply G1 has "G1:L1" "G1:L2" "G1:L3" "G1:N"; board B has "B:L1" ...
/// (behind its isolator; without one they are other names of what feeds it); an area "Area:L1" ... likewise. For a
/// machine X described as found: "X:feed:L1" ... "X:feed:N" is its power behind the contactors of its zones, and where
/// its control line has a gap from "X:stops:1" to "X:stops:2", the contacts of its zones and the stop devices on it
/// that are not recorded close that gap in series. Names of all other nets made here avoid the recorded ones.
/// Every starter brings its own start button for each way of running and a stop button, with parameter `machine`.
/// @param recorded  devices as found; may already hold the sources and stop devices of the description
/// @throws Error: a stop device with fewer contact blocks than the wiring needs, a machine without a board,
///         a three-phase machine on a one-phase supply, an in-line starter above its button's rating ...
Circuit wire(const Description &description, const Circuit &recorded = {});

/// A circuit and where its devices stand, per device: "machine Drill" with all of its starter and the stop devices on
/// it; "stop device ES1" of one that stands alone; "board D1" with the relays, contactors and reset devices of the
/// zones whose control circuits it feeds; "area Bay" of its isolator; "kept load E1"; "supply G1". Empty: recorded by
/// hand, and the description does not say.
struct Wired {
    Wired() = default;
    /// A circuit of which nobody says where its devices stand.
    Wired(Circuit alone) : circuit(std::move(alone)), places(circuit.devices().size()) {}
    Circuit circuit;
    std::vector<std::string> places;
};
/// As wire(). @throws Error as wire()
Wired wire_in_places(const Description &description, const Circuit &recorded = {});

/// What is asked of the circuit as wired: description.asked(), and of every other stop device that names the machine it
/// belongs to (a starter's own stop button, one recorded): cut for that machine, keep for every kept load.
std::vector<AskedCell> asked_of(const Description &description, const Circuit &wired);

} // namespace stopspan
