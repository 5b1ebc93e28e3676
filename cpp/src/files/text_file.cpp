#include "files/text_file.hpp"

#include "base/names.hpp"
#include "stopspan/error.hpp"

#include <algorithm>

namespace stopspan {

std::size_t line_of(std::string_view text, std::size_t offset) {
    const auto end = text.begin() + static_cast<std::ptrdiff_t>(std::min(offset, text.size()));
    return 1 + static_cast<std::size_t>(std::count(text.begin(), end, '\n'));
}

LineIndex::LineIndex(std::string_view text) {
    for (std::size_t at = text.find('\n'); at != std::string_view::npos; at = text.find('\n', at + 1))
        breaks_.push_back(at);
}

std::size_t LineIndex::line(std::size_t offset) const {
    return 1 + static_cast<std::size_t>(std::lower_bound(breaks_.begin(), breaks_.end(), offset) - breaks_.begin());
}

std::string_view without_byte_order_mark(std::string_view text) {
    return text.starts_with("\xEF\xBB\xBF") ? text.substr(3) : text;
}

void check_text_file(std::string_view text, const std::string &file) {
    if (text.size() > largest_file_bytes)
        throw FileError(ErrorCode::unreadable, file, 0,
                        "is larger than " + std::to_string(largest_file_bytes >> 20) + " MiB; split it");
    const std::size_t good = plain_text_length(text);
    if (good < text.size())
        throw FileError(ErrorCode::unreadable, file, line_of(text, good),
                        "is not UTF-8 text here (or holds a control character); save it as UTF-8");
}

} // namespace stopspan
