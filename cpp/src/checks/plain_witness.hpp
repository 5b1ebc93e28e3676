#pragma once

#include "checks/context.hpp"

#include <cstddef>
#include <vector>

namespace stopspan {

/// What telling plainly took.
struct PlainWork {
    std::size_t positions = 0, work = 0;
    PlainWork &operator+=(const PlainWork &other) {
        positions += other.positions;
        work += other.work;
        return *this;
    }
    /// Past its bounds nothing more is told plainly.
    bool within_bounds() const;
};

/// Tells the witnesses of what fails or may fail as plainly as it can be told: a button is tapped where it need not be
/// held, and acts that change nothing are left out. Each is run again; it must come from the same state to the same
/// end, along the same way, but for the position of the device it is about.
/// @param machines  all of the context's, in its order
/// @returns what each finding of the verdict took
std::vector<PlainWork> tell_plainly(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict);

} // namespace stopspan
