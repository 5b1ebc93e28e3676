#pragma once

#include "switching/network.hpp"

#include <unordered_map>
#include <vector>

namespace stopspan {

/// What one act leads to: every stable state that some order of moving reaches.
struct Settled {
    std::vector<State> ends;           ///< sorted, no two alike
    std::vector<State> sure;           ///< those that what must move reaches by itself; sorted
    std::vector<std::uint32_t> moved;  ///< armatures of a race or chatter
    bool race = false;                 ///< stable ends differ with the order of moving
    bool unknown = false;              ///< whether something moves depends on what is outside the cone
    bool race_unknown = false;         ///< and of several such the order may matter
    bool chatter = false;              ///< armatures never come to rest
    bool shorted = false;              ///< a dead short had to be cleared on the way
    bool shorted_jointly = false;      ///< as above, but only where armatures move at the very same moment
    std::vector<State> passed;         ///< states on the way, each armature moving by itself
    std::vector<State> passed_jointly; ///< states met only where armatures move at the very same moment
    std::vector<std::string> notes;
};

/// Ratio of coil voltage to rated: IEC 60947-4-1 gives pull-in from 0.85 and the drop-out bands 0.20 to 0.75 (AC),
/// 0.10 to 0.75 (DC); below 0.85 a contactor may pull in from 0.60, assumption.
namespace coil_limits {
inline constexpr double pulls_in = 0.85, may_pull_in = 0.60, stays_in = 0.75, drops_ac = 0.20, drops_dc = 0.10;
inline constexpr double tolerance = 1e-9;
} // namespace coil_limits

/// Per pair of armatures (row by row): their order of moving may matter, if both must move.
std::vector<std::uint8_t> interacting(const Compiled &circuit);

/// Lets armatures move until none must. Orders matter only among armatures that influence each other.
class Settler {
public:
    explicit Settler(const Compiled &circuit);
    /// What this state leads to. Many acts lead to the same one, so it is remembered; network() is left anywhere.
    const Settled &settle(const State &state);
    Network &network() { return network_; }
    const Compiled &circuit() const { return circuit_; }

private:
    Settled settle_anew(State state);
    struct Pending {
        std::vector<std::uint32_t> must, may;
        std::vector<std::uint32_t> piece;   ///< per armature: what it shares with others that move; empty: nothing
        std::vector<std::uint32_t> unknown; ///< those of `may` that move or stay as something outside the cone wants
        /// Channels of stop relays that drop out with their relay: variables, by armature.
        std::vector<std::pair<std::uint32_t, std::uint32_t>> channels_out;
    };
    Pending pending(State &state);
    bool held_off(const Armature &armature, const State &state) const;
    void move(State &state, std::uint32_t armature, const Pending &moves) const;
    bool inputs_closed(const Armature &stop_relay);
    bool channel_drops(const Armature &stop_relay, std::size_t channel, const RatioRange &ratio);
    void find_shared(Pending &moves);
    bool interact(std::uint32_t a, std::uint32_t b, const Pending &moves) const;
    bool independent(const std::vector<std::uint32_t> &armatures, const Pending &moves) const;
    void all_orders(State start, Settled &result);
    void finish(State &state);
    void note_shorts(Settled &result) const;
    std::vector<std::vector<std::uint32_t>> steps(const Pending &moves, bool must_only) const;

    const Compiled &circuit_;
    Network network_;
    std::vector<std::uint8_t> interacts_;
    std::unordered_map<State, Settled, StateHash> settled_;
};

} // namespace stopspan
