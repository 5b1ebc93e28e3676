#pragma once

#include <cstddef>
#include <vector>

namespace stopspan {

struct ReadingOrder {
    std::vector<std::size_t> order; ///< every thing after all it needs; shorter than the input if there is a cycle
    std::vector<std::size_t> cycle; ///< each needs the next, the last the first; empty if there is none
};

/// An order in which things of one kind can be added when each must come after those it refers to. What is in such
/// an order already keeps it, so what was written from memory is read back the same.
/// @param needs  per thing the places of those it refers to
ReadingOrder reading_order(const std::vector<std::vector<std::size_t>> &needs);

} // namespace stopspan
