#pragma once

#include "checks/shares.hpp"

#include <map>
#include <optional>
#include <unordered_map>

namespace stopspan {

/// What one rule says of a stop device.
struct OfStop {
    std::uint32_t device;
    std::string_view rule;
    Decided decided;
};

/// What is seen of stop devices in a part of a circuit, by the numbers of the whole.
struct StopsInPart {
    std::vector<std::uint32_t> machines; ///< that the part decides, ascending
    std::vector<ContactFed> contacts_fed;
    std::vector<std::pair<FaultCase, FaultEffect>> faults; ///< of these machines alone
};

/// Contacts of a stop device stand in many parts of a circuit, and the machines it must cut do. What is said of it is
/// put together from all of them: of which contacts are fed from where, and of what each machine loses when it jams or
/// its contact comes off. That follows from the machine's own part alone, so what other parts gave stands.
class StopsSeen {
public:
    /// @param shares  from which it takes what it needs
    /// @param part_of_machine  the same number for machines of one part
    StopsSeen(const Context &context, Shares &shares, const std::vector<std::uint32_t> &part_of_machine);

    /// Everything is known that is needed to put this in.
    bool covers(const StopsInPart &part) const;
    /// @returns what is said of those of which something changed
    /// @pre covers(part)
    std::vector<OfStop> put(StopsInPart part);

private:
    using Faults = std::vector<std::pair<FaultCase, FaultEffect>>; ///< of one stop, in order
    bool replace(FaultEffect &all, FaultEffect part, const std::vector<std::uint32_t> &machines);
    OfStop told(std::uint32_t device, const Faults &faults) const;

    FaultWords words_;
    Targets targets_;
    std::size_t state_budget_;
    std::unordered_map<std::uint32_t, std::size_t> asked_; ///< per stop device: machines that it must cut
    std::map<std::uint32_t, Faults> faults_;               ///< of stops that must cut machines in several parts
    /// Per stop device with several contacts, by its terminals.
    std::map<std::uint32_t, std::map<std::uint32_t, std::set<std::string>>> fed_;
};

} // namespace stopspan
