#include "wiring/names.hpp"

namespace stopspan::wiring {

std::string stem_of(const std::string &designation, const std::string &otherwise) {
    std::size_t at = 0;
    while (at < designation.size() &&
           ((designation[at] >= 'A' && designation[at] <= 'Z') || (designation[at] >= 'a' && designation[at] <= 'z')))
        ++at;
    const bool numbered = at > 0 && at < designation.size() && designation[at] >= '0' && designation[at] <= '9';
    return numbered ? designation.substr(at) : otherwise;
}

} // namespace stopspan::wiring
