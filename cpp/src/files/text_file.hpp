#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// Bound that keeps a hostile file from eating the machine.
inline constexpr std::size_t largest_file_bytes = 256u << 20;

/// Line of a byte, counted from 1.
std::size_t line_of(std::string_view text, std::size_t offset);
/// The same for many bytes of one text, without counting from its beginning each time.
class LineIndex {
public:
    explicit LineIndex(std::string_view text);
    std::size_t line(std::size_t offset) const;

private:
    std::vector<std::size_t> breaks_;
};

/// Without the byte order mark that some editors put in front.
std::string_view without_byte_order_mark(std::string_view text);

/// @throws FileError (unreadable) with the line of the first byte that is not UTF-8 text, or if too large
void check_text_file(std::string_view text, const std::string &file);

} // namespace stopspan
