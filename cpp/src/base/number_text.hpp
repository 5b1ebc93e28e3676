#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace stopspan {

/// Shortest text that reads back as the same number; "0" for -0. Independent of the locale.
/// @pre value is finite
std::string format_number(double value);
/// Fixed number of decimals, trailing zeros kept off: 2.50 -> "2.5", -0.001 -> "0". For drawings and messages.
std::string format_fixed(double value, int decimals);
/// Fixed number of decimals, all of them written: 2.5 -> "2.50". For measures.
std::string format_decimals(double value, int decimals);
/// The whole text as one finite number, or nothing. Independent of the locale.
std::optional<double> parse_number(std::string_view text);

} // namespace stopspan
