#include "checks/repair_shorts.hpp"

#include <algorithm>

namespace stopspan {

ShortsOfRows::ShortsOfRows(Circuit circuit, CheckOptions options, const std::set<std::string> &nets)
    : circuit_(std::move(circuit)), options_(std::move(options)), context_(circuit_, options_),
      machines_(machines_of(context_)), tools_(context_), judge_(tools_, machines_),
      cases_(single_faults(context_, machines_).cases) {
    std::erase_if(cases_, [&](const FaultCase &one) {
        return one.fault.kind != Fault::Kind::bridge || !nets.contains(context_.compiled.net_names[one.fault.a]) ||
               !nets.contains(context_.compiled.net_names[one.fault.b]);
    });
}

bool ShortsOfRows::harmless(const std::vector<std::string> &names, bool trips, std::size_t end_of_work) {
    const auto told = [&](const std::string &name) {
        return std::find(names.begin(), names.end(), name) != names.end();
    };
    const auto counts = [&](const Lost &lost) {
        return told(lost.machine) && (lost.subject.empty() || told(lost.subject)) && (trips || !lost.trip);
    };
    while (std::none_of(lost_.begin(), lost_.end(), counts)) {
        if (next_ == cases_.size())
            return true;
        if (network_work() > end_of_work)
            return false;
        const FaultEffect effect = judge_.effect_of(cases_[next_++]);
        for (const Loss &loss : effect.losses)
            lost_.insert({machines_[loss.machine].name, is_start_rule(loss.rule) ? std::string() : loss.subject,
                          loss.rule == "overload-cuts"});
        for (const std::uint32_t machine : effect.undecided) // of it anything may be lost
            lost_.insert({machines_[machine].name, {}, false});
    }
    return false;
}

} // namespace stopspan
