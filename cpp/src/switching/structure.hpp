#pragma once

#include "circuit/lookup.hpp"

#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <span>
#include <tuple>
#include <unordered_map>
#include <vector>

namespace stopspan {

/// Proofs from the structure alone: what is assumed of some contacts, every other contact free to be open or closed
/// at any moment. What has no path then, ideal or through loads, has none in any state.
/// A copy starts with what the other assumes and knows; the circuit's graph is theirs in common.
class Structure {
public:
    explicit Structure(const Compiled &circuit);

    static constexpr std::uint8_t rest = 0b001, acted = 0b010, free = 0b111;

    /// Assumes that a variable is in one of these positions (bit set) until forget().
    void assume(std::uint32_t variable, std::uint8_t positions);
    /// Assumes that a source gives nothing (whole) or that one of its poles is lost.
    void assume_lost(std::uint32_t source, std::uint32_t pole = none);
    /// Assumes a net is cut out: nothing flows through it.
    void assume_cut(std::uint32_t net) {
        cut_.push_back(net);
        ++assumptions_;
    }
    void forget();

    /// Supposes a fault, which forget() leaves: a variable that stays in one of these positions whatever is assumed.
    void suppose(std::uint32_t variable, std::uint8_t positions);
    /// Supposes that two nets touch.
    void suppose_joined(std::uint32_t a, std::uint32_t b);
    /// Supposes that a contact may have come off at one end: it is never surely closed.
    void suppose_loose(const Switch &contact) { loose_.push_back(contact); }
    /// @pre nothing is assumed
    void suppose_nothing();

    /// Does it hold in every combination of positions of the isolators that stand between some of these nets and earth?
    /// What is joined to earth in a combination then stands there: nothing comes through it. An isolator opens all its
    /// poles at once, which the free contacts do not know.
    /// @param holds  asked once for each combination, until it says no
    /// @returns false, too, when nothing is won by it or the isolators are too many
    /// @pre nothing is assumed
    bool in_every_case(const std::vector<std::uint32_t> &nets, const std::function<bool()> &holds);
    /// Wires and isolators alone join this net to an earthed pole, while they are closed.
    bool returns_to_earth(std::uint32_t net) const { return graph_->to_earth(circuit_)[net] != none; }
    /// Can this variable be in one of these positions?
    bool possible(std::uint32_t variable, std::uint8_t positions) const {
        return (positions_[variable] & positions) != 0;
    }

    /// Lets every armature of `candidates` that can have no coil voltage be out, again and again; supplies of
    /// `supplies` that have none on their feed are lost with it.
    void let_fall(const std::vector<std::uint32_t> &candidates, std::vector<std::uint32_t> supplies = {});
    /// Nothing can drive a current from one of these nets through a load to the other.
    bool nothing_between(std::uint32_t a, std::uint32_t b);
    /// The same with one variable acted and nothing else assumed. Asked again and again of the same loads, so
    /// remembered.
    /// @pre nothing is assumed
    bool nothing_between_with(std::uint32_t acted_variable, std::uint32_t a, std::uint32_t b);
    /// coil_dead() with one variable in these positions, or with a source lost, and nothing else assumed. Machines that
    /// stand side by side ask it of the same variables: coils around a dead one are known with it.
    /// @pre nothing is assumed
    bool coil_dead_with(std::uint32_t variable, std::uint8_t positions, std::uint32_t armature);
    bool coil_dead_without(std::uint32_t source, std::uint32_t armature);
    /// Takes for lost every supply of `candidates` that can have no voltage on its own feed, again and again, and out
    /// of `candidates`.
    void let_supplies_fall(std::vector<std::uint32_t> &candidates);
    /// Coil without voltage (or stop relay with an open input) under what is assumed.
    bool coil_dead(std::uint32_t armature);
    bool is_out(std::uint32_t armature) const { return positions_[circuit_.armatures[armature].variable] == rest; }

    /// What a motor's terminals can be connected to.
    enum class Power {
        off,        ///< no winding can carry current, no terminal fed
        unswitched, ///< as off, but a terminal stands on a pole no contactor opens
        possible,
    };
    Power power(const MotorSeen &motor);
    /// Some non-zero potential can reach this net.
    bool can_be_live(std::uint32_t net);
    /// As can_be_live(), through contacts only and from a pole that is live at its source's rated voltage.
    bool can_stand_live(std::uint32_t net);
    /// Different potentials these nets can be connected to: 0, 1 or 2 (or more).
    int potentials(const std::vector<std::uint32_t> &nets);
    /// As potentials(), through contacts only: 2 means that some contacts closed together would short a source.
    int conductor_potentials(const std::vector<std::uint32_t> &nets);
    /// Two nets could be joined by closed contacts.
    bool can_join(std::uint32_t a, std::uint32_t b);
    /// With everything not assumed closed: do these nets stand on two potentials through contacts, or on more?
    bool stand_on_two(std::span<const std::uint32_t> nets);
    /// A supposed fault joins something to this net.
    bool has_fault(std::uint32_t net) const;

