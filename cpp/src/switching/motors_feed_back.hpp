#pragma once

#include "circuit/compiled.hpp"

#include <vector>

namespace stopspan {

/// Per net: while all supplies are healthy and all fuses whole, a motor may feed it, from lines that are live, when its
/// own feed is open. That takes a motor whose lines do not part together: behind different isolators or contactors. A
/// motor's own terminals count where something else hangs on them.
std::vector<std::uint8_t> fed_by_motors(const Compiled &circuit);

} // namespace stopspan
