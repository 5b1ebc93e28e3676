#include "stopspan/verdict.hpp"

#include "base/words.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::array<std::string_view, 5> status_words{"fails", "maybe", "undecided", "waived", "note"};
constexpr std::array<std::string_view, 3> asked_words{"cut", "keep", "free"};
constexpr std::array<std::string_view, 3> found_words{"cuts", "spares", "maybe"};
constexpr std::array<std::string_view, 3> target_words{"none", "single-fault", "accumulated-faults"};

} // namespace

std::string_view to_text(Status status) {
    return status_words[static_cast<std::size_t>(status)];
}
std::string_view to_text(Asked asked) {
    return asked_words[static_cast<std::size_t>(asked)];
}
std::string_view to_text(Found found) {
    return found_words[static_cast<std::size_t>(found)];
}
std::string_view to_text(Target target) {
    return target_words[static_cast<std::size_t>(target)];
}
Status status(std::string_view text) {
    return from_word<Status>(status_words, text, "status");
}
Asked asked_cell(std::string_view text) {
    return from_word<Asked>(asked_words, text, "wish");
}
Found found_cell(std::string_view text) {
    return from_word<Found>(found_words, text, "result");
}
Target fault_target(std::string_view text) {
    return from_word<Target>(target_words, text, "target");
}

bool Verdict::ok() const {
    return std::none_of(findings.begin(), findings.end(), [](const Finding &each) {
        return each.status == Status::fails || each.status == Status::maybe || each.status == Status::undecided;
    });
}

} // namespace stopspan
