#include "checks/machine_search.hpp"

#include <algorithm>
#include <set>

namespace stopspan {

namespace {

// A change-over contact that moves fast or dwells between its ends: the same press must lead to the same end.
void judge_change_over(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    if ((act.kind != ActKind::press && act.kind != ActKind::release) || act.variable == none ||
        !search.cone().actors[act.variable].changes_over)
        return;
    const auto key = std::pair{act.variable, static_cast<std::uint32_t>(act.kind)};
    auto &fast = search.fast_ends();
    if (!act.slow) {
        fast[{t.from, key}] = t.to;
        return;
    }
    const auto other = fast.find({t.from, key});
    if (other == fast.end())
        return;
    const std::vector<std::uint32_t> fast_ends = other->second;
    fast.erase(other);
    if (fast_ends == t.to || fast_ends.empty() || t.to.empty())
        return;
    std::set<std::string> differ;
    for (const Armature &armature : search.cone().circuit.armatures) {
        const auto positions = [&](const std::vector<std::uint32_t> &ends) {
            std::set<std::uint8_t> seen;
            for (const std::uint32_t end : ends)
                seen.insert(search.state(end)[armature.variable]);
            return seen;
        };
        if (positions(fast_ends) != positions(t.to))
            differ.insert(search.context().compiled.device_names[armature.device]);
    }
    if (differ.empty())
        return;
    std::string subject = search.cone().actors[act.variable].designation;
    for (const std::string &name : differ)
        subject += " " + name;
    const bool two_hands = t.two_held || search.exploration().held(search.state(t.from)) >= 2;
    search.record("contact-race", subject, two_hands ? Status::note : Status::fails, t, "moved fast it ends otherwise",
                  none, Mode::stopped, 1);
}

} // namespace

// The result of an act does not depend on which armature moves first, and every armature comes to rest.
void judge_races(MachineSearch &search, const Exploration::Transition &t) {
    judge_change_over(search, t);
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
