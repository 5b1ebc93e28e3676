#pragma once

#include "stopspan/installation.hpp"

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace stopspan {

/// What an installation is with its zones linked in one way. Every number is counted in the circuit that was wired for
/// it, or in the verdict on that circuit.
struct Arrangement {
    std::optional<ZoneLink> link{}; ///< none: zones linked in several ways, as described
    std::optional<int> channels{};  ///< of a stop relay
    bool as_described = false;
    std::string refused{};          ///< why it cannot be wired; empty: it can, and the rest is filled in
    std::size_t contact_blocks = 0; ///< of stop devices of the description, and reset devices
    std::size_t blocks_on_one = 0;  ///< most that one of these devices has
    std::size_t cores = 0;          ///< between places, see wire_in_places(): a net at n places takes n - 1
    std::map<std::string, std::size_t, std::less<>> parts{};             ///< devices by kind: "contactor"
    std::vector<std::pair<std::string, std::size_t>> machines_stopped{}; ///< that each stop device is found to cut
    std::size_t holds = 0, does_not_hold = 0; ///< claims, faults apart; undecided and waived ones do not hold
    /// Faults with which a stop device of the description is lost, or perhaps: one alone, and pairs of which the first
    /// shows nowhere; and those of which that was not decided. None: faults were not looked at.
    std::optional<std::size_t> single_faults{}, hidden_faults{}, undecided_faults{};
};

/// Wires and checks the installation once for every way of linking its zones: all zones alike, or one zone changed and
/// the others as described. Zones keep their reset device, or that they come in by themselves. Where the zones are
/// linked in several ways, the installation as described comes first.
/// @param zone     the only one to change; none: all
/// @param options  of every check; rules, target and repairs do not matter
/// @param faults   whether to look at single and hidden faults, which takes the longest
/// @throws Error (contradiction) if there is no zone; (unknown_name) as check()
std::vector<Arrangement> compare_arrangements(const Installation &installation, std::optional<ZoneId> zone = {},
                                              const CheckOptions &options = {}, bool faults = true);

} // namespace stopspan
