#pragma once

#include <cstddef>
#include <string_view>

namespace stopspan {

/// Text that every output can carry: valid UTF-8 and no character XML 1.0 forbids. Line breaks and tabs are allowed.
bool is_plain_text(std::string_view text);
/// How many bytes of it are such text, from its beginning.
std::size_t plain_text_length(std::string_view text);
/// XML 1.0, production 2 (Char).
bool is_xml_character(unsigned long code_point);
/// A name people read: plain text on one line, not empty, no blank at either end.
bool is_name(std::string_view text);
/// A designation: letters, digits, '.', '_', '-', '+', '=', '/', at least one.
bool is_designation(std::string_view text);

} // namespace stopspan
