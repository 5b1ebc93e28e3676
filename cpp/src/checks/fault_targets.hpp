#pragma once

#include "checks/fault_effects.hpp"

namespace stopspan {

/// Of what faults do, that which is held against the targets of machines and their stops. That nothing starts counts as
/// the strictest stop of the machine does; a trip guards the motor and is no stop, so no target is declared for it.
class FaultTargets {
public:
    /// @param machines  their names
    /// @param least     what a target must ask for, at the least, to be held against
    FaultTargets(const Targets &targets, const Names &machines, Target least)
        : targets_(targets), machines_(machines), least_(least) {}

    bool holds_for(std::uint32_t machine) const;
    /// What of an effect counts.
    FaultEffect counted(const FaultEffect &effect) const;
    /// " The target is single-fault."; empty when nothing of it counts.
    std::string sentence(const FaultEffect &effect) const;

private:
    Target target_of(const Loss &loss) const;

    const Targets &targets_;
    const Names &machines_;
    Target least_;
};

} // namespace stopspan
