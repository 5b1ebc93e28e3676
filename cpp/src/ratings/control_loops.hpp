#pragma once

#include "ratings/ground.hpp"
#include "switching/relevance.hpp"

namespace stopspan::ratings {

/// A coil and what it takes.
struct Coil {
    std::uint32_t armature; ///< index into Compiled::armatures
    bool tripping = false;  ///< the second coil of a latched contactor
    std::uint32_t a, b;     ///< nets
    bool direct_current = false;
    double rated_v = 0, hold_va = 0, inrush_va = 0; ///< W for direct current, where both are the same
    bool hold_known = false, inrush_known = false;
    std::vector<std::uint32_t> sources; ///< with a pole on either side of it
    std::optional<double> fed_v;        ///< across its poles, where only one voltage is possible
    bool fed_direct_current = false;
    std::vector<std::uint32_t> loop; ///< contacts on its ways to the poles; indices into Compiled::switches
};

/// Coils of a circuit with their loops: from the coil's ends, each step no further from a pole, as motor_paths().
std::vector<Coil> coils_of(const Ground &ground);
/// Coil parameters as inputs, with what was assumed.
std::vector<SizeInput> coil_inputs(const Ground &ground, const Coil &coil, bool inrush);

/// Nets that closed contacts could join to a source's pole, and so what hangs between two of them.
class Feeds {
public:
    explicit Feeds(const Compiled &circuit);
    /// Source and pole, for every pole that contacts can join a net to.
    const std::vector<std::pair<std::uint32_t, std::uint32_t>> &poles_of(std::uint32_t net) const;
    /// Sources with a pole on either side.
    std::vector<std::uint32_t> sources_between(std::uint32_t a, std::uint32_t b) const;

private:
    std::vector<std::uint32_t> piece_; ///< per net
    std::vector<std::vector<std::pair<std::uint32_t, std::uint32_t>>> poles_;
};

/// The most that coils behind one supply take at any moment.
struct AtOnce {
    double sealed_va = 0;                          ///< largest sealed load
    double then_sealed_va = 0, then_inrush_va = 0; ///< at the moment with the largest momentary load
    bool searched = false; ///< over every state acts can reach; else everything is taken to pull in together
    std::size_t states = 0;
};
AtOnce most_at_once(const Ground &ground, const Relevance &relevance, const std::vector<const Coil *> &coils);

} // namespace stopspan::ratings
