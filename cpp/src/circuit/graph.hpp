#pragma once

#include "circuit/compiled.hpp"

#include <span>
#include <vector>

namespace stopspan {

/// The blocks (biconnected components) of a compiled circuit's contacts: the contacts that lie on some simple way
/// between two nets are those of the blocks between them. Nets are vertices; all source poles and earth are vertex 0.
class BlockForest {
public:
    /// @param with_poles  false: power poles are left out, and every net one ends on is a root as the source poles are
    /// @param fed         nets with a way to vertex 0 that is no contact
    explicit BlockForest(const Compiled &circuit, bool with_poles = true, std::span<const std::uint32_t> fed = {});

    std::uint32_t vertex(std::uint32_t net) const { return vertex_of_[net]; }
    bool is_pole_net(std::uint32_t net) const { return vertex_of_[net] == 0; }

    std::size_t blocks() const { return toward_root_.size(); }
    std::span<const std::uint32_t> switches(std::uint32_t block) const {
        return {switches_.data() + first_switch_[block], switches_.data() + first_switch_[block + 1]};
    }
    /// Vertex of a block nearest the root of its tree.
    std::uint32_t toward_root(std::uint32_t block) const { return toward_root_[block]; }
    /// Block between a vertex and the root of its tree; none for a root.
    std::uint32_t block_above(std::uint32_t vertex) const { return block_above_[vertex]; }

private:
    void find_blocks(const Compiled &circuit, bool with_poles, std::span<const std::uint32_t> fed,
                     std::uint32_t vertices);
    std::vector<std::uint32_t> vertex_of_, block_above_, toward_root_;
    std::vector<std::uint32_t> first_switch_, switches_; ///< per block
};

} // namespace stopspan
