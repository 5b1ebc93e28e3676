#pragma once

#include "checks/context.hpp"
#include "switching/faults.hpp"

namespace stopspan {

/// Contacts that stand in a row, with nothing else on the nets between them: whichever of them opens, the same is cut.
/// Stops that open the same rows and do nothing else differ by their names alone.
class StopRows {
public:
    explicit StopRows(const Context &context);

    /// Of the stops (indices into Context::stops) that differ by their names alone the first.
    std::uint32_t first_alike(std::uint32_t stop) const { return first_alike_[stop]; }
    /// A net between two contacts of a row.
    struct Place {
        std::uint32_t row = none, after = none; ///< after so many contacts of the row
    };
    const Place &place_of(std::uint32_t net) const { return place_[net]; }
    std::uint32_t row_of(std::uint32_t contact) const { return row_[contact]; }
    std::span<const std::uint32_t> contacts(std::uint32_t row) const { ///< in order
        return {contacts_.data() + first_contact_[row], contacts_.data() + first_contact_[row + 1]};
    }
    /// Is this contact one of a stop that only opens rows?
    bool of_opening_stop(std::uint32_t contact) const;

private:
    void walk(std::uint32_t first, std::uint32_t from, const std::vector<std::uint8_t> &joins);

    const Context &context_;
    std::vector<std::uint32_t> row_;                      ///< per contact
    std::vector<Place> place_;                            ///< per net
    std::vector<std::uint32_t> first_contact_, contacts_; ///< per row
    std::vector<std::uint8_t> only_opens_;                ///< per stop
    std::vector<std::uint32_t> first_alike_;              ///< per stop
};

/// The stops that must cut a machine, told apart as far as faults at the nets between their contacts tell them apart.
struct StopGroups {
    StopGroups(const StopRows &rows, const Context &context, const MachineSeen &machine, std::span<const Fault> faults);

    std::map<std::uint32_t, std::uint32_t> group_of; ///< by stop
    std::vector<std::vector<std::uint32_t>> stops;   ///< per group, in order of the circuit
    /// Faults with the same words do the same to the machine, group by group; empty: there are no others like these.
    std::string faults_like_these;
};

} // namespace stopspan
