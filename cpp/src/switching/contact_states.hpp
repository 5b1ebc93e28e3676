#pragma once

#include "base/decision_diagram.hpp"
#include "switching/acts.hpp"
#include "switching/cone.hpp"

#include <optional>

namespace stopspan {

/// Sets of states of a cone in which contacts alone decide what every coil has: all of its volts or none. A state is
/// told by bits; those of what moves by itself stand three times, for where a settling starts, where it is, and where
/// it is next.
class ContactStates {
public:
    using Set = Diagrams::Set;
    enum Copy : std::uint32_t { now, next, start };

    /// @returns null where contacts alone do not decide, or something else than coils moves or remembers
    static std::optional<ContactStates> of(const Cone &cone, Diagrams &diagrams);

    /// States in which a variable is in this position.
    Set at(std::uint32_t variable, std::uint8_t position, Copy copy = now) const;
    /// Those in which the coil of an armature has its volts.
    Set fed(std::uint32_t armature) const { return fed_[armature]; }
    /// Contacts join two potentials.
    Set shorted() const { return shorted_; }
    bool moves_by_itself(std::uint32_t variable) const { return moves_[variable] != 0; }
    /// All bits of a variable, for Diagrams::for_some().
    Set bits(std::uint32_t variable, Copy copy = now) const;
    const std::vector<std::uint32_t> &moving() const { return moving_; } ///< variables that move by themselves
    std::uint32_t levels() const { return levels_; }
    /// For Diagrams::renamed(): one copy put in the place of the other.
    std::vector<std::uint32_t> renaming(Copy from, Copy to) const;

    State state_of(const std::vector<std::uint8_t> &bits, Copy copy = now) const;
    Set only(const State &state, Copy copy = now) const;

private:
    ContactStates(const Cone &cone, Diagrams &diagrams) : circuit_(cone.circuit), diagrams_(diagrams) {}
    struct Pole {
        std::uint32_t net;
        std::uint32_t source; ///< none: at earth, never lost
        std::uint32_t group;  ///< potentials of one group can be compared; none: of what is earthed
        Volts volts;
        Set alive;
        bool same(const Pole &other) const { return group == other.group && volts.same(other.volts); }
    };
    bool take_variables(const Cone &cone);
    void order_variables();
    bool take_poles();
    void find_pieces();
    void find_ways();
    bool feed(std::uint32_t source);
    bool feed_armatures();
    bool loads_lead_to(const Pole &back, std::uint32_t net) const;
    std::optional<Set> given(std::uint32_t a, std::uint32_t b, double least_v, double most_v);
    const Pole *pole_at(std::uint32_t net) const { return at_net_[net] == none ? nullptr : &poles_[at_net_[net]]; }
    Set closed(const Switch &contact) const;
    std::uint32_t bits_of(std::uint32_t variable) const;
    std::uint32_t level(std::uint32_t variable, std::uint32_t bit, Copy copy) const {
        return first_level_[variable] + bit + moves_[variable] * copy;
    }

    const Compiled &circuit_;
    Diagrams &diagrams_;
    std::vector<std::vector<std::uint8_t>> positions_; ///< per variable; the bits count them
    std::vector<std::uint8_t> moves_;
    std::vector<std::uint32_t> order_, first_level_, moving_;
    std::uint32_t levels_ = 0;
    std::vector<Pole> poles_;
    std::vector<std::uint32_t> at_net_, piece_; ///< per net
    std::vector<std::vector<Set>> way_;         ///< per pole and net: contacts join the two
    std::vector<std::uint8_t> fed_sources_;
    std::vector<Set> fed_;
    Set shorted_ = Diagrams::nothing;
};

} // namespace stopspan
