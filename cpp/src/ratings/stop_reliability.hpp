#pragma once

#include "ratings/part_lives.hpp"
#include "stopspan/performance.hpp"

#include <optional>
#include <string>
#include <vector>

namespace stopspan::ratings {

/// What a stop of a machine is worth by ISO 13849-1.
struct StopReliability {
    bool judged = false; ///< it works, and its parts were found
    SafetyCategory category = SafetyCategory::b;
    std::vector<Rejected> rejected; ///< higher categories
    std::vector<SizeInput> faults;  ///< what the category came from
    std::vector<SizeInput> mttfd_inputs, coverage_inputs;
    std::optional<double> mttfd_years; ///< of the channel that is least
    std::optional<double> coverage;    ///< of the subsystem that has least; none: one channel
    std::vector<SizeInput> rates;
    std::optional<double> failures_per_h;
    std::optional<PerformanceLevel> level; ///< none: not determined, or none at all
    std::vector<std::string> remarks;
};

/// What is done against failures that take both channels at once.
struct CommonCause {
    std::optional<double> score; ///< of ISO 13849-1 annex F; none: nobody said
    std::string said_of;         ///< a zone, or the option
};

StopReliability reliability_of(Ground &ground, const Context &context, const StopFunction &function, PartLives &lives,
                               const CommonCause &common_cause);

} // namespace stopspan::ratings
