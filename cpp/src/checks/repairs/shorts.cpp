#include "checks/repairs/shorts.hpp"

#include "checks/second_overload.hpp"

#include <algorithm>

namespace stopspan {

ShortsTrial::ShortsTrial(Circuit circuit, CheckOptions options)
    : circuit_(std::move(circuit)), options_(std::move(options)), context_(circuit_, options_),
      machines_(machines_of(context_)), tools_(context_), judge_(tools_, machines_) {
    for (FaultCase &one : single_faults(context_, machines_).cases)
        if (one.fault.kind == Fault::Kind::bridge)
            shorts_.emplace(std::minmax(one.fault.a, one.fault.b), Short{std::move(one), std::nullopt});
}

bool ShortsTrial::harmless(const std::set<std::string> &nets, const std::vector<std::string> &names, bool trips) {
    const auto told = [&](const std::string &name) {
        return std::find(names.begin(), names.end(), name) != names.end();
    };
    const auto takes = [&](const Loss &loss) {
        return told(machines_[loss.machine].name) && (is_start_rule(loss.rule) || told(loss.subject)) &&
               (trips || loss.rule != "overload-cuts");
    };
    std::vector<std::uint32_t> ids;
    for (const std::string &name : nets)
        if (const auto net = circuit_.find_net(name))
            ids.push_back(net->value);
    for (std::size_t i = 0; i < ids.size(); ++i)
        for (std::size_t j = i + 1; j < ids.size(); ++j) {
            const auto found = shorts_.find(std::minmax(ids[i], ids[j]));
            if (found == shorts_.end())
                continue;
            Short &one = found->second;
            if (!one.effect)
                one.effect = without_second_trips(judge_, judge_.effect_of(one.fault));
            if (std::any_of(one.effect->losses.begin(), one.effect->losses.end(), takes) ||
                std::any_of(one.effect->undecided.begin(), one.effect->undecided.end(),
                            [&](std::uint32_t machine) { return told(machines_[machine].name); }))
                return false;
        }
    return true;
}

} // namespace stopspan
