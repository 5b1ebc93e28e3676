#pragma once

#include "stopspan/circuit.hpp"

#include <string>

namespace stopspan {

/// Rating in a few characters, from the parameters that are known: "2 A gG".
std::string rating_text(const Device &device);
/// Rating of a contactor's poles; rating_text gives that of its coil.
std::string poles_rating_text(const Device &device);

} // namespace stopspan
