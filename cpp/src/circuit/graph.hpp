#pragma once

#include "circuit/compiled.hpp"

#include <boost/graph/adjacency_list.hpp>

#include <vector>

namespace stopspan {

/// One edge of the circuit graph: a contact or a load.
struct CircuitEdge {
    std::uint32_t index = 0; ///< into Compiled::switches, or Compiled::impedances
    bool conductor = true;   ///< a contact (switches), not a load (impedances)
};
/// Nets are vertices; parallel contacts stay parallel edges. All source poles and earth are vertex 0.
using CircuitGraph =
    boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS, boost::no_property, CircuitEdge>;

/// The multigraph of a compiled circuit, and the blocks (biconnected components) of its contacts: the contacts
/// that lie on some simple way between two nets are those of the blocks between them.
class BlockForest {
public:
    /// @param with_poles  false: power poles are left out, and every net one ends on is a root as the source poles are
    explicit BlockForest(const Compiled &circuit, bool with_poles = true);

    const CircuitGraph &graph() const { return graph_; }
    std::uint32_t vertex(std::uint32_t net) const { return vertex_of_[net]; }
    bool is_pole_net(std::uint32_t net) const { return vertex_of_[net] == 0; }

    struct Block {
        std::vector<std::uint32_t> switches;
        std::uint32_t toward_root; ///< vertex nearest the root of its tree
    };
    const std::vector<Block> &blocks() const { return blocks_; }
    /// Block between a vertex and the root of its tree; none for a root.
    std::uint32_t block_above(std::uint32_t vertex) const { return block_above_[vertex]; }

private:
    void find_blocks(const Compiled &circuit, bool with_poles);
    CircuitGraph graph_;
    std::vector<std::uint32_t> vertex_of_;
    std::vector<Block> blocks_;
    std::vector<std::uint32_t> block_above_;
};

} // namespace stopspan
