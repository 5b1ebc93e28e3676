#pragma once

#include "checks/fault_list.hpp"
#include "checks/witness.hpp"

#include <optional>

namespace stopspan {

/// How a fault shows without anybody needing the stop.
struct Noticed {
    enum class How : std::uint8_t {
        nowhere,
        fuses_blow,
        starts,         ///< as soon as nothing holds the machine off
        starts_no_more, ///< from then on
        stops,
        undecided,
    } how = How::nowhere;
    std::string machine = {};
    std::vector<std::string> fuses = {};
};
/// "fuse F1 blows"; empty: nowhere.
std::string to_text(const Noticed &noticed);

/// Tries on one machine the ways in which a fault mostly shows. What is seen of it is so: the machine then runs through
/// closed contacts alone. What is not seen may still be.
class FaultTrial {
public:
    using Acts = std::vector<std::string>;
    /// What its ways to run leave behind.
    enum class Runs {
        freely,     ///< it runs with no hand on anything
        while_held, ///< it runs as long as a start is held
        perhaps,    ///< it may run
    };

    /// @param runs  ways to run it, the shortest first
    /// @param faults  already put in, broken wires too
    FaultTrial(const Context &context, const MachineSeen &machine, const std::vector<Acts> &runs, Runs how,
               std::span<const Fault> faults = {});

    /// @returns false when it cannot be tried: no way to run it, nothing of a fault is there, a wire is broken
    bool put(std::span<const Fault> faults);
    /// The machine runs with this device (a stop, an overload) acted. @pre its ways run it freely
    std::optional<Fact> outlives(std::uint32_t variable);
    /// It starts with the faults, by another's start, or with a source back, or with a stop let go.
    std::optional<Fact> starts();
    /// How the faults show by themselves.
    Noticed noticed();
    /// The faults surely show by themselves, whichever way it runs.
    bool shows();
    /// The machine does not start any more once this stop was acted and let go.
    bool shows_once_used(std::uint32_t variable);

private:
    bool ends(const Acts &acts, Tri wanted) { return run_.runs(machine_.index, run_.run(acts)) == wanted; }
    std::vector<std::string> blown(const WitnessRun::Result &after) const;
    static Acts with(Acts before, const Acts &then);
    /// A momentary device is still held after these acts.
    static bool leaves_held(const Acts &run);
    Acts press(std::uint32_t variable, bool on) const;
    void take(const Fault &fault);
    /// The shortest way to run, then the faults: what jams stays where it was pressed.
    Acts run_with_faults() const;
    /// The same way again, without what has jammed.
    Acts run_again() const;
    std::optional<Fact> fact(const Acts &acts) const;

    const Context &context_;
    const MachineSeen &machine_;
    const std::vector<Acts> &runs_;
    Runs how_;
    WitnessRun run_;
    Acts faults_;
    std::vector<std::uint32_t> jammed_; ///< hand devices, by variable
};

} // namespace stopspan
