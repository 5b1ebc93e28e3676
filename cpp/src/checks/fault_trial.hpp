#pragma once

#include "checks/fault_list.hpp"
#include "checks/witness.hpp"

#include <optional>

namespace stopspan {

/// Tries on one machine the ways in which a fault mostly shows. What is seen of it is so: the machine then runs through
/// closed contacts alone. What is not seen may still be.
class FaultTrial {
public:
    using Acts = std::vector<std::string>;

    /// @param runs  ways to run it, the shortest first; each leaves it running with no hand on anything
    FaultTrial(const Context &context, const MachineSeen &machine, const std::vector<Acts> &runs);

    /// @returns false when it cannot be tried: no way to run it, or nothing of the fault is there
    bool put(const Fault &fault);
    /// The machine runs with this device (a stop, an overload) acted.
    std::optional<Fact> outlives(std::uint32_t variable);
    /// It starts with the fault, or with a source back, or with a stop let go.
    std::optional<Fact> starts();
    /// How the fault shows by itself; empty: not at all.
    std::string noticed();

private:
    enum class Seen { off, on, unsure };
    Seen look(const WitnessRun::Result &result);
    bool ends(const Acts &acts, Seen wanted) { return look(run_.run(acts)) == wanted; }
    Acts with(const Acts &before, const std::string &act) const;
    std::string press(std::uint32_t variable, bool on) const;
    std::optional<Fact> fact(const Acts &acts) const;

    const Context &context_;
    const MachineSeen &machine_;
    const std::vector<Acts> &runs_;
    WitnessRun run_;
    std::string fault_;
};

} // namespace stopspan
