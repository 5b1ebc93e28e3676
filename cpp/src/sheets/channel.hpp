#pragma once

#include "sheets/text_metrics.hpp"

#include "stopspan/id.hpp"

#include <functional>
#include <span>
#include <string>
#include <vector>

namespace stopspan {

/// A wire end at the upper or lower edge of a channel, the strip between two rows of symbols.
struct ChannelPin {
    double x_mm = 0;
    bool from_above = true; ///< hangs from the row above; else stands on the row below
    NetId net;
    std::uint32_t passage = 0; ///< not 0: a wire that only passes through, apart from others of its net
};

/// Where a net is named.
struct NetMark {
    enum class Kind { on_wire, goes_up, goes_down };
    Kind kind = Kind::on_wire;
    NetId net;
    Point at;                     ///< on the wire
    Text text;                    ///< the name
    Point reference_at;           ///< where the reference to the net's other places starts
    double reference_room_mm = 0; ///< length kept for it; 0: none
};

/// Wires of a channel. y counts from 0 at its upper edge down to -height at its lower edge.
struct ChannelPlan {
    double height_mm = 0;
    struct Wire {
        Point a, b;
        NetId net;
    };
    std::vector<Wire> wires;      ///< meet only at their ends
    std::vector<Point> junctions; ///< where three or more ends meet
    std::vector<NetMark> marks;   ///< at least one for each connected group of wires
};

struct ChannelStyle {
    double track_pitch_mm = 5;
    double right_mm = 0;  ///< names end before this x
    double spread_mm = 0; ///< more height than needed, where symbols stand on both sides
    /// Room that a reference beside a name takes; 0 where the net is nowhere else.
    std::function<double(NetId, NetMark::Kind)> reference_room_mm;
};

/// Joins the pins of each net by one horizontal track and vertical ends. Wires of two nets cross but never touch.
/// A pin alone, or one whose net would close a cycle of "must be above", becomes a stub with the name of its net.
/// Names stand to the right of a wire, or turned along it where there is no room.
/// @pre at most one pin on either edge at one x, neighbours at least 5 mm apart
ChannelPlan route_channel(std::span<const ChannelPin> pins, const std::function<const std::string &(NetId)> &name_of,
                          const ChannelStyle &style);

} // namespace stopspan
