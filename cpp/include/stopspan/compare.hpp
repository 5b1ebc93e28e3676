#pragma once

#include "stopspan/verdict.hpp"

#include <optional>
#include <string>
#include <vector>

namespace stopspan {

/// A cell of the matrix that both checks have, and that differs.
struct CellChange {
    MatrixCell before, now;
};

/// A finding that only one of two checks has, or that has another status or another text. What rule and subjects name
/// is one finding.
struct FindingChange {
    std::optional<Finding> before, now; ///< one of them at least
};

/// What two checks tell apart.
struct Comparison {
    std::vector<std::string> new_stops, gone_stops;
    std::vector<std::string> new_machines, gone_machines; ///< kept loads, too
    std::vector<CellChange> cells;
    std::vector<FindingChange> findings; ///< of rules that both checks went by
    /// All of it in words, what is alike in one sentence; what matters most comes first. Empty: nothing changed.
    std::vector<std::string> sentences;
    bool changed() const { return !sentences.empty(); }
};

/// Compares two checks, as before and after a change. Witnesses, repairs and sources are not compared: they follow from
/// the rest, and another witness of the same failure is no news.
Comparison compare(const Verdict &before, const Verdict &now);

} // namespace stopspan
