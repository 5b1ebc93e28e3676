#pragma once

#include "wiring/draft.hpp"

namespace stopspan::wiring {

/// Designations and nets of one machine or zone: letter, stem and a running number ("Q3.1"), and nets with its name
/// before them ("M3.1").
class Names {
public:
    /// @param owner  for messages: "machine Drill"
    Names(Draft &draft, std::string owner, std::string stem, std::string prefix)
        : draft_(&draft), owner_(std::move(owner)), stem_(std::move(stem)), prefix_(std::move(prefix)) {}

    const std::string &owner() const { return owner_; }
    /// The next designation of an IEC 81346 letter code.
    std::string designation(char letter) {
        return draft_->free_designation(letter + stem_ + "." + std::to_string(++last_[letter]));
    }
    /// A net with a meaning of its own: "M3.U".
    std::string net(const std::string &suffix) { return draft_->free_net(prefix_ + "." + suffix); }
    /// The next wire number of the control circuit: "M3.4".
    std::string next_net() { return net(std::to_string(++last_net_)); }

private:
    Draft *draft_;
    std::string owner_, stem_, prefix_;
    std::map<char, int> last_;
    int last_net_ = 0;
};

/// "M12" -> "12": what follows the letters of a designation, or `otherwise` if no number does.
std::string stem_of(const std::string &designation, const std::string &otherwise);

} // namespace stopspan::wiring
