#pragma once

#include "stopspan/error.hpp"

#include <array>
#include <cstddef>
#include <string>
#include <string_view>

namespace stopspan {

/// Joins with ", " for messages that list what is known.
template <class Range>
std::string listed(const Range &words) {
    std::string text;
    for (const auto &word : words)
        text += (text.empty() ? "" : ", ") + std::string(word);
    return text;
}

/// "a fuse", "an overload". For the words of this library, which sound as they begin.
inline std::string with_article(std::string_view word) {
    const bool vowel = !word.empty() && std::string_view("aeio").find(word.front()) != std::string_view::npos;
    return (vowel ? "an " : "a ") + std::string(word);
}

/// The enum value whose text is `text`; `words[i]` is the text of value i.
/// @throws Error (bad_value) "no <what> '<text>'; known: ..."
template <class Enum, std::size_t count>
Enum from_word(const std::array<std::string_view, count> &words, std::string_view text, std::string_view what) {
    for (std::size_t i = 0; i < count; ++i)
        if (words[i] == text)
            return static_cast<Enum>(i);
    throw Error(ErrorCode::bad_value,
                "no " + std::string(what) + " '" + std::string(text) + "'; known: " + listed(words));
}

} // namespace stopspan
