#pragma once

#include "sheets/row_plan.hpp"

#include <optional>
#include <span>
#include <vector>

namespace stopspan {

/// A two-ended part between two levels; level k is the channel above row k.
struct PathStep {
    std::size_t part;
    bool turned = false; ///< second terminal above
    NetId upper, lower;
    int from = 0, to = 1; ///< levels; from < to
    int row = 0;          ///< of its symbol; the rest is wire
    int folds = 0;        ///< how often its chain had to begin anew at the top before it
};
/// Steps on one vertical line, each beginning where the last one ended.
struct CurrentPath {
    std::vector<PathStep> steps;
    std::size_t family = 0; ///< paths that belong beside each other
};

/// Turns a set of two-ended parts into current paths: whatever the circuit, also one that no arrangement made.
/// Every part becomes one step. Contacts are ordered by their distance from the live pole; nets get levels such that
/// current flows down; loads and what is between a load and the earthed pole stand at the bottom.
/// @param members  part indices
/// @param most_rows  longer chains go on in further paths, joined by name
std::vector<CurrentPath> current_paths(std::span<const std::size_t> members, std::span<const Part> parts,
                                       const Circuit &circuit, const NetFacts &facts, int most_rows);

} // namespace stopspan
