#pragma once

#include "stopspan/wiring.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// Where devices stand: in an enclosure with a strip of terminals, or outside of all, as a motor does, at the end of a
/// cable.
struct Location {
    std::string name; ///< "Sand mixer", "D1"; outside: "ES1", "M1", "operator station of Sand mixer"
    enum class Kind { outside, enclosure, board } kind = Kind::outside;
    bool encloses() const { return kind != Kind::outside; }
    std::string letter_stem{};    ///< for the designation of its strip: "3" of the enclosure of M3
    std::optional<Position> at{}; ///< on the plan
    std::string area{}, floor{};
    /// Of an enclosure: the one its feed comes from. Of what stands outside and belongs to one machine: its enclosure.
    std::optional<std::uint32_t> hangs_on{};
    std::string isolator{}; ///< of an enclosure: designation of its own; may be empty
};

struct Locations {
    std::vector<Location> all;            ///< enclosures in the order of supplies, boards, areas, machines first
    std::vector<std::uint32_t> of_device; ///< index into all; none of a cable, which lies between two
    static constexpr std::uint32_t none = UINT32_MAX;
};

/// A machine's starter has an enclosure at the machine; its motors, and the buttons of its starter together, stand
/// outside it. So do stop devices and kept loads. What was recorded without a place is in an enclosure "not stated".
Locations locate(const Description &description, const Wired &wired);

/// Metres of cable from one to the other, as cable_way_m() of their places. Nothing where one is not on the plan, or on
/// another floor.
std::optional<double> cable_way_m(const Location &from, const Location &to);

} // namespace stopspan
