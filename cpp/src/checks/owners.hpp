#pragma once

#include "circuit/compiled.hpp"
#include "circuit/kinds.hpp"
#include "stopspan/circuit.hpp"

#include <vector>

namespace stopspan {

/// A hand device that is there to stop: it joins only the nets of each contact.
bool is_stop_device(const Device &device);
/// A source that feeds by itself.
bool is_unfed_source(const Device &device);

/// Per net a device that stands in the group (of Influence) that the net is in: no stop device, whose contacts stand in
/// many, nor a source that nothing feeds; none: there is no such device. Of nets where groups end it tells nothing.
std::vector<std::uint32_t> owners_of_nets(const Circuit &circuit, const Compiled &compiled);

} // namespace stopspan
