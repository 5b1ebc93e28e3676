#pragma once

#include "stopspan/verdict.hpp"
#include "switching/explore.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// The worst a search saw of one claim, and how to get there.
struct Fact {
    Status status = Status::note;
    std::vector<std::string> acts;
    std::string ends_in; ///< "M1 runs"
    std::string mode;    ///< run mode it was seen in, where that matters
    int way = 0;         ///< which of several sentences of the rule tells it
    bool sure = false;   ///< no act on the way there has several ends
    /// stop-cuts, torque off but power on: acts after which the machine may even run on.
    std::vector<std::string> runs_on = {};
};

/// (rule, subject) -> fact. A worse status replaces a milder one; among equals the first, which is the shortest, stays.
using Facts = std::map<std::pair<std::string, std::string>, Fact>;

/// 3 fails, 2 maybe, 1 note; what is undecided lies between fails and maybe.
inline int severity(Status status) {
    switch (status) {
    case Status::fails:
        return 4;
    case Status::undecided:
        return 3;
    case Status::maybe:
        return 2;
    default:
        return 1;
    }
}

/// Rules that say that nothing starts a machine, and their names.
inline constexpr std::array<std::string_view, 4> start_rules{"power-return", "release-return", "trip-return",
                                                             "own-start"};
inline bool is_start_rule(std::string_view rule) {
    return std::find(start_rules.begin(), start_rules.end(), rule) != start_rules.end();
}

inline bool is_race_rule(std::string_view rule) {
    return rule == "contact-race" || rule == "chatter";
}

/// Subject of what they say where every source comes back at once.
inline constexpr std::string_view all_sources = "all sources";

/// How the witness of a short ends.
inline constexpr std::string_view source_shorted = "a source shorted";

/// Rules whose witnesses contain a fault.
inline bool is_fault_rule(std::string_view rule) {
    return rule == "earth-fault" || rule == "single-fault" || rule == "hidden-fault";
}

/// How an act on a device of the whole circuit is told.
std::string act_text(const ActorInfo &actor, Variable::Kind kind, bool opening);

} // namespace stopspan
