#pragma once

#include "stopspan/check.hpp"
#include "switching/explore.hpp"
#include "switching/observe.hpp"
#include "switching/structure.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

namespace stopspan {

/// A stop device and what it is asked to do to machines and loads.
struct StopSeen {
    std::string name;
    std::uint32_t variable;
    int category = 0;
};

/// What the stops (indices into Context::stops, ascending) are asked to do to one machine or load; the rest is free.
using AskedOfStops = std::vector<std::pair<std::uint32_t, Asked>>;

/// The targets of the cells to be cut that have one.
class Targets {
public:
    /// @param target  no_fault: none
    void set(const std::string &machine, const std::string &stop, Target target);
    Target of(std::string_view machine, std::string_view stop) const;
    Target strictest_of(std::string_view machine) const; ///< of all its cells
    Target strictest() const;

private:
    std::map<std::string, std::map<std::string, Target, std::less<>>, std::less<>> of_machines_; ///< by stop
};

/// What one check prepares once: the compiled circuit, who can act on what, and what is asked.
struct Context {
    /// @param whole  what the circuit was cut out of, or null
    Context(const Circuit &circuit, const CheckOptions &options, const CutOutOf *whole = nullptr);

    const Circuit &circuit;
    const CheckOptions &options;
    const RuleSet &rule_set;
    Compiled compiled;
    Relevance relevance;
    const Lookup &lookup;
    std::vector<ActorInfo> actors;                       ///< per variable
    std::vector<std::string_view> wanted_rules;          ///< empty: all
    std::vector<std::string_view> exclusions;            ///< of faults, in the order of their table
    std::vector<StopSeen> stops;                         ///< in order of the circuit
    std::vector<std::uint32_t> stop_of;                  ///< per variable: index into stops, or none
    std::unordered_map<std::string, AskedOfStops> asked; ///< per machine or load
    Targets targets;
    std::map<std::string, std::vector<std::uint32_t>, std::less<>> declared_starts; ///< per machine: variables
    /// Variables that close a make contact or pole straight across one of this one's.
    std::vector<std::uint32_t> across(std::uint32_t variable) const;
    /// Armatures that switch power and of which this hand device bridges a make contact or pole.
    std::vector<std::uint32_t> bridged_by(std::uint32_t variable) const;

    /// Coils, lamps and what else hangs on a net; not motors, nor the feed of supplies.
    struct Loads {
        std::uint32_t pole = none; ///< net of the source pole or earth they lead to
        bool through = false;      ///< they lead elsewhere, or to several poles
    };
    std::vector<Loads> loads_at; ///< per net; empty for those that a source pole stands on
    Structure structure;         ///< nothing is assumed; whoever asks makes a copy
    std::size_t variables;       ///< of the whole that the circuit was cut out of, or of the circuit
    bool every_cell;             ///< the matrix has every stop with every machine and load

    const std::string &name(std::uint32_t variable) const {
        return compiled.device_names[compiled.variables[variable].device];
    }
    const AskedOfStops &asked_of(const std::string &machine) const;
    /// Contacts of a hand device, with those it has in the whole that the circuit was cut out of.
    std::size_t contacts_of(std::uint32_t variable) const;
    bool small() const { return is_small(compiled); }
    bool wants(std::string_view rule) const;
    double limit(std::string_view name) const;

private:
    const CutOutOf *whole_; ///< that the circuit was cut out of, or null

    void read_asked(const std::vector<AskedCell> &cells);
    void set_target(const std::string &machine, std::uint32_t stop, Asked effect, Target target);
};

/// Null: nothing is asked.
inline const Asked *find_asked(const AskedOfStops &asked, std::uint32_t stop) {
    const auto found = std::lower_bound(asked.begin(), asked.end(), std::pair(stop, Asked{}));
    return found == asked.end() || found->first != stop ? nullptr : &found->second;
}
inline Asked asked_of(const AskedOfStops &asked, std::uint32_t stop) {
    const Asked *found = find_asked(asked, stop);
    return found ? *found : Asked::free;
}

/// Gathers the ways that feed a machine, and of the coils and supplies these ways hang on; of a distribution net its
/// nearest feed. What else hangs on the same nets can take their volts, but not give them any.
/// @param found  a part of it that is known
void gather_feeding(const Context &context, const Seeds &seeds, Gathered &found);

/// A machine with everything that can act on it. Made by machines_of().
struct MachineSeen {
    MachineSeen(const Context &context, std::uint32_t machine);

    std::uint32_t index;
    std::string name;
    const AskedOfStops &asked;
    std::vector<const MotorSeen *> motors;
    Seeds seeds;                                ///< nets of windings and of run and torque-off loops
    Reach reach;                                ///< what can act on it in ordinary feeding
    std::vector<std::uint32_t> power_armatures; ///< with a power pole on the way from a source to a motor
    std::vector<std::uint32_t> power_variables; ///< everything with a contact there, armatures too
    std::vector<std::uint32_t> power_switches;  ///< the contacts there
    std::vector<std::uint32_t> loop_switches;   ///< contacts in the run and torque-off loops of drives
    std::vector<std::uint32_t> line_selectors;  ///< variables of selectors there or in the run loop of its drives
    std::vector<std::uint32_t> own_starts;      ///< variables
    std::vector<std::uint32_t> overloads;       ///< variables of overloads with a pole there

    bool reached_by(std::uint32_t variable) const;
    bool is_own_start(std::uint32_t variable) const;

private:
    /// Those of power_armatures with a contact on a way to a source: not another machine's contactor that only hangs on
    /// a terminal of this one.
    std::vector<std::uint32_t> own_contactors(const Context &context) const;
    /// As DESIGN 5 orders them, where none is declared.
    /// @param contactors  the machine's own
    void choose_own_starts(const Context &context, const std::vector<std::uint32_t> &hands,
                           const std::vector<std::uint32_t> &contactors);
};

/// All machines of the circuit. Whoever turns a selector in the line or run loop of one machine alone starts that
/// machine, so it is one of its own start devices.
std::vector<MachineSeen> machines_of(const Context &context);

} // namespace stopspan
