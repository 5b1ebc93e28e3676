#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Marks what somebody accepted as waived. A waiver covers what fails or may fail: a note needs none, and nobody can
/// accept what is undecided, as nobody knows what it is. A waiver that covers nothing becomes a note.
void apply_waivers(const Context &context, Verdict &verdict);

} // namespace stopspan
