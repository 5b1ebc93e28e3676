#pragma once

#include "checks/facts.hpp"

namespace stopspan {

/// What was seen of a claim of one machine, as one plain sentence.
/// @param one_way  the machine only ever turns one way, so which is not said
std::string text_of(const std::string &rule, const std::string &subject, const std::string &machine, const Fact &fact,
                    bool one_way);

/// The contact of a device that a switch of the compiled circuit, or of a part, stands for: "K1:13-14"; of a device
/// without contacts its designation.
/// @pre it is of a device
std::string contact_text(const Circuit &circuit, const Switch &contact);

} // namespace stopspan
