#pragma once

#include "lists/conductors.hpp"
#include "lists/locations.hpp"

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// One terminal of a strip: one conductor from inside the enclosure or a bridge, one core of a cable outside.
struct StripTerminal {
    std::uint32_t enclosure = 0;
    std::string name; ///< "X3:4"
    NetId net{};
    std::string inside;    ///< "K3.1:A1"; of a bridged one the terminal it is bridged to
    bool bridged = false;  ///< to the terminal before it, of the same net
    std::size_t cable = 0; ///< index
    std::size_t core = 0;  ///< from 1
};

struct CableCore {
    NetId net{};
    std::string from, to; ///< terminals: "X3:4", "ES1:11"
};
struct Cable {
    std::string designation;            ///< "W3"
    std::uint32_t from = 0, to = 0;     ///< locations
    bool power = false;                 ///< else control
    std::vector<CableCore> cores;       ///< without the protective conductor
    std::optional<DeviceId> recorded{}; ///< it is a device of the circuit
};

/// A single conductor that stays in one location.
struct Wire {
    std::uint32_t location = 0;
    NetId net{};
    std::string from, to;
};

/// How the devices of each net are joined. Every device outside the enclosures is cabled to an enclosure, where each
/// core ends on a terminal of its own; enclosures are cabled to the one they are fed from. Cores of power and of
/// control lie in different cables, but for those of a one-phase starter's own button.
struct Cabling {
    std::vector<StripTerminal> terminals; ///< by enclosure, in order
    std::vector<Cable> cables;
    std::vector<Wire> wires; ///< by location
};
/// Where a wire leaves its enclosure: for a terminal of a device ("ES1:11") that of the strip its core goes to, and
/// for one inside whose wire goes on to another enclosure that of its own strip.
using StripTerminals = std::map<std::string, std::string, std::less<>>;
StripTerminals strip_terminals(const Cabling &cabling, const Locations &locations);
Cabling cabling(const Circuit &circuit, const Locations &locations, const std::vector<ConductorUse> &uses);

} // namespace stopspan
