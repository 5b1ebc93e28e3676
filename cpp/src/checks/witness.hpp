#pragma once

#include "checks/context.hpp"
#include "checks/facts.hpp"
#include "switching/faults.hpp"

#include <optional>

namespace stopspan {

/// Runs acts on everything that is connected, part by part, to confirm what a search of a simplified part has found and
/// to tell the path that holds a coil. Armatures and nets in its arguments are those of the whole circuit.
class WitnessRun {
public:
    /// @param connected  with Extent::everything
    /// @param faults     that its acts may contain
    WitnessRun(const Context &context, Reach connected, std::span<const Fault> faults = {});

    /// Exchanges the faults. @pre neither those there nor these are broken wires
    /// @returns false when the part has nothing of one of them
    bool put(std::span<const Fault> faults);

    struct Result {
        std::vector<State> states; ///< after the last act
        std::vector<State> before; ///< before it
        std::vector<State> passed; ///< met on the way from there
        bool race = false, chatter = false, shorted = false;
        bool dwelling = false; ///< the last act, a slow one, ends otherwise when it is fast
    };
    Result run(const std::vector<std::string> &acts);
    /// One act, no tap, from one state of such a result.
    Result run_from(State state, const std::string &act);

    const Reach &reach() const { return reach_; }
    const Cone &cone() const { return cone_; }
    Settler &settler() { return *settler_; }
    /// What it does in all the states of a result: maybe, where it is not the same in each.
    Tri runs(std::uint32_t machine, const Result &result);
    /// What a machine of the whole circuit does in a state; leaves the network on it, shorts cleared.
    MotorState observe(std::uint32_t machine, State &state);
    /// Net by net from a pole to what holds: the coil of one of these armatures that is in, else the motor's terminal.
    std::vector<std::string> holding_path(State state, const std::vector<std::uint32_t> &armatures,
                                          std::uint32_t terminal);
    /// Parameters nobody declared that decide whether these armatures hold: "hold_va of K1".
    std::vector<std::string> missing_values(State state, const std::vector<std::uint32_t> &armatures);

private:
    std::vector<std::string> path_to_pole(const State &state, std::uint32_t from, bool through_loads);
    /// What stands for an armature of the whole circuit here, or none.
    std::uint32_t armature(std::uint32_t whole) const;
    void list_acts();
    void act(Result &result, const std::string &text, bool last);

    const Context &context_;
    Reach reach_;
    Cone cone_;
    std::optional<Settler> settler_;
    std::vector<Act> acts_;
    std::map<std::string, std::uint32_t> act_of_;
    std::uint32_t all_lost_ = none, all_back_ = none;
};

} // namespace stopspan
