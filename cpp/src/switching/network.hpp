#pragma once

#include "circuit/compiled.hpp"

#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// A DC supply works from here on, assumption.
inline constexpr double feed_threshold = 0.6 * 230;

/// Lowest and highest ratio of coil voltage to rated that undeclared values allow.
struct RatioRange {
    double low = 0, high = 0;
    bool unknown = false; ///< depends on something outside the cone
};

/// A voltage between two nets.
struct Reading {
    double volts = 0;
    bool ideal = false;   ///< both nets stand on poles through ideal conductors
    bool unknown = false; ///< depends on something outside the cone
};

/// The electrical picture of one state: which nets are joined, which stand on poles, and the voltages of the rest.
/// Reused from state to state so that nothing is allocated in the inner loop.
class Network {
public:
    explicit Network(const Compiled &circuit);

    /// Works out the picture. Dead shorts are cleared first: `state` then has fuses blown or sources lost.
    /// @returns true when a short was cleared
    bool evaluate(State &state);
    /// Notes of the shorts cleared by the last evaluate().
    const std::vector<std::string> &shorts() const { return short_notes_; }

    bool joined(std::uint32_t a, std::uint32_t b) const { return root(a) == root(b); }
    /// Potential to earth of a net that stands on a pole (or earth) through ideal conductors.
    std::optional<Volts> pole_potential(std::uint32_t net) const;
    Reading between(std::uint32_t a, std::uint32_t b);
    /// Voltage across a coil, its alternating and its direct part.
    Volts across(std::uint32_t a, std::uint32_t b);
    RatioRange coil_ratio(std::uint32_t armature, bool tripping_coil = false);
    /// Piece of the circuit at no fixed potential that the coil takes its current through, shared with all else in it;
    /// none when contacts alone decide.
    std::uint32_t shared_piece(std::uint32_t armature);
    /// Above 50 V to earth; nets of a floating source when its poles are over 50 V apart.
    bool live(std::uint32_t net);
    /// Source output present: fed, not lost, not collapsed by a short.
    bool source_alive(std::size_t source) const { return alive_[source]; }
    /// Net stands on a floating source (no earthed pole): nothing holds it to earth.
    bool floating(std::uint32_t net) const;

private:
    struct Place {
        std::uint32_t group;
        Volts offset;
    };
    struct Island { // groups joined through impedances
        Volts first{};
        std::uint32_t reference = none; // source group the potentials refer to
        bool touched = false, several = false, coupled = false, unknown = false, unknown_coil = false;
    };
    std::uint32_t root(std::uint32_t net) const;
    Place place(std::uint32_t node) const;
    bool unite(std::uint32_t a, std::uint32_t b, Volts b_minus_a);
    void join_contacts(const State &state);
    bool group_sources(const State &state);
    bool pole_lost(const State &state, const Source &source, std::size_t pole) const;
    Volts source_volts(std::size_t source, std::size_t pole) const;
    bool feed_sources(const State &state);
    void find_islands();
    void find_carrying();
    bool hang_together(const Place &a, const Place &b);
    std::uint32_t island_root(std::uint32_t group) const;
    bool is_source_group(std::uint32_t group) const;
    bool clear_short(State &state);
    void solve(std::uint32_t island, double coil_scale);
    Volts value(Place at, double coil_scale);

    const Compiled &circuit_;
    const State *state_ = nullptr;
    std::uint32_t ground_;
    mutable std::vector<std::uint32_t> net_parent_;
    mutable std::vector<std::uint32_t> group_parent_;
    mutable std::vector<Volts> group_offset_;
    std::vector<std::uint8_t> source_group_;
    std::vector<std::uint8_t> alive_, collapsed_;
    std::vector<Volts> transformed_; // factor on secondary poles, per source, as phasor in .ac
    mutable std::vector<std::uint32_t> island_parent_;
    std::vector<Island> islands_;
    std::vector<std::uint8_t> island_seen_;
    bool islands_found_ = false;
    std::vector<std::uint32_t> carrying_; ///< per group the one it hangs on where no current passes; empty: not asked
    std::vector<Volts> solution_;
    std::vector<double> solution_scale_; // per group: coil scale for which it was solved; 0: not
    std::pair<std::uint32_t, std::uint32_t> conflict_{none, none}; // two nodes (net or ground) at different potentials
    std::vector<std::string> short_notes_;
};

/// Pictures worked out so far on this thread, nodal solutions counted tenfold: a clock that bounds work the same way
/// on every machine.
std::size_t network_work() noexcept;
/// Counts what took as long as so many pictures.
void add_network_work(std::size_t pictures) noexcept;

} // namespace stopspan
