#pragma once

#include "stopspan/circuit.hpp"

#include <cstdint>
#include <limits>
#include <string_view>
#include <utility>
#include <vector>

namespace stopspan {

using Net = std::uint32_t;
inline constexpr std::uint32_t far = std::numeric_limits<std::uint32_t>::max();

bool has_coil(const Device &device);
/// Lamps, loads, resistors, capacitors.
bool two_terminals(DeviceKind kind);

/// Which nets of a circuit are neighbours, through what.
class Surroundings {
public:
    enum : unsigned { control = 1, power = 2, loads = 4 };

    explicit Surroundings(const Circuit &circuit);

    /// A motor hangs there with no contactor between.
    bool at_motor(Net net) const { return motor_[net] != 0; }
    /// Terminals on it.
    std::size_t ends(Net net) const { return ends_[net]; }
    bool source(Net net) const { return source_[net] != 0; }
    /// A source or a power pole ends there: what stands on it is fed from the power circuit.
    bool in_power(Net net) const { return source_[net] || pole_[net]; }

    /// Steps to each net, not on through a source pole unless said; `far` for those that are not reached.
    std::vector<std::uint32_t> distances(const std::vector<Net> &from, unsigned through,
                                         bool past_sources = false) const;

private:
    void join(const Device &device, std::string_view a, std::string_view b, unsigned kind);

    std::vector<std::vector<std::pair<Net, unsigned>>> edges_;
    std::vector<std::uint8_t> source_, pole_, motor_;
    std::vector<std::size_t> ends_;
};

} // namespace stopspan
