#pragma once

#include "checks/fault_effects.hpp"
#include "checks/plain_witness.hpp"

namespace stopspan {

/// Which machine, load or device each part of a verdict is about: machines in order, then loads, then all the rest as
/// one, then devices as the circuit has them.
struct Shares {
    /// Of a finding: by rules, and then as Order has it, told by shares.
    struct Place {
        std::uint32_t rule, phase, share, detail;
        friend auto operator<=>(const Place &, const Place &) = default;
    };
    std::vector<std::size_t> cells;                  ///< per share: how many, one after the other in the matrix
    std::vector<std::vector<Decided::Count>> counts; ///< per share
    std::vector<std::uint32_t> of_finding;           ///< per finding of the verdict: its share
    std::vector<Place> places;                       ///< per finding, ascending
    std::vector<std::uint8_t> fed_back_left;         ///< per machine: Decided::fed_back_left
    bool ask_past_lines = false;                     ///< some: Decided::asks_past_lines
    bool indivisible = false;                        ///< some: Decided::indivisible
    std::vector<PlainWork> plain;                    ///< per share

    /// Stop devices stand in several parts of a circuit, so what is said of them is put together from what is seen in
    /// each.
    std::vector<ContactFed> contacts_fed;                       ///< of stop devices with several contacts
    std::vector<std::pair<FaultCase, FaultEffect>> stop_faults; ///< jammed, or their only contact off

    void add_device() { resize(counts.size() + 1); }
    void remove_last_device() { resize(counts.size() - 1); }

private:
    void resize(std::size_t count) {
        cells.resize(count);
        counts.resize(count);
        plain.resize(count);
    }
};

} // namespace stopspan
