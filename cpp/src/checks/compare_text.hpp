#pragma once

#include "stopspan/compare.hpp"

namespace stopspan {

/// The sentences of a comparison whose other parts are there.
std::vector<std::string> sentences_of(const Comparison &comparison, const Verdict &before, const Verdict &now);

/// Did a check go by a rule?
bool went_by(const Verdict &verdict, const std::string &rule);
/// Did it make a matrix?
bool has_matrix(const Verdict &verdict);

} // namespace stopspan
