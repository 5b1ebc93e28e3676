#pragma once

#include "base/index_set.hpp"
#include "circuit/cut_out.hpp"

#include <map>
#include <optional>
#include <unordered_map>
#include <utility>
#include <vector>

namespace stopspan {

/// Whole devices and nets that can act on one another. Where a source stands that nothing else feeds, or earth, nothing
/// comes through: there one group ends. Stop devices are moved by hands alone and join only the nets of each contact.
struct Group {
    IndexSet devices; ///< all but stop devices and sources that nothing feeds
    IndexSet nets;    ///< by their number in Influence
    IndexSet edge;    ///< nets of sources that nothing feeds, and earth, that the group touches
};

/// Knows what can act on what in a circuit that changes wire by wire.
class Influence {
public:
    explicit Influence(const Circuit &circuit);

    /// Nets, by their number here, and devices.
    struct Ends {
        std::vector<std::uint32_t> nets, devices;
    };
    /// What hangs together with these.
    /// @returns nothing when that is more than `most` devices
    std::optional<Group> around(const Circuit &circuit, const Ends &ends, std::size_t most) const;
    /// The group as a circuit of its own: its devices with the contacts of stop devices that stand in it, the sources
    /// at its edge, and these others, with no contact if they have none here.
    Circuit part(const Circuit &circuit, const Group &group, const std::vector<std::uint32_t> &others = {}) const;

    /// What a terminal stands for, or a whole device. Of a stop device these are the nets of its contacts, of a
    /// terminal its own and then the other one.
    Ends ends_of(const Circuit &circuit, std::uint32_t device, std::uint32_t terminal) const;
    Ends ends_of(const Circuit &circuit, std::uint32_t device) const;
    std::span<const std::uint32_t> motors_of(const std::string &machine) const;
    std::optional<std::uint32_t> net(std::string_view name) const;
    /// Groups end at this net.
    bool is_edge(std::string_view net) const;
    bool is_edge(std::uint32_t net) const { return edge_[net] != 0; }
    /// A terminal was moved to this net.
    void moved(std::uint32_t device, std::uint32_t terminal, std::string_view net);
    /// The last device of the circuit is new; neither a source nor a machine's.
    void added(const Circuit &circuit);
    /// It is gone again.
    void removed_last();

private:
    struct Place {
        std::uint32_t device, terminal;
        friend auto operator<=>(const Place &, const Place &) = default;
    };
    std::uint32_t number(std::string_view net);
    template <class NumberOf>
    void add(const Device &device, const NumberOf &number_of);
    std::uint32_t other_end(const Circuit &circuit, Place at) const;

    std::unordered_map<std::string, std::uint32_t> number_of_;
    std::vector<std::vector<Place>> at_;              ///< per net
    std::vector<std::vector<std::uint32_t>> sources_; ///< per net: those that nothing feeds, with a pole there
    std::vector<std::uint8_t> edge_;                  ///< per net
    std::vector<std::vector<std::uint32_t>> nets_;    ///< per device and terminal
    std::vector<std::uint8_t> stop_, unfed_;          ///< per device
    std::unordered_map<std::string, std::vector<std::uint32_t>> motors_of_, interlocked_with_;
};

} // namespace stopspan
