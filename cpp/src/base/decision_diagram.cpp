#include "base/decision_diagram.hpp"

#include <algorithm>
#include <limits>

namespace stopspan {
namespace {

constexpr std::uint32_t end_level = std::numeric_limits<std::uint32_t>::max();
constexpr std::size_t most_known = std::size_t{1} << 16;
constexpr std::uint32_t choosing = 1, quantifying = 2;

std::size_t mixed(std::uint32_t a, std::uint32_t b, std::uint32_t c) {
    std::uint64_t h = a * 0x9e3779b97f4a7c15U;
    h = (h ^ (h >> 29) ^ b) * 0xbf58476d1ce4e5b9U;
    h = (h ^ (h >> 32) ^ c) * 0x94d049bb133111ebU;
    return static_cast<std::size_t>(h ^ (h >> 31));
}

} // namespace

Diagrams::Diagrams(std::size_t most_nodes)
    : most_nodes_(most_nodes), nodes_{{end_level, nothing, nothing}, {end_level, everything, everything}},
      places_(1024, 0), known_(most_known) {}

Diagrams::Set Diagrams::node(std::uint32_t level, Set low, Set high) {
    if (low == high)
        return low;
    for (std::size_t at = mixed(level, low, high);; ++at) {
        Set &place = places_[at & (places_.size() - 1)];
        if (place == 0) {
            if (nodes_.size() >= most_nodes_)
                throw TooLarge();
            const auto fresh = static_cast<Set>(nodes_.size());
            nodes_.push_back({level, low, high});
            place = fresh;
            if (2 * nodes_.size() > places_.size())
                grow();
            return fresh;
        }
        const Node &one = nodes_[place];
        if (one.level == level && one.low == low && one.high == high)
            return place;
    }
}

void Diagrams::grow() {
    places_.assign(4 * places_.size(), 0);
    for (Set i = 2; i < nodes_.size(); ++i) {
        std::size_t at = mixed(nodes_[i].level, nodes_[i].low, nodes_[i].high);
        while (places_[at & (places_.size() - 1)] != 0)
            ++at;
        places_[at & (places_.size() - 1)] = i;
    }
}

Diagrams::Known &Diagrams::known(std::uint32_t operation, Set a, Set b, Set c) {
    return known_[mixed(a, b, c + operation * 0x10001U) & (most_known - 1)];
}

Diagrams::Set Diagrams::choose(Set condition, Set a, Set b) {
    if (condition == everything || a == b)
        return a;
    if (condition == nothing)
        return b;
    if (a == everything && b == nothing)
        return condition;
    if (a == condition)
        a = everything;
    if (b == condition)
        b = nothing;
    if (b == nothing && a > 1 && a < condition) // the same either way round
        std::swap(a, condition);
    if (a == everything && b > 1 && b < condition)
        std::swap(b, condition);
    if (const Known &met = known(choosing, condition, a, b);
        met.operation == choosing && met.a == condition && met.b == a && met.c == b)
        return met.result;
    const std::uint32_t level = std::min({nodes_[condition].level, nodes_[a].level, nodes_[b].level});
    const Set low = choose(cofactor(condition, level, false), cofactor(a, level, false), cofactor(b, level, false));
    const Set high = choose(cofactor(condition, level, true), cofactor(a, level, true), cofactor(b, level, true));
    const Set result = node(level, low, high);
    known(choosing, condition, a, b) = {choosing, condition, a, b, result};
    return result;
}

Diagrams::Set Diagrams::both_for_some(Set a, Set b, Set levels) {
    if (a == nothing || b == nothing)
        return nothing;
    if (a == everything && b == everything)
        return everything;
    const std::uint32_t level = std::min(nodes_[a].level, nodes_[b].level);
    while (nodes_[levels].level < level)
        levels = nodes_[levels].high;
    if (levels == everything)
        return both(a, b);
    if (a > b)
        std::swap(a, b);
    if (const Known &met = known(quantifying, a, b, levels);
        met.operation == quantifying && met.a == a && met.b == b && met.c == levels)
        return met.result;
    const bool asked = nodes_[levels].level == level;
    const Set further = asked ? nodes_[levels].high : levels;
    const Set low = both_for_some(cofactor(a, level, false), cofactor(b, level, false), further);
    Set result;
    if (asked && low == everything) {
        result = everything;
    } else {
        const Set high = both_for_some(cofactor(a, level, true), cofactor(b, level, true), further);
        result = asked ? either(low, high) : node(level, low, high);
    }
    known(quantifying, a, b, levels) = {quantifying, a, b, levels, result};
    return result;
}

Diagrams::Set Diagrams::renamed(Set a, const std::vector<std::uint32_t> &to) {
    start_visit();
    return rename(a, to);
}

Diagrams::Set Diagrams::rename(Set a, const std::vector<std::uint32_t> &to) {
    if (a <= everything)
        return a;
    if (met(a))
        return visited_[a].value;
    const Node one = nodes_[a];
    const Set low = rename(one.low, to), high = rename(one.high, to);
    return meet(a, node(to[one.level], low, high));
}

void Diagrams::start_visit() {
    if (++visit_ == 0) {
        visited_.clear();
        visit_ = 1;
    }
    visited_.resize(nodes_.size());
}

bool Diagrams::contains(Set a, const std::vector<std::uint8_t> &bits) const {
    while (a > everything)
        a = bits[nodes_[a].level] != 0 ? nodes_[a].high : nodes_[a].low;
    return a == everything;
}

// The fewest bits that an assignment of it has on.
std::uint32_t Diagrams::fewest(Set a) {
    constexpr std::uint32_t never = end_level;
    if (a <= everything)
        return a == everything ? 0 : never;
    if (met(a))
        return visited_[a].value;
    const std::uint32_t low = fewest(nodes_[a].low), high = fewest(nodes_[a].high);
    return meet(a, std::min(low, high == never ? never : high + 1));
}

std::vector<std::uint8_t> Diagrams::one_of(Set a, std::uint32_t levels) {
    start_visit();
    std::vector<std::uint8_t> bits(levels, 0);
    while (a > everything) {
        const Node &one = nodes_[a];
        const bool on = fewest(one.low) != fewest(a);
        bits[one.level] = on;
        a = on ? one.high : one.low;
    }
    return bits;
}

} // namespace stopspan
