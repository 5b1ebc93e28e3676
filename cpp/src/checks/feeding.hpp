#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Opening this isolator cannot stop the machine while all its supplies are healthy: none of its contacts is in a way
/// that feeds it, and none of its loads is fed through another load. True is a proof, false means nothing.
bool runs_without(const Context &context, Structure &structure, const MachineSeen &machine, std::uint32_t isolator);

/// Every net of `reach` has its source's full volts or none while all supplies are healthy: no load stands between
/// two of them or ahead of them. True is a proof, false means nothing.
bool fed_by_contacts_only(const Context &context, Structure &structure, const MachineSeen &machine, const Reach &reach);

} // namespace stopspan
