#pragma once

#include "checks/context.hpp"

namespace stopspan {

/// Says which rules the check went by, and gives each finding the source its rule has there.
void tell_rules(const Context &context, Verdict &verdict);
/// The source of a rule, with the limits that differ there.
std::string told_source(const RulesUsed &used, std::string_view rule);

} // namespace stopspan
