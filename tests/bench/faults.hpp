#pragma once

#include "campus.hpp"

namespace stopspan::bench {

/// Times what every single fault of a campus without mistakes takes away, on one thread and on all.
/// @returns how many kinds of fault do not take something away as often as counted by hand, or not alike on all threads
std::size_t time_faults(const Campus &campus, std::size_t machines);

} // namespace stopspan::bench
