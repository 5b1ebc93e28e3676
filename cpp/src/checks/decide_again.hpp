#pragma once

#include "checks/standing.hpp"

#include <optional>

namespace stopspan {

/// What was decided again in a part cut out of the circuit.
struct Again {
    Verdict verdict;
    Shares shares;        ///< of which places are told by the shares of the whole
    Indices here, there;  ///< its shares that count, ascending, and which they are in the whole
    Indices device_there; ///< per device of the part
    StopsInPart stops;
    Crossings crossings; ///< of the group that was decided

    /// Which terminal of the device in the whole it is.
    std::uint32_t terminal_there(const Circuit &whole, const Circuit &part, std::uint32_t device,
                                 std::uint32_t terminal) const;
};

/// What crosses from a group of the circuit as it is now.
Crossings crossings_of(const Standing &standing, const Group &group);

/// Checks a group, cut out of the circuit as it is now with all that its machines and loads ask of the rest.
/// @param before  what crossed from the group before the change
/// @returns nothing where the part may miss something, or the change matters elsewhere
std::optional<Again> decide_again(const Standing &standing, const CheckOptions &options, const Group &group,
                                  const Crossings &before);

} // namespace stopspan
