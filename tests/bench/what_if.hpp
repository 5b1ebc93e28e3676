#pragma once

#include "campus.hpp"

#include "stopspan/check.hpp"

namespace stopspan::bench {

/// Everything that a user sees of two verdicts is the same.
bool same(const Verdict &a, const Verdict &b);

/// Moves one wire after another, spread over the areas, asks what changes, and prints how long an answer takes, and how
/// long a check of the whole.
/// @param rules  what they are called
/// @returns how many of the answers that were compared with a check of the whole are wrong
std::size_t time_what_if(const Campus &campus, const CheckOptions &options, const char *rules, std::size_t most_tried);

} // namespace stopspan::bench
