#pragma once

#include "checks/machine_report.hpp"
#include "checks/retelling.hpp"

#include <array>

namespace stopspan {

/// What is around a machine, and in which order a search of it comes by it.
struct SearchedAround {
    MachineSurroundings all;
    std::vector<std::uint32_t> order; ///< numbers around the machine of what is searched, as the circuit has them

    bool operator==(const SearchedAround &other) const {
        return all.words() == other.all.words() && order == other.order;
    }
};

/// What was found of one machine, to be told of others that are wired alike, and in the same order: a search of them
/// would go the same way.
class OutcomeRetelling {
public:
    OutcomeRetelling(const MachineOutcome &outcome, SearchedAround around);

    const SearchedAround &around() const { return around_; }
    /// Some of it names what is not around the machine, or hangs on what is not known of the others.
    bool can_be_told() const { return can_be_told_; }
    /// @param outcome  of another machine, of which no more is known than what the structure proves
    /// @pre can_be_told(), and what is around it is the same
    void tell(MachineOutcome &outcome, const MachineSurroundings &around) const;

private:
    using Text = Vocabulary::Text;
    struct OfFact {
        std::string rule;
        Text subject, ends_in;
        std::vector<Text> acts, runs_on, path;
        Fact fact; ///< but for its texts
        bool unconfirmed;
    };
    bool take(const MachineOutcome &outcome);

    SearchedAround around_;
    std::vector<OfFact> facts_;
    SearchSeen seen_;
    std::map<std::uint32_t, std::map<Mode, Found>> found_; ///< by the stop's variable around the machine, as these:
    std::vector<std::uint32_t> ever_cut_, variables_;
    std::vector<Text> not_asked_;
    bool fed_back_left_ = false;
    bool can_be_told_;
};

/// What was found of the last few machines that had to be searched. One worker's.
class OutcomesBefore {
public:
    explicit OutcomesBefore(const Context &context) : context_(context) {}
    /// @param whole  all that is connected is searched, not only what is relevant
    SearchedAround around(const MachineSeen &machine, bool whole);
    /// Null if none of them is like it.
    const OutcomeRetelling *of(const SearchedAround &around) const;
    void keep(const MachineOutcome &outcome, SearchedAround around);

private:
    const Context &context_;
    std::vector<std::uint32_t> makes_; ///< empty until it is asked
    std::array<std::optional<OutcomeRetelling>, 16> last_;
    std::size_t next_ = 0;
};

} // namespace stopspan
