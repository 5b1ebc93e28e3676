#pragma once

#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <vector>

namespace stopspan {

/// A small set of indices in the order they were put in. Costs what it holds, not the size of what is indexed: many are
/// made for every machine of a site.
class IndexSet {
public:
    IndexSet() = default;
    template <class Range>
    explicit IndexSet(const Range &values) {
        insert(values.begin(), values.end());
    }

    /// @returns true if it was not there
    bool insert(std::uint32_t value) {
        if (2 * (items_.size() + 1) > places_.size())
            grow();
        for (std::size_t at = place(value);; at = (at + 1) & (places_.size() - 1)) {
            if (places_[at] == value)
                return false;
            if (places_[at] == empty) {
                places_[at] = value;
                items_.push_back(value);
                return true;
            }
        }
    }
    template <class Iterator>
    void insert(Iterator from, Iterator to) {
        for (; from != to; ++from)
            insert(*from);
    }
    bool contains(std::uint32_t value) const {
        if (places_.empty())
            return false;
        for (std::size_t at = place(value); places_[at] != empty; at = (at + 1) & (places_.size() - 1))
            if (places_[at] == value)
                return true;
        return false;
    }

    /// Empty again, with room for as many as were in it.
    void clear() {
        if (items_.empty())
            return;
        places_.assign(std::min(places_.size(), std::max(least_places, std::bit_ceil(2 * (items_.size() + 1)))), empty);
        shift_ = 32 - static_cast<unsigned>(std::countr_zero(places_.size()));
        items_.clear();
    }

    std::size_t size() const { return items_.size(); }
    std::uint32_t operator[](std::size_t index) const { return items_[index]; }
    auto begin() const { return items_.begin(); }
    auto end() const { return items_.end(); }
    /// All of it in ascending order.
    std::vector<std::uint32_t> sorted() const {
        std::vector<std::uint32_t> sorted(items_.begin(), items_.end()); // no larger than it must be: it is kept
        std::sort(sorted.begin(), sorted.end());
        return sorted;
    }

private:
    static constexpr std::uint32_t empty = std::numeric_limits<std::uint32_t>::max(); ///< no index is that large
    static constexpr std::size_t least_places = 64;
    // Multiplied by 2^32 over the golden ratio, the high bits: strides of indices do not fall on one place.
    std::size_t place(std::uint32_t value) const { return (value * 2654435769U) >> shift_; }
    void grow() {
        std::vector<std::uint32_t> old(std::max(least_places, 2 * places_.size()), empty);
        places_.swap(old);
        shift_ = 32 - static_cast<unsigned>(std::countr_zero(places_.size()));
        for (const std::uint32_t value : items_) {
            std::size_t at = place(value);
            while (places_[at] != empty)
                at = (at + 1) & (places_.size() - 1);
            places_[at] = value;
        }
        items_.reserve(places_.size() / 2);
    }

    std::vector<std::uint32_t> items_, places_;
    unsigned shift_ = 0;
};

} // namespace stopspan
