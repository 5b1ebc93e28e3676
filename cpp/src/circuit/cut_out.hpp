#pragma once

#include "stopspan/circuit.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace stopspan {

/// A device to be cut out of a circuit.
struct TakenDevice {
    std::uint32_t device; ///< index in Circuit::devices()
    /// Those of its terminals that come with it, ascending; absent: all. A hand device may come with none at all.
    std::optional<std::vector<std::uint32_t>> terminals{};
};
/// A net that other devices use, too: where it is first used in the whole circuit.
struct SharedNet {
    NetId net;
    std::uint32_t device, terminal;
};

/// These devices and their wires as a circuit of its own. Devices and nets stand in the order they have in the whole,
/// so what depends on that order comes out the same.
/// @param devices  ascending, no contact halved
/// @param shared   all nets of theirs that other devices or terminals use, too
Circuit cut_out(const Circuit &whole, std::span<const TakenDevice> devices, std::span<const SharedNet> shared);

} // namespace stopspan
