#pragma once

#include <cstdint>
#include <utility>
#include <vector>

namespace stopspan {

/// What hangs on the rest by one place alone is a dead end: whatever comes from the start does not go through it and
/// back.
/// @param edges  between vertices, either way; several may join the same two
/// @returns per vertex the last one on every way from the start to it that is itself in no dead end: itself where that
///          holds of it; the start and what it does not lead to stand for themselves
std::vector<std::uint32_t> without_dead_ends(std::uint32_t vertices,
                                             const std::vector<std::pair<std::uint32_t, std::uint32_t>> &edges,
                                             std::uint32_t start);

} // namespace stopspan
