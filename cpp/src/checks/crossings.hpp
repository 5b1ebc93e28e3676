#pragma once

#include "circuit/compiled.hpp"
#include "stopspan/circuit.hpp"

#include <map>
#include <string>
#include <utility>
#include <vector>

namespace stopspan {

/// What crosses from group to group all the same, by way of the nets of sources.
struct Crossings {
    /// A check of a part may miss something: contacts that join two source nets, supplies that are fed and have a pole
    /// on a net of another source, loops of drives and stop relays between two source nets.
    bool odd = false;
    bool has_loops = false; ///< of stop relays or of the safe torque off of drives
    /// Contacts of power circuits, all closed, would join two line poles of one source: a reversing starter's.
    long joined_lines = 0;
    long long_wires = 0; ///< as long_wires() finds them
    /// Source nets that something joins, contacts or loads: what feeds one of them when it is lost.
    using Pair = std::pair<std::string, std::string>;
    struct Between {
        long count = 0;                       ///< pieces of circuit that do
        std::vector<std::uint32_t> devices{}; ///< one in each of some of them
    };
    std::map<Pair, Between> between;
};

Crossings crossings_of(const Circuit &circuit, const Compiled &compiled);

} // namespace stopspan
