#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <string>

namespace stopspan::fuzz {

/// Changes text so that it often still means something: bytes flipped, lines dropped, doubled and moved, words
/// exchanged. The same number to begin with makes the same changes, whatever the standard library.
class Changes {
public:
    explicit Changes(std::uint32_t begin_with) : random_(begin_with) {}
    /// One to three changes. @param other  words may come from it
    void change(std::string &text, const std::string &other);
    /// A number below `end`; 0 when that is 0.
    std::size_t below(std::size_t end) { return end == 0 ? 0 : random_() % end; }

private:
    struct Part {
        std::size_t begins, length;
    };
    void change_once(std::string &text, const std::string &other);
    Part line_of(const std::string &text);
    Part word_of(const std::string &text);
    std::mt19937 random_;
};

} // namespace stopspan::fuzz
