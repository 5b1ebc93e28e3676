#pragma once

#include "stopspan/verdict.hpp"

namespace stopspan {

/// One claim of a rule that was counted as one thing is another.
inline void count_again(Verdict &verdict, const std::string &rule, std::string_view before, std::string_view now) {
    auto &counts = verdict.counts[rule];
    if (const auto old = counts.find(std::string(before)); --old->second == 0)
        counts.erase(old);
    ++counts[std::string(now)];
}

} // namespace stopspan
