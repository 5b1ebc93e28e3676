#pragma once

#include "base/renumbering.hpp"
#include "switching/acts.hpp"
#include "switching/relevance.hpp"

#include <vector>

namespace stopspan {

/// What can influence some nets, as a circuit of its own: small enough to try every state.
struct Cone {
    Compiled circuit;
    std::vector<ActorInfo> actors;                   ///< per variable of `circuit`
    std::vector<std::vector<std::uint32_t>> members; ///< per variable: variables of the whole circuit it stands for
    std::vector<std::uint8_t> held;                  ///< per variable: it takes a hand to keep all it stands for acted
    std::vector<std::uint8_t> held_unless_blown;     ///< per variable: that, or one of the fuses in its row has blown
    Renumbering net_of;                              ///< whole circuit's net -> cone's net, or none
    bool exact = true;                               ///< no unknown links: nothing outside can matter
};

/// Where a search for what can influence something starts.
struct Seeds {
    std::vector<std::uint32_t> nets;  ///< followed through everything that conducts
    std::vector<std::uint32_t> power; ///< terminals of a machine
    // Taken in anyway, with what moves them: what stands between two poles is found by no search.
    std::vector<std::uint32_t> loads;         ///< impedances
    std::vector<std::uint32_t> contacts = {}; ///< switches
};
/// How far it goes.
enum class Extent {
    feed,       ///< control circuits, and the nearest feed of every distribution net
    any_way,    ///< and every contact on any way to a source, through other machines too
    everything, ///< all that is connected; in a small circuit also past lines
    past_lines, ///< and what hangs on the lines that something of it stands on and may feed them when they are lost
};

/// Parts of a circuit that can influence the seeds: indices into Compiled, sorted.
struct Reach {
    std::vector<std::uint32_t> nets, switches, impedances, variables, armatures, sources;
};
Reach reach_of(const Compiled &circuit, const Relevance &relevance, const Seeds &seeds, Extent extent);
/// @param found  a part of it that is known
Reach reach_of(const Compiled &circuit, const Relevance &relevance, const Seeds &seeds, Extent extent, Gathered &found);

enum class Simplify {
    no,       ///< part by part as in the whole circuit
    joined,   ///< nets that are joined for good become one
    and_rows, ///< and contacts that stand in a row and open it the same way (stops, fuses, overload contacts) one
};

/// Cuts the reach out of the circuit. What hangs outside on its nets becomes an unknown link between them.
/// @param standing  nets that stay what they are in a row, for a fault to be put in there
Cone cut_cone(const Circuit &circuit, const Compiled &compiled, const Relevance &relevance, const Reach &reach,
              Simplify simplify = Simplify::and_rows, const std::vector<std::uint32_t> &standing = {});

} // namespace stopspan
