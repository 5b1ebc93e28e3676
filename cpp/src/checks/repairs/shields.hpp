#pragma once

#include "checks/proofs.hpp"

namespace stopspan {

/// Conductors with a shield of their own that is joined to earth do not touch each other, but earth, one or both.
class ShieldTrial {
public:
    ShieldTrial(const Context &context, const std::vector<MachineSeen> &machines)
        : context_(context), machines_(machines), structure_(context.structure) {}

    /// By the structure alone neither an earth fault of one of these nets nor of both takes a stop or trip from any
    /// machine or starts one. What does not hold without one is not proven with it either.
    bool harmless(std::uint32_t one, std::uint32_t other);

private:
    bool proven(const std::vector<std::uint32_t> &earthed);

    const Context &context_;
    const std::vector<MachineSeen> &machines_;
    Structure structure_;
    std::map<std::vector<std::uint32_t>, bool> known_;
    std::size_t proofs_ = 0;
};

} // namespace stopspan
