#pragma once

#include "stopspan/circuit.hpp"

#include <cstdint>
#include <string_view>
#include <utility>
#include <vector>

namespace stopspan {

/// What the conductors of a net serve, as IEC 60204-1, 13.2 tells them apart.
enum class ConductorUse { power, ac_control, dc_control, neutral, protective };
std::string_view to_text(ConductorUse use);
/// Colour of a single conductor in an enclosure: IEC 60204-1, 13.2.4 (recommended), 13.2.2 and 13.2.3 (protective and
/// neutral).
/// @param excepted  still live with the supply disconnecting device open
std::string_view colour_of(ConductorUse use, bool excepted);

/// By net.
std::vector<ConductorUse> conductor_uses(const Circuit &circuit);

/// Which nets are live while an isolator is open, everything else being closed.
class LiveBehind {
public:
    LiveBehind(const Circuit &circuit, const std::vector<ConductorUse> &uses);
    /// Of the nets given, those that a live pole reaches other than through this isolator; what hangs on the isolator
    /// itself is its incoming line and not counted.
    std::vector<NetId> with_open(const Device &isolator, const std::vector<NetId> &nets) const;
    /// Nets that no live pole reaches but through this isolator, and nets of neutral joined to those.
    std::vector<NetId> dead_behind(const Device &isolator) const;

private:
    struct Way {
        std::uint32_t device;
        NetId to;
    };
    std::vector<std::vector<Way>> ways_; ///< per net: through what conducts when closed, and through supplies
    std::vector<bool> pole_;             ///< per net: a live pole of the mains
    std::vector<bool> dead_end_;         ///< per net: neutral or earth
    /// Nets joined to one without passing a device, and whether a live pole is among them, where the search then ends.
    std::pair<std::vector<NetId>, bool> search(NetId start, std::uint32_t without) const;
    std::uint32_t index_of(const Device &device) const;
    const Circuit &circuit_;
};

} // namespace stopspan
