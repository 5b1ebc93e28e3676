#pragma once

#include "checks/crossings.hpp"
#include "checks/influence.hpp"
#include "checks/loose_findings.hpp"
#include "checks/stops_seen.hpp"

#include <unordered_map>

namespace stopspan {

using Indices = std::vector<std::uint32_t>;

/// Who is asked what, by name and by place in the circuit. Stays as it is while wires are moved.
struct Register {
    Register(const Circuit &circuit, const CheckOptions &options);

    Indices stops;                                          ///< devices
    std::unordered_map<std::string, Indices> starts_of;     ///< per machine: devices declared for it
    std::unordered_map<std::string, Indices> asked_of;      ///< per machine or load: cells asked
    std::unordered_map<std::string, std::uint32_t> machine; ///< share, by name
    std::unordered_map<std::uint32_t, std::uint32_t> load;  ///< share, by device
};

/// A verdict with all that is needed to change a part of it.
struct Standing {
    Circuit circuit;
    Verdict verdict; ///< its findings as `findings` left them
    Shares shares;
    LooseFindings findings;
    std::size_t decided = 0;
    bool divisible = false;       ///< a moved wire may be decided in a part of the circuit
    bool reach = false;           ///< stop-reach is wanted
    bool weighs_wires = false;    ///< what is not checked hangs on whether any is long
    std::size_t first_device = 0; ///< share
    CutOutOf whole{};
    PlainWork plain;
    std::optional<Influence> influence;
    std::optional<Register> known;
    std::optional<StopsSeen> stops;
    Crossings crossings;
    std::unordered_map<std::string, std::size_t> cells_of; ///< per stop: how many in the matrix
};

/// Something fails or may fail.
bool any_open(const Verdict &verdict);

/// Checks all of it.
Standing checked(Circuit circuit, const CheckOptions &options);

} // namespace stopspan
