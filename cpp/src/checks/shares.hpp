#pragma once

#include "checks/machine_check.hpp"
#include "checks/plain_witness.hpp"

namespace stopspan {

/// Which machine, load or device each part of a verdict is about: machines in order, then loads, then all the rest as
/// one, then devices as the circuit has them.
struct Shares {
    std::vector<std::size_t> cells;                  ///< per share: how many, one after the other in the matrix
    std::vector<std::vector<Decided::Count>> counts; ///< per share
    std::vector<std::uint32_t> of_finding;           ///< per finding of the verdict: its share
    std::vector<std::uint8_t> fed_back_left;         ///< per machine: Decided::fed_back_left
    bool ask_past_lines = false;                     ///< some: Decided::asks_past_lines
    std::vector<PlainWork> plain;                    ///< per share

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
