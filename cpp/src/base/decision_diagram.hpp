#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <stdexcept>
#include <vector>

namespace stopspan {

/// Sets of assignments of bits as reduced ordered binary decision diagrams: one node per set, so that equal sets are
/// the same number. Bryant, Graph-based algorithms for boolean function manipulation, 1986.
/// Here and not from a library, as that of Debian (BuDDy) keeps one table for the whole process, which threads and
/// several searches cannot share.
/// Bits are called by their level in the order; what stands together often should have levels side by side.
class Diagrams {
public:
    using Set = std::uint32_t;
    static constexpr Set nothing = 0, everything = 1;

    /// More nodes than asked for would be needed.
    struct TooLarge : std::runtime_error {
        TooLarge() : std::runtime_error("decision diagrams too large") {}
    };

    explicit Diagrams(std::size_t most_nodes);

    Set bit(std::uint32_t level) { return node(level, nothing, everything); }
    Set negation(Set a) { return choose(a, nothing, everything); }
    Set both(Set a, Set b) { return choose(a, b, nothing); }
    Set either(Set a, Set b) { return choose(a, everything, b); }
    Set differ(Set a, Set b) { return choose(a, negation(b), b); }
    Set same(Set a, Set b) { return choose(a, b, negation(b)); }
    Set without(Set a, Set b) { return both(a, negation(b)); }
    /// `a` where the condition holds, else `b`.
    Set choose(Set condition, Set a, Set b);
    /// Assignments that some values of these bits bring into both.
    /// @param levels  as a set: all of these bits on
    Set both_for_some(Set a, Set b, Set levels);
    Set for_some(Set a, Set levels) { return both_for_some(a, everything, levels); }
    /// Other levels for the bits, in the same order.
    /// @param to  per level
    Set renamed(Set a, const std::vector<std::uint32_t> &to);
    bool contains(Set a, const std::vector<std::uint8_t> &bits) const;
    /// One assignment, that with the fewest bits on; bits that do not matter are off. @pre not empty
    /// @param levels  how many there are
    std::vector<std::uint8_t> one_of(Set a, std::uint32_t levels);

    std::size_t nodes() const { return nodes_.size(); } ///< made so far

private:
    struct Node {
        std::uint32_t level;
        Set low, high;
    };
    struct Known {
        std::uint32_t operation;
        Set a, b, c, result;
    };
    Set node(std::uint32_t level, Set low, Set high);
    Known &known(std::uint32_t operation, Set a, Set b, Set c);
    Set rename(Set a, const std::vector<std::uint32_t> &to);
    std::uint32_t fewest(Set a);
    /// What was worked out of a node since start_visit().
    struct Visited {
        std::uint32_t visit = 0, value = 0;
    };
    void start_visit();
    bool met(Set a) const { return visited_[a].visit == visit_; }
    std::uint32_t meet(Set a, std::uint32_t value) {
        visited_[a] = {visit_, value};
        return value;
    }
    Set cofactor(Set a, std::uint32_t level, bool on) const {
        return nodes_[a].level != level ? a : on ? nodes_[a].high : nodes_[a].low;
    }
    void grow();

    std::size_t most_nodes_;
    std::vector<Node> nodes_;
    std::vector<Set> places_; ///< hash table of nodes; 0: free
    std::vector<Known> known_;
    std::vector<Visited> visited_; ///< per node
    std::uint32_t visit_ = 0;
};

} // namespace stopspan
