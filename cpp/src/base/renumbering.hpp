#pragma once

#include <algorithm>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

namespace stopspan {

/// New numbers of a few out of many indices. Costs what it holds, not the size of what is indexed: many are made for
/// every machine of a site.
class Renumbering {
public:
    /// @pre `index` is greater than all that were added
    void add(std::uint32_t index, std::uint32_t number) { numbers_.emplace_back(index, number); }
    /// The number of an index; the largest value there is (none) where it has none.
    std::uint32_t operator[](std::uint32_t index) const {
        const auto at = std::lower_bound(numbers_.begin(), numbers_.end(), index,
                                         [](const auto &each, std::uint32_t value) { return each.first < value; });
        return at != numbers_.end() && at->first == index ? at->second : std::numeric_limits<std::uint32_t>::max();
    }

private:
    std::vector<std::pair<std::uint32_t, std::uint32_t>> numbers_;
};

} // namespace stopspan
