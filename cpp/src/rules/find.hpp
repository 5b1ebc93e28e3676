#pragma once

#include "base/words.hpp"

#include <algorithm>
#include <span>
#include <string>

namespace stopspan {

/// The entry of a table with this id. @throws Error (unknown_name) "no <what> '<id>'; known: ..."
template <class Entry>
const Entry &find_entry(std::span<const Entry> table, std::string_view Entry::*id, std::string_view asked,
                        std::string_view what) {
    const auto found = std::find_if(table.begin(), table.end(), [&](const Entry &each) { return each.*id == asked; });
    if (found != table.end())
        return *found;
    std::string known;
    for (const Entry &each : table)
        known += (known.empty() ? "" : ", ") + std::string(each.*id);
    throw Error(ErrorCode::unknown_name, "no " + std::string(what) + " '" + std::string(asked) + "'; known: " + known);
}

} // namespace stopspan
