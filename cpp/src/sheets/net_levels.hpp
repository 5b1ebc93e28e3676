#pragma once

#include "sheets/current_paths.hpp"

#include <map>

namespace stopspan {

/// Levels of the nets of one connected piece of a control circuit.
class NetLevels {
public:
    NetLevels(std::span<const std::size_t> members, std::span<const Part> parts, const NetFacts &facts);
    /// Rows its longest path needs.
    int depth() const { return depth_; }
    /// All parts as steps between levels 0 and `rows`, deeper ones folded up to the top again.
    std::vector<PathStep> steps(int rows) const;

private:
    struct Edge {
        std::size_t part;
        std::size_t first, second; ///< local nets of its two terminals
        bool load;
    };
    struct Net {
        NetId id;
        bool boundary = false;   ///< fed from elsewhere
        bool pole_below = false; ///< the pole that currents return to
        bool on_return = false;  ///< between a load and that pole
        int distance = -1;       ///< in contacts from the live or the return pole
        std::size_t rank = 0;
        int level = 0; ///< live side: from the top; return side: from the bottom
    };

    std::size_t local(NetId net);
    bool fed_from_elsewhere(std::size_t net, const NetFacts &facts) const;
    void choose_return(const NetFacts &facts);
    int balance(std::size_t net) const;
    void spread(std::vector<std::size_t> from, bool return_side, bool through_loads);
    void order();
    void assign();
    PathStep step(const Edge &edge, int rows) const;

    std::vector<Edge> edges_;
    std::vector<Net> nets_;
    std::map<NetId, std::size_t> index_;
    std::vector<std::vector<std::size_t>> at_; ///< edges at each net
    int depth_ = 1;
};

} // namespace stopspan
