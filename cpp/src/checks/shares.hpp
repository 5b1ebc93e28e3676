#pragma once

#include "checks/machine_check.hpp"
#include "checks/plain_witness.hpp"

namespace stopspan {

/// Which machine or load each part of a verdict is about: machines in order, then loads, then all the rest as one.
struct Shares {
    std::vector<std::size_t> cells;                  ///< per share: how many, one after the other in the matrix
    std::vector<std::vector<Decided::Count>> counts; ///< per share
    std::vector<std::uint32_t> of_finding;           ///< per finding of the verdict: its share
    std::vector<std::uint8_t> fed_back_left;         ///< per machine: Decided::fed_back_left
    bool ask_past_lines = false;                     ///< some: Decided::asks_past_lines
    std::vector<PlainWork> plain;                    ///< per machine; the last is for findings that name none
};

} // namespace stopspan
