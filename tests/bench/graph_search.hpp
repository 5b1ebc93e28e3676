#pragma once

#include "stopspan/circuit.hpp"

#include <cstdint>
#include <string_view>
#include <utility>
#include <vector>

namespace stopspan::bench {

/// The plain way to answer the claims of the campus: flood the whole graph from the line poles for every claim anew,
/// drop the contactors whose coil is not reached (or take in those that are), and repeat until nothing changes. Paths
/// only, no volts: right for a circuit without sneak paths, which the campus is.
class GraphSearch {
public:
    explicit GraphSearch(const Circuit &circuit);

    /// With the stop actuated and nothing held, no contactors can keep each other and the machine in.
    bool stop_cuts(std::string_view stop, std::string_view machine);
    /// Nor with every start and reset device pressed.
    bool stop_beats_start(std::string_view stop, std::string_view machine);
    /// All contactors out, all stops closed, maintained switches on: nothing feeds the machine.
    bool power_return(std::string_view machine);
    /// What can stay in with this device actuated (a stop) or free (a reset), then released or pressed: machine not
    /// newly fed.
    bool release_return(std::string_view device, std::string_view machine);

private:
    struct Edge {
        std::uint32_t a, b, device;
        bool make; ///< closed when its device is in or actuated; else closed when it is not
    };
    enum class Way { drop, take_in };
    void flood();
    void settle(Way way);
    void rest();
    void all_in();
    bool fed(std::string_view machine) const;
    std::uint32_t index(std::string_view designation) const;

    const Circuit &circuit_;
    std::vector<Edge> edges_;
    std::vector<std::uint32_t> first_, at_net_;                  ///< edges of each net
    std::vector<std::pair<std::uint32_t, std::uint32_t>> coils_; ///< device and net of A1
    std::vector<std::uint32_t> selectors_, starts_;              ///< devices; all but the stops are start devices here
    std::vector<std::uint32_t> poles_, queue_;
    std::vector<char> actuated_, reached_; ///< per device, per net
};

} // namespace stopspan::bench
