#pragma once

#include "sheets/current_paths.hpp"

#include "stopspan/description.hpp"

#include <string>
#include <vector>

namespace stopspan {

/// Parts that are drawn together on one sheet or on sheets that follow each other.
struct CircuitGroup {
    enum class Kind { supply, machine_power, machine_control, zone, shared } kind;
    std::string title;
    std::string joint_title;        ///< of a sheet that holds this group and the other one of the same joint title
    std::vector<std::size_t> parts; ///< indices, in order
    bool in_rows() const { return kind == Kind::supply || kind == Kind::machine_power; }
};

/// Every part is in exactly one group. A machine's power circuit is what leads to its motors alone; its control
/// circuit is what its contactors' coils hang on, shared pieces apart.
std::vector<CircuitGroup> circuit_groups(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts,
                                         const Description &description);

} // namespace stopspan
