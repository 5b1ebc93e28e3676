#pragma once

#include "stopspan/error.hpp"

#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// Joins with ", " for messages that list what is known.
template <class Range>
std::string listed(const Range &words) {
    std::string text;
    for (const auto &word : words)
        text += (text.empty() ? "" : ", ") + std::string(word);
    return text;
}

/// A list for a sentence: a long one as its first words and how many more, "ES1, ES2, ES3 and 12 more".
template <class Range>
std::string listed_in_short(const Range &words) {
    constexpr std::size_t most_said = 6, said_of_more = 3;
    const std::size_t count = words.size(), said = count > most_said ? said_of_more : count;
    const std::vector<std::string> first(words.begin(), words.begin() + static_cast<std::ptrdiff_t>(said));
    return listed(first) + (said < count ? " and " + std::to_string(count - said) + " more" : "");
}

/// "known: ...", the first of many names; `when_empty` without any.
/// @param name_at  text of the name at an index
template <class NameAt>
std::string known_names(std::size_t count, const NameAt &name_at, std::string_view when_empty) {
    constexpr std::size_t most_listed = 20;
    std::string text;
    for (std::size_t i = 0; i < count && i < most_listed; ++i)
        text += (text.empty() ? "known: " : ", ") + std::string(name_at(i));
    if (count > most_listed)
        text += " and " + std::to_string(count - most_listed) + " more";
    return text.empty() ? std::string(when_empty) : text;
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
