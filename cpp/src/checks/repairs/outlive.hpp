#pragma once

#include "checks/repairs/parts.hpp"

namespace stopspan {

/// Tells of a fault of one part, or of a change that outlives it.
bool is_of_faults(const Finding &finding);

/// Kinds of changes that were tried against faults in vain.
using TriedInVain = std::map<const Finding *, std::set<Change::Kind>>;

/// A fault of one part: a second part, or one that waits for the first, leaves it without harm. Where no target is
/// declared it is no failure, but there is a small answer all the same: as many as are quickly tried.
TriedInVain outlive_faults(RepairParts &parts, Verdict &verdict);

/// What a finding of a fault lacks still.
bool left_without_repair(const Finding &finding);
/// Of single faults of one part what is left, once more: with changes that were told meanwhile to be made first.
void outlive_left_faults(RepairParts &parts, Verdict &verdict);
/// Where none is found the finding says in words what would help.
void tell_ways_out(const Circuit &circuit, const TriedInVain &tried, Verdict &verdict);

} // namespace stopspan
