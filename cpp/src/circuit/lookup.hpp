#pragma once

#include "circuit/compiled.hpp"

#include <vector>

namespace stopspan {

/// Which parts of a compiled circuit hang on a net, move with a variable or belong to a device or machine: made once
/// for everything that asks per machine, so that one machine costs what stands around it and not the whole circuit.
struct Lookup {
    explicit Lookup(const Compiled &circuit);

    using Indices = std::vector<std::uint32_t>;
    std::vector<Indices> switches_at, impedances_at, sources_at; ///< per net
    std::vector<Indices> supplies_fed_at;                        ///< per net: sources that are fed from it
    std::vector<Indices> switches_of, poles_of;                  ///< per variable: its contacts, its power poles
    Indices armature_of;                                         ///< per variable, timed too; or none
    std::vector<Indices> impedances_of;                          ///< per device
    Indices motor_of, load_of;                                   ///< per device, or none
    std::vector<Indices> motors_of;                              ///< per machine
};

} // namespace stopspan
