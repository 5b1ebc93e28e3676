#pragma once

#include "base/index_set.hpp"
#include "circuit/lookup.hpp"

#include <memory>
#include <vector>

namespace stopspan {

/// Parts of a circuit that can act on some nets: indices into Compiled, sorted.
struct Relevant {
    std::vector<std::uint32_t> nets, switches, impedances;
};

/// The same, gathered by several searches of one kind, which look at no net twice; and room for them to work in, so
/// that one made once serves many.
struct Gathered {
    IndexSet nets, switches, impedances;
    IndexSet met, own, blocks; ///< met: not only as the feed of others
    IndexSet pocket;           ///< of the search that is on
    void clear() {
        for (IndexSet *each : {&nets, &switches, &impedances, &met, &own, &blocks})
            each->clear();
    }
};

/// A circuit with up to this many things with positions is small enough to be tried as a whole.
inline constexpr std::size_t small_circuit = 14;
inline bool is_small(const Compiled &circuit) {
    return !circuit.cut_out && circuit.variables.size() <= small_circuit;
}

/// Knows which parts can act on what. The graph is the one of circuit/graph.hpp: nets are vertices, contacts and
/// loads are edges; all source poles and earth are one vertex, the place where every search ends.
class Relevance {
public:
    explicit Relevance(const Compiled &circuit);
    ~Relevance();
    Relevance(const Relevance &) = delete;
    Relevance &operator=(const Relevance &) = delete;

    /// What can act on the seeds at once, without asking what moves the contacts. Two kinds of nets: distribution nets
    /// (a power pole ends there, or many contacts) hang many circuits on one feed; from the others everything that
    /// conducts is followed. From a distribution net only its feed counts: the control contacts on any way to where a
    /// pole ends, and the poles on the shortest ways to a source; of one with many contacts also the loads that may
    /// feed it, because they do not lead to the one pole that what hangs there returns to. A seed that does not return
    /// there either is fed by all the rest: then what many contacts leave from is followed like any net.
    /// @param expand  followed through everything that conducts, even if a distribution net
    /// @param trace   only their feed
    /// @param power   terminals of a machine: also followed through poles that lead no nearer to a source
    Relevant around(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace,
                    const std::vector<std::uint32_t> &power = {}) const;
    void around(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace,
                const std::vector<std::uint32_t> &power, Gathered &found) const;
    /// As around(), with every contact on any way to a source pole, however far about.
    Relevant any_way(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace) const;
    void any_way(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace,
                 Gathered &found) const;

    /// Everything connected to the seeds up to the source poles.
    /// @param past_lines  also what hangs on lines that it feeds when they are lost
    void connected(const std::vector<std::uint32_t> &seeds, bool past_lines, Gathered &found) const;
    /// See lost_lines.hpp.
    bool fed_when_lost(std::uint32_t net) const;
    /// One of these nets; see motors_feed_back.hpp.
    bool fed_by_motors(const std::vector<std::uint32_t> &nets) const;
    /// Variables of the contacts on any way from these nets to a source; ascending.
    std::vector<std::uint32_t> in_any_way(const std::vector<std::uint32_t> &nets) const;

    /// Contacts on the ways between two nets that stand on a source or that a power pole ends at: closed together they
    /// join the two. Of power poles only those with a source on either side.
    /// @returns groups of switches, each with the ways that have contacts in common
    std::vector<std::vector<std::uint32_t>> bridges() const;
    /// Those of them, all in one, that lead from one pole of this source to another pole, its own or another's.
    const std::vector<std::uint32_t> &shorting(std::uint32_t source) const;

    /// Contacts of the variable from a net with a source's pole straight to another.
    IndexLists::List between_poles(std::uint32_t variable) const;
    bool is_pole_net(std::uint32_t net) const;
    /// Contacts between the net and the nearest pole; the largest value there is (none) where none lead to one.
    std::uint32_t steps(std::uint32_t net) const;
    /// Nothing comes through this contact, whatever is closed: all beyond it hangs on it alone, and nothing there asks.
    bool leads_nowhere(std::uint32_t contact) const;
    const Lookup &lookup() const;

private:
    struct Implementation;
    std::unique_ptr<Implementation> self_;
};

/// For each armature, the armatures that have a contact in the paths of its coil.
std::vector<std::vector<std::uint32_t>> armature_influence(const Compiled &circuit);

/// Nets whose potential decides whether this armature moves.
std::vector<std::uint32_t> asking_nets(const Armature &armature);
/// Calls with each of them.
template <class Visit>
void for_asking_nets(const Armature &armature, Visit &&visit) {
    const auto ask = [&](std::uint32_t net) {
        if (net != none)
            visit(net);
    };
    for (const std::uint32_t net : {armature.a1, armature.a2, armature.e1, armature.e2, armature.reset.first,
                                    armature.reset.second, armature.feedback.first, armature.feedback.second})
        ask(net);
    for (const auto &[a, b] : armature.inputs) {
        ask(a);
        ask(b);
    }
}

} // namespace stopspan
