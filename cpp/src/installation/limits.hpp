#pragma once

#include "stopspan/description.hpp"
#include "stopspan/error.hpp"

#include <string>
#include <string_view>

namespace stopspan {

/// @throws Error (bad_value) unless `value` is finite and in range; the message names object and field.
void check_number(const std::string &object, std::string_view field, double value, double minimum, double maximum);
/// Coordinates are metres within 100 km of the origin. @throws Error (bad_value)
void check_position(const std::string &object, Position at);
/// @throws Error (bad_value) unless `name` is printable text on one line, at most 100 bytes.
void check_name(std::string_view what, std::string_view name);
/// @throws Error (bad_value) unless `designation` can stand in a circuit.
void check_designation(const std::string &object, std::string_view field, std::string_view designation);
/// "30, 5.5 m" for messages.
std::string describe(Position at);

} // namespace stopspan
