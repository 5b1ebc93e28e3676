#pragma once

#include "checks/context.hpp"

#include <tuple>

namespace stopspan {

/// A finding that does not hold, told apart by rule and subjects.
using FindingKey = std::pair<std::string, std::vector<std::string>>;
FindingKey key_of(const Finding &finding);
/// Those of a verdict that fail, may fail or are undecided.
std::set<FindingKey> open_findings(const Verdict &verdict);

/// A hand device that starts a machine, with the selectors in these positions.
struct Started {
    std::string by, machine;
    bool ordinary; ///< nothing lost, tripped or open and no stop actuated
    std::map<std::string, std::uint8_t> selectors;
    auto operator<=>(const Started &) const = default;
};

/// Everything a repair must not make worse.
struct Behaviour {
    bool complete = true; ///< nothing was too large to be seen whole
    std::set<FindingKey> findings;
    std::set<std::pair<std::string, Mode>> runs; ///< machines, in each mode with no hand on a button
    std::set<Started> starts;                    ///< surely, while it is pressed
    std::set<Started> taps;                      ///< by its own starts, pressed and let go, at once or after its timers
    std::set<std::pair<std::string, std::string>> own_starts; ///< devices, and machines whose own start they are
    std::set<std::string> bridging; ///< devices that bridge a holding contact, so that they belong to its machine
    std::set<std::string> comes_in; ///< armatures that some acts bring in
    std::set<std::string> overfed;  ///< those with far more than rated voltage
    std::set<std::string> loads;    ///< loads and lamps that can be on
    /// Kept loads that are on with no hand on a button, nothing lost, tripped or open and no stop actuated.
    std::set<std::string> kept_on;
    std::set<std::string> may_run; ///< machines that run, or may, with nothing lost, tripped or open, no stop actuated
    std::set<std::string> fed_coils; ///< those of armatures that some acts put a voltage on, if too little to come in
    std::set<std::pair<std::string, std::string>> runs_without; ///< machines, and sources lost while they run
    std::set<std::string> across; ///< resistors and capacitors between two poles with nothing to open
    std::set<std::pair<std::string, std::string>> cuts; ///< stops and machines they cut and may cut
    /// Stops and the power contactors, of machines that they must cut, whose coils they surely leave dead; and those of
    /// them by stops that must let a machine run down before (category 1).
    std::set<std::pair<std::string, std::string>> drops, drops_at_once;
    /// Stops and overloads, machines, and modes in which the one has cut the other in some state.
    std::set<std::tuple<std::string, std::string, Mode>> has_cut;
    /// Start and reset buttons and running machines they stop.
    std::set<std::pair<std::string, std::string>> disturbs;
    /// Jog devices and machines that run on when they are let go.
    std::set<std::pair<std::string, std::string>> run_on;
};

/// Checks a small circuit and looks at what still works in it.
/// @param before  of what was changed to get this one; null: of the starts only those by a machine's own start devices
///                are looked for
Behaviour behaviour_of(const Circuit &circuit, const CheckOptions &options, const Behaviour *before);

/// Machines that run with no hand on a button, or that only ever ran with one.
std::size_t in_order(const Behaviour &after, const Behaviour &before);

/// Whatever ran, started, was on or was cut before does so after, and no finding has come. False when not sure. A start
/// device that now bridges the holding contact of one machine, where it bridged none, was a start of others only as
/// nobody else claimed it: that it starts them no more is no loss while another does.
bool no_worse(const Behaviour &after, const Behaviour &before);

/// Does the circuit still end as the finding's witness says? Cheap; false also when the witness cannot tell.
bool ends_as_told(const Circuit &circuit, const Finding &finding);

} // namespace stopspan
