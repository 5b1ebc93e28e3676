#include "checks/fault_effects.hpp"

#include "base/words.hpp"

#include <algorithm>
#include <unordered_set>

// How what a fault does is told.

namespace stopspan {

const Loss &worst_of(const FaultEffect &effect) {
    const auto rank = [](const Loss &loss) { // what is lost for sure first, then stops ahead of starts and trips
        return std::pair{-severity(loss.fact.status), loss.rule == "stop-cuts"          ? 0
                                                      : loss.rule == "stop-beats-start" ? 1
                                                      : loss.rule == "overload-cuts"    ? 3
                                                                                        : 2};
    };
    return *std::min_element(effect.losses.begin(), effect.losses.end(),
                             [&](const Loss &a, const Loss &b) { return rank(a) < rank(b); });
}

std::string noticed_text(const FaultEffect &effect) {
    const std::string text = to_text(effect.noticed);
    return text.empty() ? "nothing shows it before." : text + ".";
}

std::string FaultWords::names(const std::vector<std::uint32_t> &machines) const {
    std::vector<std::string> names;
    for (const std::uint32_t index : machines)
        names.push_back(machines_[index]);
    return listed(names);
}

std::string FaultWords::consequences(const FaultEffect &effect) const {
    // Machines of which the same is lost in the same way are told together, what is sure apart from what is not.
    struct Lost {
        bool perhaps = false, starts = false;
        std::set<std::string> stops, trips;         ///< that no longer stop it
        std::set<std::string> stops_fed, trips_fed; ///< that leave its terminals fed
        auto operator<=>(const Lost &) const = default;
        bool nothing() const {
            return stops.empty() && trips.empty() && stops_fed.empty() && trips_fed.empty() && !starts;
        }
    };
    std::map<std::pair<std::uint32_t, bool>, Lost> per_machine;
    for (const bool perhaps : {false, true})
        for (const Loss &loss : effect.losses) {
            if ((loss.fact.status != Status::fails) != perhaps)
                continue;
            const Lost &sure = per_machine[{loss.machine, false}];
            Lost &lost = per_machine[{loss.machine, perhaps}];
            lost.perhaps = perhaps;
            if (is_start_rule(loss.rule)) {
                lost.starts = lost.starts || !sure.starts;
                continue;
            }
            const bool fed = loss.fact.way == 1 && loss.rule != "stop-beats-start"; // torque off, power on
            const auto which = loss.rule == "overload-cuts" ? (fed ? &Lost::trips_fed : &Lost::trips)
                                                            : (fed ? &Lost::stops_fed : &Lost::stops);
            if (!(sure.*which).contains(loss.subject))
                (lost.*which).insert(loss.subject);
        }
    std::map<Lost, std::vector<std::uint32_t>> alike;
    for (const auto &[machine, lost] : per_machine)
        alike[lost].push_back(machine.first);
    std::string text;
    for (const auto &[lost, those] : alike) {
        if (lost.nothing())
            continue;
        const bool one = those.size() == 1;
        const std::string who = names(those);
        const std::string no_longer = lost.perhaps ? " may no longer be" : one ? " is no longer" : " are no longer";
        const std::string left = lost.perhaps ? " may be" : one ? " is" : " are";
        std::string said;
        const auto add = [&](const std::string &what) { said += (said.empty() ? who : ", and") + what; };
        if (!lost.stops.empty())
            add(no_longer + " stopped by " + listed(lost.stops));
        if (!lost.trips.empty())
            add(no_longer + " stopped by the trip of " + listed(lost.trips));
        if (!lost.stops_fed.empty())
            add(left + " left fed by " + listed(lost.stops_fed) + " (torque off, power on)");
        if (!lost.trips_fed.empty())
            add(left + " left fed by the trip of " + listed(lost.trips_fed) + " (torque off, power on)");
        if (lost.starts)
            add((lost.perhaps ? " may start" : one ? " starts" : " start") + std::string(" with no start given"));
        text += (text.empty() ? "" : "; ") + said;
    }
    return text;
}

std::vector<std::string> FaultWords::subjects(const Fault &fault, const FaultEffect &effect) const {
    std::vector<std::string> all;
    std::unordered_set<std::string_view> met; // a stop of a site acts on thousands
    const auto put = [&](const std::string &name) {
        if (met.insert(name).second)
            all.push_back(name);
    };
    if (fault.device != none)
        put(devices_[fault.device]);
    else
        for (const std::uint32_t net : {fault.a, fault.b})
            if (net != none)
                put((*nets_)[net]);
    for (const Loss &loss : effect.losses)
        if (!is_start_rule(loss.rule))
            put(loss.subject);
    for (const Loss &loss : effect.losses)
        put(machines_[loss.machine]);
    for (const std::uint32_t index : effect.undecided)
        put(machines_[index]);
    return all;
}

} // namespace stopspan
