#pragma once

#include "checks/context.hpp"

#include <map>
#include <memory>
#include <set>

namespace stopspan {

/// What hangs on a machine's own circuit: for any net the own nets that contacts and loads lead to from it, through
/// nets that are not the machine's. What stands at a source, or at earth by way of isolators, leads no further; where
/// contacts lead there, it may feed.
class Hanging {
public:
    static constexpr std::uint32_t feed = none; ///< stands for the source among the nets
    Hanging(const Context &context, const MachineSeen &machine) : context_(context), own_(machine.reach.nets) {}
    /// Of an own net: itself.
    const std::set<std::uint32_t> &of(std::uint32_t net);

private:
    const Context &context_;
    const std::vector<std::uint32_t> &own_;
    std::map<std::uint32_t, std::shared_ptr<std::set<std::uint32_t>>> known_; ///< per net; one set for all it leads to
};

} // namespace stopspan
