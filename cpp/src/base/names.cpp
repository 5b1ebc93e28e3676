#include "base/names.hpp"

#include <boost/locale/utf.hpp>

#include <algorithm>

namespace stopspan {

bool is_xml_character(unsigned long c) {
    return c == '\t' || c == '\n' || c == '\r' || (c >= 0x20 && c <= 0xD7FF) || (c >= 0xE000 && c <= 0xFFFD) ||
           (c >= 0x10000 && c <= 0x10FFFF);
}

std::size_t plain_text_length(std::string_view text) {
    namespace utf = boost::locale::utf;
    const char *const begin = text.data();
    const char *const end = begin + text.size();
    for (const char *at = begin; at != end;) {
        const char *const character = at;
        const utf::code_point c = utf::utf_traits<char>::decode(at, end);
        if (c == utf::illegal || c == utf::incomplete || !is_xml_character(c))
            return static_cast<std::size_t>(character - begin);
    }
    return text.size();
}

bool is_plain_text(std::string_view text) {
    return plain_text_length(text) == text.size();
}

bool is_name(std::string_view text) {
    const auto control = [](unsigned char c) { return c < 0x20 || c == 0x7f; };
    return !text.empty() && text.front() != ' ' && text.back() != ' ' &&
           std::none_of(text.begin(), text.end(), control) && is_plain_text(text);
}

bool is_designation(std::string_view text) {
    static constexpr std::string_view marks = "._-+=/";
    const auto allowed = [](unsigned char c) {
        return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c >= 0x80 ||
               marks.find(static_cast<char>(c)) != std::string_view::npos;
    };
    return !text.empty() && std::all_of(text.begin(), text.end(), allowed) && is_plain_text(text);
}

} // namespace stopspan
