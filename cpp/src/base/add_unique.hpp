#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

namespace stopspan {

/// Puts a value at the end of a short list, unless it is in it.
inline void add_unique(std::vector<std::uint32_t> &list, std::uint32_t value) {
    if (std::find(list.begin(), list.end(), value) == list.end())
        list.push_back(value);
}

} // namespace stopspan
