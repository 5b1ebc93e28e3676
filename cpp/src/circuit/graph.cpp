#include "circuit/graph.hpp"

#include <boost/graph/biconnected_components.hpp>
#include <boost/graph/compressed_sparse_row_graph.hpp>

namespace stopspan {
namespace {

struct Arc {
    std::uint32_t edge = 0;
};
// An undirected graph has no compressed form in Boost.Graph: every edge is two arcs, which its depth-first search takes
// as it takes an edge.
using Graph = boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, Arc>;

} // namespace

BlockForest::BlockForest(const Compiled &circuit, bool with_poles, std::span<const std::uint32_t> fed)
    : vertex_of_(circuit.net_count, none) {
    vertex_of_[circuit.earth] = 0;
    for (const Source &source : circuit.sources)
        for (const Source::Pole &pole : source.poles)
            vertex_of_[pole.net] = 0;
    if (!with_poles)
        for (const Switch &contact : circuit.switches)
            if (contact.pole)
                vertex_of_[contact.a] = vertex_of_[contact.b] = 0;
    std::uint32_t count = 1;
    for (std::uint32_t &vertex : vertex_of_)
        if (vertex == none)
            vertex = count++;
    find_blocks(circuit, with_poles, fed, count);
}

void BlockForest::find_blocks(const Compiled &circuit, bool with_poles, std::span<const std::uint32_t> fed,
                              std::uint32_t vertices) {
    // From pole to pole, or a loop: on no way of interest.
    const auto counts = [&](const Switch &contact) {
        return (with_poles || !contact.pole) && vertex(contact.a) != vertex(contact.b);
    };
    const auto contacts = static_cast<std::uint32_t>(circuit.switches.size()); // the other ways are numbered after them
    std::vector<std::uint32_t> first(vertices + 1, 0);
    for (const Switch &contact : circuit.switches)
        if (counts(contact)) {
            ++first[vertex(contact.a) + 1];
            ++first[vertex(contact.b) + 1];
        }
    for (const std::uint32_t net : fed)
        if (vertex(net) != 0) {
            ++first[vertex(net) + 1];
            ++first[1];
        }
    for (std::uint32_t v = 0; v < vertices; ++v)
        first[v + 1] += first[v];
    struct Way {
        std::uint32_t to, contact;
    };
    std::vector<Way> ways(first[vertices]);
    {
        std::vector<std::uint32_t> next(first.begin(), first.end() - 1);
        for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
            if (const Switch &contact = circuit.switches[i]; counts(contact)) {
                ways[next[vertex(contact.a)]++] = {vertex(contact.b), i};
                ways[next[vertex(contact.b)]++] = {vertex(contact.a), i};
            }
        for (std::uint32_t i = 0; i < fed.size(); ++i)
            if (const std::uint32_t v = vertex(fed[i]); v != 0) {
                ways[next[v]++] = {0, contacts + i};
                ways[next[0]++] = {v, contacts + i};
            }
    }
    // biconnected_components mislabels parallel edges: of several contacts between two vertices one stands for all.
    std::vector<std::uint32_t> stands_for(contacts + fed.size(), none), last(vertices, none), met(vertices, none);
    std::vector<std::pair<std::uint32_t, std::uint32_t>> arcs;
    std::vector<Arc> edges;
    arcs.reserve(ways.size());
    edges.reserve(ways.size());
    for (std::uint32_t v = 0; v < vertices; ++v)
        for (std::uint32_t i = first[v]; i < first[v + 1]; ++i) {
            const auto [to, contact] = ways[i];
            if (last[to] != v) {
                last[to] = v;
                met[to] = contact;
                arcs.emplace_back(v, to);
                edges.push_back({contact});
            }
            stands_for[contact] = met[to]; // the first by index, from either end
        }
    const Graph graph(boost::edges_are_sorted, arcs.begin(), arcs.end(), edges.begin(), vertices);
    std::vector<std::uint32_t> label(stands_for.size(), none);
    const std::size_t count = boost::biconnected_components(
        graph, boost::make_iterator_property_map(label.begin(), boost::get(&Arc::edge, graph)));

    first_switch_.assign(count + 1, 0);
    for (std::uint32_t i = 0; i < contacts; ++i)
        if (stands_for[i] != none)
            ++first_switch_[label[stands_for[i]] + 1];
    for (std::size_t b = 0; b < count; ++b)
        first_switch_[b + 1] += first_switch_[b];
    switches_.resize(first_switch_[count]);
    std::vector<std::uint32_t> next(first_switch_.begin(), first_switch_.end() - 1);
    for (std::uint32_t i = 0; i < contacts; ++i)
        if (stands_for[i] != none)
            switches_[next[label[stands_for[i]]]++] = i;

    // Every tree is rooted at the poles, or where no pole is in reach at its first net. A block is entered at one
    // vertex only, and the others of it are reached through its own contacts.
    toward_root_.assign(count, none);
    block_above_.assign(vertices, none);
    std::vector<std::uint8_t> reached(vertices, 0);
    std::vector<std::uint32_t> queue;
    for (std::uint32_t start = 0; start < vertices; ++start) {
        if (reached[start])
            continue;
        reached[start] = 1;
        queue.assign(1, start);
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (std::uint32_t i = first[queue[k]]; i < first[queue[k] + 1]; ++i) {
                const std::uint32_t to = ways[i].to, block = label[stands_for[ways[i].contact]];
                if (toward_root_[block] == none)
                    toward_root_[block] = queue[k];
                if (!reached[to]) {
                    reached[to] = 1;
                    block_above_[to] = block;
                    queue.push_back(to);
                }
            }
    }
}

} // namespace stopspan
