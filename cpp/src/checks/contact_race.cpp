#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {

// The result of an act does not depend on which armature moves first, and every armature comes to rest.
void judge_races(MachineSearch &search, const Exploration::Transition &t) {
    if (!t.settled.race && !t.settled.chatter)
        return;
    std::vector<std::string> names;
    for (const std::uint32_t armature : t.settled.moved)
        names.push_back(search.context().compiled.device_names[search.cone().circuit.armatures[armature].device]);
    std::sort(names.begin(), names.end());
    names.erase(std::unique(names.begin(), names.end()), names.end());
    std::string subject;
    for (const std::string &name : names)
        subject += (subject.empty() ? "" : " ") + name;
    const bool two_hands = t.two_held || search.exploration().held(search.state(t.from)) >= 2;
    const Status status = two_hands ? Status::note : Status::fails;
    if (t.settled.race)
        search.record("contact-race", subject, status, t, "it depends on which of " + subject + " moves first");
    if (t.settled.chatter)
        search.record("chatter", subject, status, t, subject + " never comes to rest");
}

} // namespace stopspan
