#include "switching/network.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/biconnected_components.hpp>

#include <algorithm>
#include <map>

// Dead shorts: which fuses open, which sources are lost or collapse (DESIGN 4.2).

namespace stopspan {
namespace {

// A conductor, or a source's pole and what its potential refers to.
struct Tie {
    std::uint32_t a, b;
    Volts a_minus_b;
    const Switch *fuse = nullptr;
    std::size_t source = none;
};

// The ties on ways round which the potentials do not add up to nothing. In a block (what no single node parts) with
// one such way every tie lies on one: two ways lead from it to that, and of the three ways round at least two do not.
std::vector<const Tie *> off_balance(const std::vector<Tie> &ties) {
    std::map<std::uint32_t, std::size_t> vertex;
    for (const Tie &tie : ties)
        for (const std::uint32_t node : {tie.a, tie.b})
            vertex.try_emplace(node, vertex.size());
    // Half way along each tie stands a vertex: parallel edges are mislabelled.
    using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS, boost::no_property,
                                        boost::property<boost::edge_index_t, std::size_t>>;
    Graph graph(vertex.size() + ties.size());
    for (std::size_t i = 0; i < ties.size(); ++i) {
        boost::add_edge(vertex.at(ties[i].a), vertex.size() + i, 2 * i, graph);
        boost::add_edge(vertex.at(ties[i].b), vertex.size() + i, 2 * i + 1, graph);
    }
    std::vector<std::size_t> block(2 * ties.size());
    const std::size_t count = boost::biconnected_components(
        graph, boost::make_iterator_property_map(block.begin(), get(boost::edge_index, graph)));
    std::vector<std::vector<const Tie *>> inside(count);
    for (std::size_t i = 0; i < ties.size(); ++i)
        if (ties[i].a == ties[i].b || block[2 * i] == block[2 * i + 1])
            inside[block[2 * i]].push_back(&ties[i]);
    std::vector<const Tie *> found;
    for (const auto &each : inside) {
        std::map<std::uint32_t, Volts> known;
        bool balanced = true;
        for (std::size_t met = 1; met > 0;) { // from tie to tie
            met = 0;
            for (const Tie *tie : each) {
                const auto a = known.find(tie->a), b = known.find(tie->b);
                if (known.empty())
                    known[tie->a] = {};
                else if ((a == known.end()) == (b == known.end()))
                    continue;
                else if (a == known.end())
                    known[tie->a] = b->second + tie->a_minus_b;
                else
                    known[tie->b] = a->second - tie->a_minus_b;
                ++met;
            }
        }
        for (const Tie *tie : each)
            balanced &= (known.at(tie->a) - known.at(tie->b)).same(tie->a_minus_b);
        if (!balanced)
            found.insert(found.end(), each.begin(), each.end());
    }
    return found;
}

} // namespace

// One dead short: the smallest fuses on its paths open; without a fuse the protection ahead clears it.
bool Network::clear_short(State &state) {
    const auto &fuse_rating_a = circuit_.fuse_rating_a;
    State fuses_out = state;
    std::vector<const Switch *> fuses;
    for (const Switch &contact : circuit_.switches)
        if (contact.variable != none && fuse_rating_a[contact.variable] > 0 && contact.closed(state)) {
            fuses.push_back(&contact);
            fuses_out[contact.variable] = 1;
        }
    join_contacts(fuses_out);
    std::vector<Tie> ties{{root(circuit_.earth), ground_, {}}};
    for (std::size_t s = 0; s < circuit_.sources.size(); ++s) {
        const Source &source = circuit_.sources[s];
        const bool gives = alive_[s] && !collapsed_[s];
        const std::uint32_t reference = source.earthed != none ? ground_ : ground_ + 1 + static_cast<std::uint32_t>(s);
        for (std::uint32_t p = 0; p < source.poles.size(); ++p)
            if (!pole_lost(state, source, p) && (gives || p == source.earthed))
                ties.push_back({root(source.poles[p].net), reference, gives ? source_volts(s, p) : Volts{}, nullptr,
                                p == source.earthed ? none : s});
    }
    std::vector<const Tie *> shorting = off_balance(ties);
    if (shorting.empty()) { // no way leads round the fuses: they have a say
        for (const Switch *fuse : fuses)
            ties.push_back({root(fuse->a), root(fuse->b), {}, fuse});
        shorting = off_balance(ties);
    }
    std::vector<std::size_t> involved;
    std::vector<const Switch *> opening;
    double smallest_a = 0;
    for (const Tie *tie : shorting) {
        if (tie->source != none)
            involved.push_back(tie->source);
        if (!tie->fuse)
            continue;
        const double rating = fuse_rating_a[tie->fuse->variable];
        if (opening.empty() || rating < smallest_a) {
            opening.clear();
            smallest_a = rating;
        }
        if (rating == smallest_a)
            opening.push_back(tie->fuse);
    }
    std::sort(involved.begin(), involved.end());
    involved.erase(std::unique(involved.begin(), involved.end()), involved.end());

    // A supply that cannot give the current which opens the fuse collapses instead, for as long as the short lasts.
    bool collapse = false;
    for (const std::size_t s : involved) {
        const double limit_a = circuit_.sources[s].short_circuit_a;
        if (limit_a > 0 && (opening.empty() || limit_a < 10 * smallest_a)) {
            collapsed_[s] = 1;
            collapse = true;
            short_notes_.push_back(circuit_.device_names[circuit_.sources[s].device] +
                                   ": shorted, its output collapses without opening a fuse");
        }
    }
    if (collapse)
        return true;
    for (const Switch *fuse : opening)
        state[fuse->variable] = 1;
    if (!opening.empty())
        return true;
    for (const std::size_t s : involved) {
        const Source &source = circuit_.sources[s];
        for (std::uint32_t p = 0; p < source.poles.size(); ++p)
            if (p != source.earthed)
                state[source.variable] = static_cast<std::uint8_t>(state[source.variable] | 1U << p);
        short_notes_.push_back(circuit_.device_names[source.device] +
                               ": dead short with no fuse in its path; the protection ahead takes it out");
    }
    return !involved.empty();
}

} // namespace stopspan
