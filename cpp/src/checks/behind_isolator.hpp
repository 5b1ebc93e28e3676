#pragma once

#include "checks/machine_check.hpp"

namespace stopspan {

inline const std::string isolator_clears_rule = "isolator-clears";

/// The feed side and the load side of every isolator pole.
class IsolatorSides {
public:
    explicit IsolatorSides(Tools &tools);

    struct Pole {
        std::uint32_t feed = none, load = none; ///< nets
    };
    /// @param contact  index of a switch; both none: no pole of an isolator
    const Pole &pole(std::uint32_t contact) const { return poles_[contact]; }
    /// Contacts lead here from the load side of some isolator.
    bool fed(std::uint32_t net) const { return fed_[net] != 0; }
    /// Where a contact leads from one of its nets; none: from the load side of an isolator to what feeds it.
    std::uint32_t onward(std::uint32_t contact, std::uint32_t net) const;

private:
    const Compiled &compiled_;
    std::vector<Pole> poles_;       // per switch
    std::vector<std::uint8_t> fed_; // per net
};

/// What stands behind an isolator, as DESIGN 5 has it: its load side and whatever that feeds, and the coil circuits of
/// the contactors whose poles it feeds.
class BehindIsolator {
public:
    BehindIsolator(Tools &tools, const IsolatorSides &sides, std::uint32_t variable);

    const std::set<std::uint32_t> &nets() const { return nets_; }
    const std::set<std::uint32_t> &load_nets() const { return load_nets_; }
    /// Of one contactor whose poles it feeds.
    struct CoilCircuit {
        std::uint32_t armature;
        std::set<std::uint32_t> nets;
    };
    const std::vector<CoilCircuit> &coil_circuits() const { return coil_circuits_; }
    /// The load side and the circuits of some of the coils.
    /// @param counts  per coil circuit
    std::set<std::uint32_t> nets_with(const std::vector<std::uint8_t> &counts) const;
    bool holds_machine(const MachineSeen &machine) const;
    /// Supplies that feed what is behind it or are fed from there, and those fed from these.
    std::vector<std::uint32_t> supplies() const;
    bool empty() const { return load_side_.empty(); }

private:
    /// @param ways  indices of the only contacts to follow, and no loads; none: everything
    std::set<std::uint32_t> trace(const std::vector<std::uint32_t> &from,
                                  const std::vector<std::uint32_t> *ways = nullptr);
    std::set<std::uint32_t> coil_circuit(const Armature &armature);

    Tools &tools_;
    const Compiled &compiled_;
    const IsolatorSides &sides_;
    std::uint32_t variable_;
    std::vector<std::uint32_t> load_side_;
    std::set<std::uint32_t> feed_side_, nets_, load_nets_;
    std::vector<CoilCircuit> coil_circuits_;
    std::set<std::uint32_t> ends_; // pole nets where the tracing ends
};

/// isolator-clears: opening an isolator stops no machine that does not stand behind it.
/// @param isolators  variables
/// @returns what was found, by isolator
std::map<std::uint32_t, std::vector<Finding>>
decide_openings(Tools &tools, const std::vector<MachineSeen> &machines,
                const std::vector<std::pair<std::uint32_t, BehindIsolator>> &isolators);

} // namespace stopspan
