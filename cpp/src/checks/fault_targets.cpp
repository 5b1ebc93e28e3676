#include "checks/fault_targets.hpp"

#include <algorithm>

namespace stopspan {

Target FaultTargets::target_of(const Loss &loss) const {
    const std::string &machine = machines_[loss.machine];
    if (loss.rule == "overload-cuts")
        return Target::no_fault;
    return loss.rule == "stop-cuts" || loss.rule == "stop-beats-start" ? targets_.of(machine, loss.subject)
                                                                       : targets_.strictest_of(machine);
}

bool FaultTargets::holds_for(std::uint32_t machine) const {
    return targets_.strictest_of(machines_[machine]) >= least_;
}

FaultEffect FaultTargets::counted(const FaultEffect &effect) const {
    FaultEffect those{.losses = {}, .undecided = {}, .noticed = effect.noticed};
    std::copy_if(effect.losses.begin(), effect.losses.end(), std::back_inserter(those.losses),
                 [&](const Loss &loss) { return target_of(loss) >= least_; });
    std::copy_if(effect.undecided.begin(), effect.undecided.end(), std::back_inserter(those.undecided),
                 [&](std::uint32_t machine) { return holds_for(machine); });
    return those;
}

std::string FaultTargets::sentence(const FaultEffect &effect) const {
    Target most = Target::no_fault;
    for (const Loss &loss : effect.losses)
        most = std::max(most, target_of(loss));
    return most < least_ ? "" : " The target is " + std::string(to_text(most)) + ".";
}

} // namespace stopspan
