#pragma once

#include "ratings/ground.hpp"

#include <span>

namespace stopspan::ratings {

/// Where the current of a draw passes a terminal of a device, or a pole of the mains.
struct CurrentAt {
    std::uint32_t device, net;
    std::uint32_t draw;  ///< index
    double alone_a = 0;  ///< what a wire here must carry for this draw: what its own protection lets through for good
    double summed_a = 0; ///< what it adds to others on the same wire
    double line_a = 0;   ///< the most it adds, however its wires fork
    bool feeds = false;  ///< comes from the supply through this device, else goes on through it
    bool known = true;   ///< else nobody said its current
    bool supply = false; ///< of a control supply
};

/// What takes current from the lines for good: a motor, a load, a control supply.
struct Draw {
    std::uint32_t device;
    std::optional<std::uint32_t> path{}; ///< of a motor
    bool known = true, from_mains = true;
    double alone_a = 0;              ///< of the line, as CurrentAt
    SizeInput summed;                ///< and what it is
    std::set<std::uint32_t> lines{}; ///< nets of poles of the mains, no earthed ones
    std::vector<CurrentAt> at{};
    std::vector<std::uint32_t> fuses{}; ///< devices on its way, of a load or a supply
};
/// Of motors the overload setting counts, else their rated current; alone, with no overload, their fuse.
/// Leaves out: coils fed by the mains themselves, which take far less.
/// @pre the motors and control supplies are sized
std::vector<Draw> draws_of(const Ground &ground);

/// What the wires of one net carry in one place: for each draw no more than its line takes; several add up.
/// @param at  of one net, by draw and device
/// @returns nothing where nobody said one of the currents
std::optional<double> carried_together_a(std::span<const CurrentAt> at);

/// Fuses and cables of kept loads, and fuses ahead of control supplies.
void size_kept_loads(Ground &ground, const std::vector<Draw> &draws);
/// Cables to boards, to isolators of areas and to machines, as the description has them.
void size_feeders(Ground &ground, const std::vector<Draw> &draws);

/// As sizes(), and where the currents pass.
struct SizesAndCurrents {
    Sizes sizes;
    std::vector<CurrentAt> currents;
};
SizesAndCurrents sizes_and_currents(const Description &description, const Circuit &circuit, const SizeOptions &options);

} // namespace stopspan::ratings
