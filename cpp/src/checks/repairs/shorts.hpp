#pragma once

#include "checks/fault_effects.hpp"

namespace stopspan {

/// Conductors of a circuit that touch: each pair tried once, however many findings ask.
class ShortsTrial {
public:
    ShortsTrial(Circuit circuit, CheckOptions options);
    ShortsTrial(const ShortsTrial &) = delete;
    ShortsTrial &operator=(const ShortsTrial &) = delete;

    const Circuit &circuit() const { return circuit_; }
    /// No two of these nets that touch take from these machines any of these stops or overloads, or start one of them.
    /// @param names  machines, stops, overloads
    /// @param trips  overloads count, too
    bool harmless(const std::set<std::string> &nets, const std::vector<std::string> &names, bool trips);

private:
    struct Short {
        FaultCase fault;
        std::optional<FaultEffect> effect;
    };

    Circuit circuit_;
    CheckOptions options_;
    Context context_;
    std::vector<MachineSeen> machines_;
    Tools tools_;
    FaultJudge judge_;
    std::map<std::pair<std::uint32_t, std::uint32_t>, Short> shorts_; ///< per nets
};

} // namespace stopspan
