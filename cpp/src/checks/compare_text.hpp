#pragma once

#include "stopspan/compare.hpp"

namespace stopspan {

/// A verdict that is compared, or the part of it that may differ.
struct Compared {
    const Verdict &verdict;
    bool ok; ///< of the whole verdict
};

/// compare(), where the stops and machines that came and went are known.
/// @param names  has these, and nothing else yet
Comparison compare(const Compared &before, const Compared &now, Comparison names);

/// The sentences of a comparison whose other parts are there.
std::vector<std::string> sentences_of(const Comparison &comparison, const Compared &before, const Compared &now);

/// Did a check go by a rule?
bool went_by(const Verdict &verdict, const std::string &rule);
/// Did it make a matrix?
bool has_matrix(const Verdict &verdict);

} // namespace stopspan
