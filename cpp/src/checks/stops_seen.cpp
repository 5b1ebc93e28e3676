#include "checks/stops_seen.hpp"

#include "checks/single_fault.hpp"

#include <algorithm>

namespace stopspan {
namespace {

bool same(const Loss &a, const Loss &b) {
    return std::tie(a.machine, a.rule, a.subject, a.path, a.fact.status, a.fact.acts, a.fact.ends_in) ==
           std::tie(b.machine, b.rule, b.subject, b.path, b.fact.status, b.fact.acts, b.fact.ends_in);
}

} // namespace

StopsSeen::StopsSeen(const Context &context, Shares &shares, const std::vector<std::uint32_t> &part_of_machine)
    : words_(context.compiled.machines, context.compiled.device_names, nullptr), targets_(context.targets),
      state_budget_(context.options.state_budget) {
    std::unordered_map<std::uint32_t, std::uint32_t> part_of; // per stop device; none: several
    for (std::uint32_t m = 0; m < context.compiled.machines.size(); ++m)
        for (const auto &[stop, asked] : context.asked_of(context.compiled.machines[m])) {
            if (asked != Asked::cut)
                continue;
            const std::uint32_t device = context.compiled.variables[context.stops[stop].variable].device;
            ++asked_[device];
            if (std::uint32_t &part = part_of.try_emplace(device, part_of_machine[m]).first->second;
                part != part_of_machine[m])
                part = none;
        }
    for (auto &[one, effect] : shares.stop_faults)
        if (part_of.at(one.fault.device) == none)
            faults_[one.fault.device].emplace_back(std::move(one), std::move(effect));
    for (ContactFed &contact : shares.contacts_fed)
        fed_[contact.device].emplace(contact.terminal, std::move(contact.from));
    shares.stop_faults.clear();
    shares.contacts_fed.clear();
}

bool StopsSeen::covers(const StopsInPart &part) const {
    return std::all_of(part.faults.begin(), part.faults.end(), [&](const auto &each) {
        const std::uint32_t device = each.first.fault.device;
        return faults_.contains(device) || each.first.machines.size() == asked_.at(device);
    });
}

std::vector<OfStop> StopsSeen::put(StopsInPart part) {
    std::vector<OfStop> changed;
    std::set<std::uint32_t> fed_otherwise;
    for (ContactFed &contact : part.contacts_fed)
        if (std::set<std::string> &from = fed_[contact.device][contact.terminal]; from != contact.from) {
            from = std::move(contact.from);
            fed_otherwise.insert(contact.device);
        }
    for (const std::uint32_t device : fed_otherwise) {
        std::set<std::set<std::string>> feeds;
        for (const auto &[terminal, from] : fed_.at(device))
            if (!from.empty())
                feeds.insert(from);
        OfStop &stop = changed.emplace_back(OfStop{device, "one-origin", {}});
        stop.decided.order = order_of_boxes;
        if (auto note = note_of_several_feeds(words_.device(device), feeds))
            stop.decided.add(std::move(*note));
    }
    std::map<std::uint32_t, Faults> of_stop;
    for (auto &each : part.faults)
        of_stop[each.first.fault.device].push_back(std::move(each));
    for (auto &[device, faults] : of_stop) {
        const auto wide = faults_.find(device);
        if (wide == faults_.end()) {
            changed.push_back(told(device, faults));
            continue;
        }
        bool other = false;
        for (std::size_t k = 0; k < faults.size(); ++k)
            other |= replace(wide->second[k].second, std::move(faults[k].second), part.machines);
        if (other)
            changed.push_back(told(device, wide->second));
    }
    return changed;
}

// @returns whether that is another effect
bool StopsSeen::replace(FaultEffect &all, FaultEffect part, const std::vector<std::uint32_t> &machines) {
    const auto of_part = [&](std::uint32_t machine) {
        return std::binary_search(machines.begin(), machines.end(), machine);
    };
    std::vector<const Loss *> old;
    for (const Loss &loss : all.losses)
        if (of_part(loss.machine))
            old.push_back(&loss);
    std::vector<std::uint32_t> old_undecided;
    std::copy_if(all.undecided.begin(), all.undecided.end(), std::back_inserter(old_undecided), of_part);
    if (old_undecided == part.undecided && std::equal(old.begin(), old.end(), part.losses.begin(), part.losses.end(),
                                                      [](const Loss *a, const Loss &b) { return same(*a, b); }))
        return false;
    std::erase_if(all.losses, [&](const Loss &loss) { return of_part(loss.machine); });
    std::vector<Loss> merged;
    merged.reserve(all.losses.size() + part.losses.size());
    std::merge(std::make_move_iterator(all.losses.begin()), std::make_move_iterator(all.losses.end()),
               std::make_move_iterator(part.losses.begin()), std::make_move_iterator(part.losses.end()),
               std::back_inserter(merged), [](const Loss &a, const Loss &b) { return a.machine < b.machine; });
    all.losses = std::move(merged);
    std::erase_if(all.undecided, of_part);
    all.undecided.insert(all.undecided.end(), part.undecided.begin(), part.undecided.end());
    std::sort(all.undecided.begin(), all.undecided.end());
    return true;
}

OfStop StopsSeen::told(std::uint32_t device, const Faults &faults) const {
    OfStop stop{device, "single-fault", {}};
    const FaultTargets targets(targets_, words_.machines(), Target::single_fault);
    for (const auto &[one, effect] : faults) {
        stop.decided.order = one.order;
        tell_single_fault(words_, targets, one, effect, state_budget_, {}, stop.decided);
    }
    return stop;
}

} // namespace stopspan
