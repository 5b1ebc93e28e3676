#pragma once

#include "checks/shares.hpp"

namespace stopspan {

/// The findings of a verdict that is decided again part by part. What goes and what comes is noted, and the verdict's
/// list is put in order only for those who look at it: on a large site that takes longer than all else.
class LooseFindings {
public:
    struct One {
        Shares::Place place;
        std::uint32_t share;
        Finding finding;
    };
    struct Part {
        std::uint32_t share, rule; ///< rule: none: all that is said of the share
    };

    LooseFindings() = default;
    explicit LooseFindings(const Shares &shares);

    /// @returns what was said of these parts, in order, and is said no more
    std::vector<Finding> take(Verdict &verdict, const Shares &shares, const std::vector<Part> &parts);
    void put(One one) { came_.push_back(std::move(one)); }
    void put_in_order(Verdict &verdict, Shares &shares);

private:
    std::vector<std::uint32_t> first_, of_share_; ///< per share where those of the list begin that are of it
    std::vector<std::uint8_t> gone_;              ///< per finding of the list
    std::vector<One> came_;
    bool in_order_ = true;
};

} // namespace stopspan
