#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/rules.hpp"
#include "stopspan/verdict.hpp"

#include <functional>
#include <optional>
#include <span>

namespace stopspan {

class Description;

/// What the length of a coil's control line does to its volts, worked out beforehand. @see control_lines
struct ControlLine {
    std::string coil;  ///< designation of its device
    double pull_in;    ///< what is left while it pulls in, over its rated voltage
    std::string along; ///< how long it is, and what was assumed
    struct Stop {
        std::string name;
        double left; ///< what the capacitance of its cable keeps on the coil once it has opened, over the rated voltage
        std::string by;
    };
    std::vector<Stop> stops; ///< none of a coil for direct current
};

struct CheckOptions {
    /// What is asked. Absent: every emergency stop must cut every machine, and where there is one
    /// machine every stop device must cut it.
    std::optional<std::vector<AskedCell>> asked;
    Target target = Target::no_fault; ///< of every cell to be cut that has no stricter one
    std::vector<std::string> rules;   ///< ids; empty: those of the rule set
    std::string rule_set;             ///< id; empty: the usual one
    /// Numbers that differ from the rule set's, by name.
    std::map<std::string, double, std::less<>> limits;
    std::vector<std::string> fault_exclusions; ///< ids
    std::vector<Waiver> waivers;
    const Description *plan = nullptr;      ///< floors and places, for stop-reach; outlives the check
    std::vector<ControlLine> control_lines; ///< of coils whose lines are no cables in the circuit
    std::size_t state_budget = 200'000;     ///< per searched cone; past it a claim is undecided
    unsigned threads = 1;
    bool repairs = true; ///< look for the smallest repair of each failure
    /// Called as machines are decided, with how many are and how many there are; may throw to stop.
    std::function<void(std::size_t done, std::size_t total)> progress;
};

/// Decides the rules from the wired circuit alone: structure first, then an exact search of the states
/// of what can influence the claim, else `undecided`.
/// @throws Error (unknown_name) for a rule, rule set, limit, exclusion, stop, machine or load that is not there, and as
///         check_limit and check_waiver
Verdict check(const Circuit &circuit, const CheckOptions &options = {});

} // namespace stopspan