    // ---- what cannot be otherwise: through contacts that are closed in all positions they may be in
    /// The pole that a net stands on; none when that is not sure.
    std::uint32_t pole_of(std::uint32_t net);
    bool surely_joined(std::uint32_t a, std::uint32_t b);
    /// Two nets between which there is either all that a source gives or nothing.
    struct AllOrNothing {
        std::uint32_t source, pole, back; ///< poles by number, as pole_of() tells them
        double volts;
        /// That have this potential or none, the first of the two among them; none where that stands on the pole
        /// itself.
        std::vector<std::uint32_t> nets;
    };
    /// The second net surely stands on one pole; to the first lead contacts from one other pole of the same source, and
    /// loads from nothing but the pole that they return to, so none of what hangs there ever stands in between.
    std::optional<AllOrNothing> all_or_nothing(std::uint32_t a, std::uint32_t b);

private:
    struct Edge {
        std::uint32_t to;
        std::uint32_t variable; ///< none: always closed
        std::uint8_t closed_at;
        bool conductor;      ///< a contact, not a load
        bool contactor_pole; ///< power pole of an armature
    };
    struct Seen {
        int different = 0;
        bool nonzero = false;
        std::uint32_t first_pole = none;
    };
    bool open(const Edge &edge) const {
        return edge.variable != none && (edge.closed_at & positions_[edge.variable]) == 0;
    }
    bool lost(std::uint32_t pole) const;
    /// What the rest of the circuit could feed back into the net of a lost pole, whatever is assumed.
    const Seen &behind_lost(std::uint32_t pole);
    struct Behind {
        Seen seen;
        std::vector<std::uint8_t> passed; ///< per net: current could go on from it
    };
    /// Meets the poles at a net, or else calls with each net that current could go on to.
    /// @returns false where poles stand
    template <class Arrive>
    bool step_behind_lost(std::uint32_t net, Seen &seen, Arrive &&arrive) const;
    void meet(Seen &seen, std::uint32_t pole) const;
    /// Calls with each net that the last search went all the way round, and not only up to it.
    template <class Visit>
    void for_searched(Visit &&visit) const {
        for (const std::uint32_t net : queue_)
            if (!is_stiff(net))
                visit(net);
    }
    /// Nothing comes through this net.
    bool is_stiff(std::uint32_t net) const { return at_earth_[net] || !graph_->poles_at[net].empty(); }
    /// Follows the shortest way through contacts to a pole, with everything not assumed closed.
    /// @returns the net it ends on, which is a pole's unless something is open; none where it meets what is cut
    std::uint32_t end_of_way(std::uint32_t net, std::uint32_t cut = none) const;
    /// The pole it leads to, or none.
    std::uint32_t pole_near(std::uint32_t net, std::uint32_t cut = none) const;
    /// By their shortest ways two of these nets stand on two poles. False means nothing.
    bool soon_on_two(std::span<const std::uint32_t> nets) const;
    void forget_what_is_known();
    void let_armatures_fall(const std::vector<std::uint32_t> &candidates);
    void unsuppose_last();
    bool split(std::span<const Edge *const> isolators, const std::vector<std::uint32_t> &nets,
               const std::function<bool()> &holds);
    bool stands_at_earth(std::uint32_t net) const;
    bool with_earth_around(const std::vector<std::uint32_t> &nets, const std::function<bool()> &holds);
    /// Calls with each net that a supposed fault joins to this one.
    template <class Arrive>
    void across_faults(std::uint32_t net, Arrive &&arrive) const {
        for (const auto &[a, b] : joined_)
            if (a == net || b == net)
                arrive(a == net ? b : a);
    }
    /// coil_dead() with one thing assumed, told by a number of its own.
    template <class Assume>
    bool remembered_dead(std::uint64_t assumption, std::uint32_t armature, Assume &&assume_it);
    bool surely_closed(std::uint32_t net, const Edge &edge) const;
    /// Calls with each net that is surely joined to this one, itself first, until it is enough.
    template <class Enough>
    void for_joined(std::uint32_t net, Enough &&enough);
    Seen search(std::span<const std::uint32_t> start, bool loads, bool contactor_poles, int enough);

    struct Graph {
        explicit Graph(const Compiled &circuit);
        std::vector<std::uint32_t> first; ///< net -> range of edges
        std::vector<Edge> edges;
        std::vector<std::uint32_t> source_of_pole, pole_index, net_of_pole; ///< per pole number; 0 is earth
        std::vector<std::uint8_t> live_pole;                                ///< per pole number
        IndexLists poles_at;                                                ///< net -> pole numbers
        IndexLists coils_at;                                                ///< net -> armatures with a coil
        std::vector<std::uint32_t> to_pole; ///< net -> edge on the shortest way through contacts to a pole, or none
        /// Per net the edge that leads towards an earthed pole through wires and isolators alone, or none.
        const std::vector<std::uint32_t> &to_earth(const Compiled &circuit) const;

    private:
        void find_ways_to_poles();
        /// An edge stands at the net it leaves: the same one at the other.
        std::uint32_t way_back(std::uint32_t net, std::uint32_t edge) const;
        mutable std::once_flag to_earth_found_;
        mutable std::vector<std::uint32_t> to_earth_;
    };

    const Compiled &circuit_;
    std::shared_ptr<const Graph> graph_;
    std::map<std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>, bool> nothing_between_with_;
    std::vector<std::uint8_t> positions_;
    std::vector<std::uint32_t> changed_;
    std::vector<std::pair<std::uint32_t, std::uint8_t>> supposed_;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> joined_;
    std::vector<Switch> loose_;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> lost_;
    using LostAndPole = std::pair<std::vector<std::pair<std::uint32_t, std::uint32_t>>, std::uint32_t>;
    std::map<LostAndPole, Behind> behind_lost_; ///< with no fault
    std::map<LostAndPole, Seen> behind_lost_with_fault_;
    std::vector<std::uint32_t> cut_;
    std::vector<std::uint8_t> at_earth_; ///< per net: in the case that is looked at
    std::unordered_map<std::uint64_t, std::unordered_map<std::uint32_t, bool>> dead_with_; // by assumption and armature
    std::vector<std::uint32_t> dead_, quiet_; // per net: the fall, or assumptions, in which it was found so
    std::uint32_t falls_ = 0, assumptions_ = 1;
    std::vector<std::uint32_t> mark_;
    std::uint32_t round_ = 0;
    std::vector<std::uint32_t> queue_;
};

} // namespace stopspan
