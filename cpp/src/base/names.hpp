#pragma once

#include <string_view>

namespace stopspan {

/// Text that every output can carry: valid UTF-8 and no character XML 1.0 forbids. Line breaks and tabs are allowed.
bool is_plain_text(std::string_view text);
/// A name people read: plain text on one line, not empty, no blank at either end.
bool is_name(std::string_view text);
/// A designation: letters, digits, '.', '_', '-', '+', '=', '/', at least one.
bool is_designation(std::string_view text);

} // namespace stopspan
