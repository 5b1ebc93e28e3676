#pragma once

#include "checks/machine_check.hpp"

namespace stopspan {

/// What stands behind an isolator, as DESIGN 5 has it: its load side and whatever that feeds, and the coil circuits of
/// the contactors whose poles it feeds.
class BehindIsolator {
public:
    BehindIsolator(Tools &tools, std::uint32_t variable);

    const std::set<std::uint32_t> &nets() const { return nets_; }
    const std::set<std::uint32_t> &load_nets() const { return load_nets_; }
    const std::set<std::uint32_t> &contactors() const { return contactors_; }
    bool holds_machine(const MachineSeen &machine) const;
    /// Supplies that feed what is behind it or are fed from there, and those fed from these.
    std::vector<std::uint32_t> supplies() const;
    bool empty() const { return load_side_.empty(); }

private:
    void find_poles();
    bool fed(std::uint32_t net) { return tools_.structure.conductor_potentials({net}) >= 1; }
    void trace(const std::vector<std::uint32_t> &from);

    Tools &tools_;
    const Compiled &compiled_;
    std::uint32_t variable_;
    std::vector<std::uint32_t> load_side_;
    std::set<std::uint32_t> feed_side_, nets_, load_nets_, contactors_;
    std::set<std::uint32_t> ends_; // pole nets where the tracing ends
};

/// isolator-clears: opening an isolator stops no machine that does not stand behind it.
/// @param isolators  variables
/// @returns those of which something was found
std::set<std::uint32_t> decide_openings(Tools &tools, const std::vector<MachineSeen> &machines,
                                        const std::vector<std::pair<std::uint32_t, BehindIsolator>> &isolators,
                                        Decided &decided);

} // namespace stopspan
