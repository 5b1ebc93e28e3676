#pragma once

#include "sheets/parts.hpp"

#include <span>
#include <string>
#include <vector>

namespace stopspan {

/// What a net is, as far as a drawing must know.
struct NetFacts {
    std::vector<bool> rail; ///< by net: carries power, or is a pole of a source or supply: each circuit names it anew
    std::vector<bool> earthed;      ///< by net: on the earthed pole of its source through closed switches and fuses
    std::vector<int> feed;          ///< by net: parts between it and the nearest live pole; -1: none leads there
    std::vector<std::size_t> ends;  ///< by net: terminals on it
    std::vector<std::string> shown; ///< by net: its name as sheets show it; a very long one is shortened and numbered
};

NetFacts net_facts(std::span<const Part> parts, const Circuit &circuit);

} // namespace stopspan
