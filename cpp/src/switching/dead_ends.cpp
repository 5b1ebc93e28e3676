#include "switching/dead_ends.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/biconnected_components.hpp>
#include <boost/iterator/function_output_iterator.hpp>

#include <numeric>

namespace stopspan {

std::vector<std::uint32_t> without_dead_ends(std::uint32_t vertices,
                                             const std::vector<std::pair<std::uint32_t, std::uint32_t>> &edges,
                                             std::uint32_t start) {
    // Boost.Graph searches from the first vertex on: it and the start change places.
    const auto placed = [&](std::uint32_t vertex) { return vertex == start ? 0 : vertex == 0 ? start : vertex; };
    boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS> graph(vertices);
    for (const auto &[a, b] : edges)
        boost::add_edge(placed(a), placed(b), graph);
    std::vector<std::uint32_t> number(vertices), lowest(vertices), from(vertices), order(vertices);
    const auto map_of = [&](std::vector<std::uint32_t> &values) {
        return boost::make_iterator_property_map(values.begin(), boost::get(boost::vertex_index, graph));
    };
    boost::articulation_points(
        graph, boost::make_function_output_iterator([](std::size_t) {}),
        boost::discover_time_map(map_of(number)).lowpoint_map(map_of(lowest)).predecessor_map(map_of(from)));
    for (std::uint32_t vertex = 0; vertex < vertices; ++vertex)
        order[number[vertex] - 1] = vertex;
    std::vector<std::uint32_t> stands(vertices);
    std::iota(stands.begin(), stands.end(), 0U);
    for (std::uint32_t k = 1; k < vertices && from[order[k]] != order[k];
         ++k) { // up to what the start does not lead to
        const std::uint32_t vertex = order[k], before = from[vertex];
        if (before == 0)
            continue;
        const bool hangs = lowest[vertex] >= number[before];
        if (hangs || stands[before] != before)
            stands[vertex] = stands[before];
    }
    std::vector<std::uint32_t> result(vertices);
    for (std::uint32_t vertex = 0; vertex < vertices; ++vertex)
        result[placed(vertex)] = placed(stands[vertex]);
    return result;
}

} // namespace stopspan
