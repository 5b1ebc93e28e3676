#pragma once

#include "lists/cabling.hpp"
#include "ratings/draws.hpp"
#include "stopspan/sizes.hpp"

#include <map>
#include <optional>
#include <utility>
#include <vector>

namespace stopspan {

/// Sizes of conductors by what passes them in one place: the most any piece of a net's wire in a location has to carry,
/// for all of them, as they are looped from terminal to terminal.
class WireSizes {
public:
    WireSizes(const Locations &locations, const std::vector<ConductorUse> &uses,
              std::vector<ratings::CurrentAt> currents);
    /// @param method  "B1" wires in an enclosure, "B2" a cable
    /// @returns nothing where the current is not known, or no size of the table carries it
    std::optional<double> of(std::uint32_t location, NetId net, std::string_view method) const;

private:
    const std::vector<ConductorUse> &uses_;
    const SizeOptions usual_{};
    struct Carried {
        std::optional<double> current_a; ///< nothing: nobody said one of them
        bool supplies_only = false;      ///< nothing but control supplies
    };
    std::map<std::pair<std::uint32_t, std::uint32_t>, Carried> carried_; ///< by location and net
    std::vector<bool> on_ways_;           ///< by net: current of a motor, load or control supply passes it somewhere
    std::vector<double> most_on_lines_a_; ///< by location: a neutral is like its lines
};

} // namespace stopspan
