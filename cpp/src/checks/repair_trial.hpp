#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// A finding that does not hold, told apart by rule and subjects.
using FindingKey = std::pair<std::string, std::vector<std::string>>;
FindingKey key_of(const Finding &finding);
/// Those of a verdict that fail, may fail or are undecided.
std::set<FindingKey> open_findings(const Verdict &verdict);

/// Everything a repair must not make worse.
struct Behaviour {
    bool complete = true; ///< nothing was too large to be seen whole
    std::set<FindingKey> findings;
    std::set<std::pair<std::string, Mode>> runs;          ///< machines, in each mode with no hand on a button
    std::set<std::pair<std::string, std::string>> starts; ///< hand devices and machines they surely start
    /// Own starts and machines that run once they are pressed and let go, at once or after their timers.
    std::set<std::pair<std::string, std::string>> taps;
    std::set<std::string> loads;                        ///< kept loads that can be on
    std::set<std::pair<std::string, std::string>> cuts; ///< stops and machines they cut and may cut
    /// Jog devices and machines that run on when they are let go.
    std::set<std::pair<std::string, std::string>> run_on;
};

/// Checks a small circuit and looks at what still works in it.
/// @param own_starts_only  of the starts only those by the machine's own start devices
Behaviour behaviour_of(const Circuit &circuit, const CheckOptions &options, bool own_starts_only);

/// Machines that run with no hand on a button, or that only ever ran with one.
std::size_t in_order(const Behaviour &after, const Behaviour &before);

/// Whatever ran, started, was on or was cut before does so after, and no finding has come. False when not sure.
bool no_worse(const Behaviour &after, const Behaviour &before);

/// Does the circuit still end as the finding's witness says? Cheap; false also when the witness cannot tell.
bool ends_as_told(const Circuit &circuit, const Finding &finding);

} // namespace stopspan
