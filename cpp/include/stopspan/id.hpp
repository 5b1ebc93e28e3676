#pragma once

#include <compare>
#include <cstdint>

namespace stopspan {

/// Typed handle into one container. Ids of different tags do not convert into each other.
template <class Tag>
struct Id {
    std::uint32_t value{};
    friend constexpr auto operator<=>(Id, Id) = default;
};

using SupplyId = Id<struct SupplyTag>;
using BoardId = Id<struct BoardTag>;
using AreaId = Id<struct AreaTag>;
using MachineId = Id<struct MachineTag>;
using LoadId = Id<struct LoadTag>;
using StopId = Id<struct StopTag>;
using ZoneId = Id<struct ZoneTag>;
using DeviceId = Id<struct DeviceTag>;
using NetId = Id<struct NetTag>;

} // namespace stopspan
