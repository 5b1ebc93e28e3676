#pragma once

#include <array>
#include <charconv>
#include <cstdint>
#include <string>
#include <string_view>

/// What exporters share: numbers and characters as text. Header only, as a plugin is linked to nothing of the core.
namespace stopspan::text_out {

/// Fixed decimals without trailing zeros, never "-0", whatever the locale: 2.5, 10, 0.125.
inline std::string number(double value, int decimals = 4) {
    std::array<char, 400> buffer; // the largest double has 309 digits before its point
    const auto end =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals).ptr;
    std::string text(buffer.data(), end);
    if (text.find('.') != std::string::npos) {
        text.erase(text.find_last_not_of('0') + 1);
        if (text.back() == '.')
            text.pop_back();
    }
    return text == "-0" ? "0" : text;
}

/// Next character of UTF-8 text; moves `at` past it. U+FFFD for bytes that are no UTF-8.
inline char32_t next_character(std::string_view text, std::size_t &at) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned char first = byte(at);
    const std::size_t length = first < 0x80                    ? 1
                               : first >= 0xF0 && first < 0xF5 ? 4
                               : first >= 0xE0 && first < 0xF0 ? 3
                               : first >= 0xC2 && first < 0xE0 ? 2
                                                               : 0;
    if (length == 1) {
        ++at;
        return first;
    }
    if (length == 0 || at + length > text.size()) {
        ++at;
        return 0xFFFD;
    }
    char32_t value = first & (0x7F >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(at + i) & 0xC0) != 0x80) {
            ++at;
            return 0xFFFD;
        }
        value = value << 6 | (byte(at + i) & 0x3F);
    }
    const bool overlong = (length == 3 && value < 0x800) || (length == 4 && value < 0x10000);
    if (overlong || value > 0x10FFFF || (value >= 0xD800 && value < 0xE000)) {
        ++at;
        return 0xFFFD;
    }
    at += length;
    return value;
}

} // namespace stopspan::text_out
