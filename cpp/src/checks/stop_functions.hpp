#pragma once

#include "checks/context.hpp"

#include <map>
#include <optional>

namespace stopspan {

/// A part whose fault can take a stop away, alone or together with others.
struct StopPart {
    std::uint32_t device;
    std::string terminal{}; ///< of one contact block of several: "21"; empty: the device
    enum class Shows {
        nowhere,
        itself,    ///< the machine stops or does not start any more, or a fuse blows
        once_used, ///< the machine does not start any more once the stop device was used
    } shows = Shows::nowhere;
    friend bool operator==(const StopPart &a, const StopPart &b) {
        return a.device == b.device && a.terminal == b.terminal;
    }
};

/// Parts that take a stop away together only: a fault in each channel.
struct RedundantParts {
    std::vector<std::vector<StopPart>> channels; ///< two or more
};

/// What makes one stop device stop one machine, as faults show it.
struct StopFunction {
    std::uint32_t stop;             ///< index into Context::stops
    std::uint32_t machine;          ///< index into Compiled::machines
    bool works = false;             ///< without a fault, for sure
    bool known = false;             ///< of all that the stop acts through the parts were found
    std::vector<StopPart> series{}; ///< each takes it away alone
    std::vector<RedundantParts> redundant{};
    std::vector<std::string> alone{}; ///< every single fault, of conductors too, that takes it away or may: "weld K1"
    /// Second faults after one that shows nowhere before this stop is used nor then; only looked for where no fault
    /// takes it away alone.
    std::vector<std::pair<std::string, std::string>> hidden{}; ///< pairs that take it away or may
    bool hidden_decided = false;
    std::vector<std::uint32_t> rows_shared_with{}; ///< stops with contacts in the rows of its own
};

/// What makes a part move, for how often it does.
struct MovedBy {
    std::vector<std::uint32_t> starts_of; ///< machines whose own start devices act on it
    std::vector<std::uint32_t> stops;     ///< indices into Context::stops
};

struct StopFunctions {
    std::vector<StopFunction> all;             ///< in order of machines, then of stops; only cells to be cut
    std::map<std::uint32_t, MovedBy> moved_by; ///< per contactor, relay or timer (device) that is a part
    std::vector<std::string_view> left_out;    ///< fault exclusions that left something out
    std::vector<std::string> machines;         ///< names
};

/// Faults of the parts, tried singly, in pairs, and together where neither takes a stop away.
/// @param most_work  as FaultJudge takes it
StopFunctions stop_functions(const Context &context, std::size_t most_work);

} // namespace stopspan
