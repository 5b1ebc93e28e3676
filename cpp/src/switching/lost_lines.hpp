#pragma once

#include "circuit/compiled.hpp"

#include <vector>

namespace stopspan {

/// Per net: a source's pole stands there, and when that is lost alone, or with its source while another still gives,
/// loads that hang on it may feed it from what they hang on besides. A motor of three lines does that to the one that
/// is lost.
std::vector<std::uint8_t> fed_when_lost(const Compiled &circuit);

} // namespace stopspan
