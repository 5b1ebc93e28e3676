#pragma once

#include "checks/fault_effects.hpp"
#include "checks/repair_second_row.hpp"

namespace stopspan {

/// Conductors of two rows that touch, each pair tried once however many findings ask.
class ShortsOfRows {
public:
    /// @param nets  of the two rows
    ShortsOfRows(Circuit circuit, CheckOptions options, const std::set<std::string> &nets);
    ShortsOfRows(const ShortsOfRows &) = delete;
    ShortsOfRows &operator=(const ShortsOfRows &) = delete;

    /// None of them takes from these machines any of these stops or overloads, or starts one of them.
    /// @param names        machines, stops, overloads
    /// @param trips        overloads count, too
    /// @param end_of_work  in network_work(): past it false
    bool harmless(const std::vector<std::string> &names, bool trips, std::size_t end_of_work);

private:
    struct Lost {
        std::string machine, subject; ///< subject: empty for a start
        bool trip;
        auto operator<=>(const Lost &) const = default;
    };

    Circuit circuit_;
    CheckOptions options_;
    Context context_;
    std::vector<MachineSeen> machines_;
    Tools tools_;
    FaultJudge judge_;
    std::vector<FaultCase> cases_;
    std::size_t next_ = 0; ///< of the cases
    std::set<Lost> lost_;  ///< by those before
};

} // namespace stopspan
