#pragma once

#include <string_view>

namespace stopspan {

/// A day of the calendar as "2026-11-26".
bool is_date(std::string_view text);

} // namespace stopspan
