#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace stopspan {

/// Bound on nesting; this format needs four.
inline constexpr std::size_t deepest_element = 16;

/// Refuses what the tree builder would let pass in silence: bytes that are not UTF-8, a document type, processing
/// instructions, undeclared entities, text between elements, elements nested too deep, attributes given twice, more
/// or less than one root element. What a well-formed file of another vocabulary has, the reader refuses.
/// @param xml  without a byte order mark
/// @throws FileError (unreadable) with the line
void scan_xml(std::string_view xml, const std::string &file);

} // namespace stopspan
