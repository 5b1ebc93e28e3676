#include "circuit/graph.hpp"

#include <boost/graph/biconnected_components.hpp>

#include <algorithm>
#include <map>

namespace stopspan {

BlockForest::BlockForest(const Compiled &circuit, bool with_poles) : vertex_of_(circuit.net_count, none) {
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
    graph_ = CircuitGraph(count);
    for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
        boost::add_edge(vertex(circuit.switches[i].a), vertex(circuit.switches[i].b), CircuitEdge{i, true}, graph_);
    for (std::uint32_t i = 0; i < circuit.impedances.size(); ++i)
        boost::add_edge(vertex(circuit.impedances[i].a), vertex(circuit.impedances[i].b), CircuitEdge{i, false},
                        graph_);
    find_blocks(circuit, with_poles);
}

void BlockForest::find_blocks(const Compiled &circuit, bool with_poles) {
    // biconnected_components mislabels parallel edges and loops: one edge a pair of vertices, with its contacts beside.
    struct Bundle {
        std::uint32_t index = 0;
    };
    using Simple = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS, boost::no_property, Bundle>;
    Simple simple(boost::num_vertices(graph_));
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> bundle_of;
    std::vector<std::vector<std::uint32_t>> bundles;
    for (std::uint32_t i = 0; i < circuit.switches.size(); ++i) {
        if (!with_poles && circuit.switches[i].pole)
            continue;
        // by value: minmax of temporaries would give references to nothing
        const std::pair<std::uint32_t, std::uint32_t> ends =
            std::minmax({vertex(circuit.switches[i].a), vertex(circuit.switches[i].b)});
        if (ends.first == ends.second)
            continue; // from pole to pole, or a loop: on no way of interest
        const auto [entry, fresh] = bundle_of.try_emplace(ends, static_cast<std::uint32_t>(bundles.size()));
        if (fresh) {
            bundles.emplace_back();
            boost::add_edge(ends.first, ends.second, Bundle{entry->second}, simple);
        }
        bundles[entry->second].push_back(i);
    }
    std::vector<std::size_t> label(bundles.size());
    const std::size_t count = boost::biconnected_components(
        simple, boost::make_iterator_property_map(label.begin(), boost::get(&Bundle::index, simple)));

    std::vector<std::vector<std::uint32_t>> members(count); // vertices of each block
    std::vector<std::vector<std::uint32_t>> blocks_at(boost::num_vertices(simple));
    blocks_.assign(count, {{}, none});
    for (const auto &[ends, bundle] : bundle_of) {
        const auto block = static_cast<std::uint32_t>(label[bundle]);
        blocks_[block].switches.insert(blocks_[block].switches.end(), bundles[bundle].begin(), bundles[bundle].end());
        for (const std::uint32_t end : {ends.first, ends.second}) {
            members[block].push_back(end);
            blocks_at[end].push_back(block);
        }
    }
    // Every tree is rooted at the poles, or where no pole is in reach at its first net.
    block_above_.assign(boost::num_vertices(simple), none);
    std::vector<std::uint8_t> reached(boost::num_vertices(simple), 0);
    for (std::uint32_t start = 0; start < reached.size(); ++start) {
        if (reached[start])
            continue;
        reached[start] = 1;
        std::vector<std::uint32_t> queue{start};
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (const std::uint32_t block : blocks_at[queue[k]]) {
                if (blocks_[block].toward_root != none)
                    continue;
                blocks_[block].toward_root = queue[k];
                for (const std::uint32_t vertex : members[block])
                    if (!reached[vertex]) {
                        reached[vertex] = 1;
                        block_above_[vertex] = block;
                        queue.push_back(vertex);
                    }
            }
    }
}

} // namespace stopspan
