#pragma once

#include "circuit/compiled.hpp"

#include <span>
#include <vector>

namespace stopspan {

/// A list of indices for each of many things, all in one block of memory.
class IndexLists {
public:
    struct List : std::span<const std::uint32_t> {
        using span::span;
        operator std::vector<std::uint32_t>() const { return {begin(), end()}; }
    };
    /// @param visit  called twice with a function (thing, index) that puts an index at the end of a thing's list
    template <class Visit>
    IndexLists(std::size_t things, Visit &&visit) : first_(things + 1, 0) {
        visit([&](std::uint32_t thing, std::uint32_t) { ++first_[thing + 1]; });
        for (std::size_t i = 1; i < first_.size(); ++i)
            first_[i] += first_[i - 1];
        indices_.resize(first_.back());
        std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
        visit([&](std::uint32_t thing, std::uint32_t index) { indices_[next[thing]++] = index; });
    }
    List operator[](std::size_t thing) const {
        return {indices_.data() + first_[thing], indices_.data() + first_[thing + 1]};
    }

private:
    std::vector<std::uint32_t> first_, indices_;
};

/// Which parts of a compiled circuit hang on a net, move with a variable or belong to a device or machine: made once
/// for everything that asks per machine, so that one machine costs what stands around it and not the whole circuit.
struct Lookup {
    explicit Lookup(const Compiled &circuit);

    using Indices = std::vector<std::uint32_t>;
    IndexLists switches_at, impedances_at, sources_at; ///< per net
    IndexLists supplies_fed_at;                        ///< per net: sources that are fed from it
    IndexLists switches_of, poles_of;                  ///< per variable: its contacts, its power poles
    Indices armature_of;                               ///< per variable, timed too; or none
    IndexLists impedances_of;                          ///< per device
    Indices motor_of, load_of;                         ///< per device, or none
    IndexLists motors_of;                              ///< per machine
};

} // namespace stopspan
