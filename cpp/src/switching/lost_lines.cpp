#include "switching/lost_lines.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <tuple>

namespace stopspan {
namespace {

// A net with a pole that is not earthed, and its source.
struct Line {
    std::uint32_t net, source;
    friend auto operator<=>(Line, Line) = default;
};

bool one_can_be_lost(const Source &source) {
    return source.feed == Source::Feed::own && source.poles.size() > 2;
}

} // namespace

std::vector<std::uint8_t> fed_when_lost(const Compiled &circuit) {
    std::vector<std::vector<std::uint32_t>> sources_at(circuit.net_count);
    std::vector<std::uint8_t> ends(circuit.net_count, 0); // here every piece ends
    ends[circuit.earth] = 1;
    for (std::uint32_t s = 0; s < circuit.sources.size(); ++s)
        for (std::size_t p = 0; p < circuit.sources[s].poles.size(); ++p) {
            const std::uint32_t net = circuit.sources[s].poles[p].net;
            ends[net] = 1;
            if (p != circuit.sources[s].earthed)
                sources_at[net].push_back(s);
        }
    std::vector<std::pair<std::uint32_t, std::uint32_t>> parts;
    for (const Switch &contact : circuit.switches)
        if (contact.closed_at != 0)
            parts.emplace_back(contact.a, contact.b);
    for (const Impedance &load : circuit.impedances)
        parts.emplace_back(load.a, load.b);
    boost::disjoint_sets_with_storage<> pieces(circuit.net_count);
    for (const auto &[a, b] : parts)
        if (!ends[a] && !ends[b])
            pieces.union_set(a, b);
    struct OfPiece {
        std::size_t piece;
        Line line;
        auto operator<=>(const OfPiece &) const = default;
    };
    std::vector<OfPiece> lines;
    const auto touches = [&](std::size_t piece, std::uint32_t net) {
        for (const std::uint32_t source : sources_at[net])
            lines.push_back({piece, {net, source}});
    };
    for (std::size_t i = 0; i < parts.size(); ++i) {
        const auto &[a, b] = parts[i];
        const std::size_t piece = !ends[a]   ? pieces.find_set(a)
                                  : !ends[b] ? pieces.find_set(b)
                                             : circuit.net_count + i; // straight from one to the other
        for (const std::uint32_t net : {a, b})
            if (ends[net])
                touches(piece, net);
    }
    std::sort(lines.begin(), lines.end());
    std::vector<std::uint8_t> fed(circuit.net_count, 0);
    for (auto from = lines.begin(); from != lines.end();) {
        const auto to = std::find_if(from, lines.end(), [&](const OfPiece &one) { return one.piece != from->piece; });
        const Line &first = from->line, &last = (to - 1)->line;
        const bool several_sources =
            std::any_of(from, to, [&](const OfPiece &one) { return one.line.source != first.source; });
        if (first.net != last.net && (several_sources || one_can_be_lost(circuit.sources[first.source])))
            for (auto one = from; one != to; ++one)
                fed[one->line.net] = 1;
        from = to;
    }
    return fed;
}

} // namespace stopspan
