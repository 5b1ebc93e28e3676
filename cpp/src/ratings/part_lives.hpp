#pragma once

#include "checks/stop_functions.hpp"
#include "ratings/ground.hpp"

#include <map>
#include <optional>
#include <string>
#include <vector>

namespace stopspan::ratings {

/// How often parts of stops are operated and how long they last. Puts the MTTFd of each on the list, once, and what is
/// missing for it among the unknown inputs.
class PartLives {
public:
    PartLives(Ground &ground, const Context &context, const StopFunctions &functions)
        : ground_(ground), context_(context), functions_(functions) {}

    /// @returns none where an input is unknown
    std::optional<double> mttfd_years(std::uint32_t device);
    std::optional<double> operations_per_year(std::uint32_t device);
    bool well_tried(std::uint32_t device) const;

private:
    struct Often {
        std::optional<double> per_year;
        std::string formula;
        std::vector<SizeInput> inputs;
    };
    Often often(std::uint32_t device);
    Often often_of_stop(std::uint32_t device);
    Often cycles_of(const std::string &machine, std::uint32_t device);
    std::optional<double> find(std::uint32_t device);

    Ground &ground_;
    const Context &context_;
    const StopFunctions &functions_;
    std::map<std::uint32_t, Often> often_;
    std::map<std::uint32_t, std::optional<double>> known_;
};

} // namespace stopspan::ratings
