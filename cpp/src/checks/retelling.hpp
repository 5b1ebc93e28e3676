#pragma once

#include "checks/alike_machines.hpp"
#include "checks/fault_effects.hpp"

#include <unordered_map>

namespace stopspan {

/// What stands around a machine, by what it is called in acts and paths.
class Vocabulary {
public:
    Vocabulary(const Context &context, const MachineSurroundings &around);

    /// A part of a text: words that stay, or what the k-th thing around a machine is called.
    struct Piece {
        enum class Kind : std::uint8_t { words, device, net, contact, load, machine, fault } kind;
        std::uint32_t number = none;
        std::string words = {};
    };
    using Text = std::vector<Piece>;
    /// Each puts its words at the end of a text, or returns false where they name something that is not around.
    bool add_name(const std::string &name, Text &text) const;
    bool add_subject(const std::string &subject, std::span<const Fault> faults, Text &text) const;
    bool add_act(const std::string &act, std::span<const Fault> faults, Text &text) const; ///< "lose G1; lose G2"
    bool add_net(const std::string &name, Text &text) const;
    bool add_part(const std::string &part, Text &text) const; ///< of a path, between two nets: "K1:13-14"
    /// "M1 runs"
    static bool add_end(const std::string &ends_in, const MachineSeen &machine, Text &text);
    bool add_acts(const std::vector<std::string> &acts, std::span<const Fault> faults, std::vector<Text> &texts) const;
    bool add_path(const std::vector<std::string> &path, std::vector<Text> &texts) const;

private:
    const Context &context_;
    const MachineSurroundings &around_;
    std::unordered_map<std::string, Piece> parts_;
};

/// A text of one machine as it is told of another.
std::string said(const Vocabulary::Text &text, const Context &context, const MachineSeen &machine,
                 const MachineSurroundings &around, std::span<const Fault> faults);

std::vector<std::string> said(const std::vector<Vocabulary::Text> &texts, const Context &context,
                              const MachineSeen &machine, const MachineSurroundings &around,
                              std::span<const Fault> faults);

/// As a search finds them.
bool in_order_of_names(const std::vector<Loss> &losses);

/// What faults, all at once, do to one machine, to be told of others that are wired alike.
class Retelling {
public:
    /// What holds a machine on, net by net: told, or left as it is and to be asked of the other.
    enum class Paths { told, left };
    /// @param vocabulary  of what stands around the machine
    Retelling(const Vocabulary &vocabulary, const MachineSeen &machine, std::span<const Fault> faults,
              FaultEffect effect, Paths paths = Paths::told);

    /// The effect of their like on another machine; nothing when some of it cannot be told.
    std::optional<FaultEffect> of(const Context &context, const MachineSeen &machine, const MachineSurroundings &around,
                                  std::span<const Fault> faults) const;

private:
    using Text = Vocabulary::Text;
    struct OfLoss {
        Text subject, ends_in;
        std::vector<Text> acts, runs_on, path;
    };
    bool take(const Vocabulary &vocabulary, const MachineSeen &machine, std::span<const Fault> faults);

    FaultEffect effect_;
    Paths paths_;
    std::vector<OfLoss> losses_;
    std::vector<Text> fuses_;
    bool can_be_told_;
};

} // namespace stopspan
