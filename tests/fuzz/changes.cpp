#include "changes.hpp"

#include <algorithm>

namespace stopspan::fuzz {
namespace {

bool is_word(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_' ||
           c == '.';
}

} // namespace

void Changes::change(std::string &text, const std::string &other) {
    for (std::size_t times = 1 + below(3); times > 0; --times)
        change_once(text, other);
}

void Changes::change_once(std::string &text, const std::string &other) {
    if (text.empty())
        return;
    const Part line = line_of(text);
    switch (below(8)) {
    case 0: {
        char &byte = text[below(text.size())];
        byte = static_cast<char>(byte ^ (1 << below(8)));
        break;
    }
    case 1:
        text.erase(line.begins, line.length);
        break;
    case 2:
        text.insert(line.begins, text.substr(line.begins, line.length));
        break;
    case 3: {
        const std::string moved = text.substr(line.begins, line.length);
        text.erase(line.begins, line.length);
        text.insert(text.empty() ? 0 : line_of(text).begins, moved);
        break;
    }
    default: { // what is still read, and is another circuit, mostly comes from these
        const std::string &from = below(4) ? text : other;
        const Part with = word_of(from), word = word_of(text);
        text.replace(word.begins, word.length, from.substr(with.begins, with.length));
    }
    }
}

Changes::Part Changes::line_of(const std::string &text) {
    const std::size_t at = below(text.size());
    const std::size_t before = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
    const std::size_t begins = before == std::string::npos ? 0 : before + 1;
    return {begins, std::min(text.find('\n', at), text.size() - 1) + 1 - begins};
}

Changes::Part Changes::word_of(const std::string &text) {
    std::size_t begins = below(text.size());
    while (begins > 0 && is_word(text[begins - 1]))
        --begins;
    while (begins < text.size() && !is_word(text[begins]))
        ++begins;
    std::size_t end = begins;
    while (end < text.size() && is_word(text[end]))
        ++end;
    return {begins, end - begins};
}

} // namespace stopspan::fuzz
