#include "checks/left_out.hpp"

#include "base/words.hpp"

#include <algorithm>

namespace stopspan {
namespace {

bool stands_in_an_enclosure(DeviceKind kind) {
    if (has_armature(kind))
        return true;
    switch (kind) {
    case DeviceKind::fuse:
    case DeviceKind::overload:
    case DeviceKind::transformer:
    case DeviceKind::dc_supply:
        return true;
    default:
        return false;
    }
}

} // namespace

LeftOut::LeftOut(const Context &context, std::vector<std::string_view> exclusions)
    : context_(context), exclusions_(std::move(exclusions)) {
    if (exclusions_.empty())
        return;
    outside_.resize(context.compiled.net_count);
    for (std::uint32_t d = 0; d < context.circuit.devices().size(); ++d)
        if (const Device &device = context.circuit.devices()[d]; !stands_in_an_enclosure(device.kind))
            for (const Device::Terminal &terminal : device.terminals)
                outside_[terminal.net.value].push_back(d);
}

bool LeftOut::excludes(std::string_view id) const {
    return std::find(exclusions_.begin(), exclusions_.end(), id) != exclusions_.end();
}

bool LeftOut::in_one_cable(std::uint32_t a, std::uint32_t b) const {
    return std::any_of(outside_[a].begin(), outside_[a].end(), [&](std::uint32_t device) {
        return std::find(outside_[b].begin(), outside_[b].end(), device) != outside_[b].end();
    });
}

bool LeftOut::has_break_contact(std::uint32_t device) const {
    const auto contacts = contacts_of(context_.circuit.devices()[device]);
    return std::any_of(contacts.begin(), contacts.end(), [](const Contact &contact) {
        return contact.sense == ContactSense::break_ || contact.sense == ContactSense::delayed_break;
    });
}

std::vector<std::string_view> LeftOut::by(const Fault &fault) const {
    if (exclusions_.empty())
        return {};
    switch (fault.kind) {
    case Fault::Kind::earth:
        if (excludes("earth-faults-in-enclosure") && stays_inside(fault.a))
            return {"earth-faults-in-enclosure"};
        return {};
    case Fault::Kind::bridge:
        // Wherever conductors lead, their ends come together inside.
        if (!excludes("shorts-in-enclosure"))
            return {};
        if (stays_inside(fault.a) || stays_inside(fault.b))
            return {"shorts-in-enclosure"};
        if (excludes("shorts-in-protected-cables"))
            return {"shorts-in-enclosure", "shorts-in-protected-cables"};
        if (excludes("shorts-between-cables") && !in_one_cable(fault.a, fault.b))
            return {"shorts-in-enclosure", "shorts-between-cables"};
        return {};
    case Fault::Kind::jam:
    case Fault::Kind::detach:
    case Fault::Kind::stays_closed:
    case Fault::Kind::stays_open: {
        const Device &device = context_.circuit.devices()[fault.device];
        if (role_of(device) != Role::stop || !has_break_contact(fault.device))
            return {};
        if (excludes("emergency-stop-mechanics") && device.kind == DeviceKind::emergency_stop)
            return {"emergency-stop-mechanics"};
        if (excludes("contact-will-not-open") && fault.kind == Fault::Kind::jam)
            return {"contact-will-not-open"};
        return {};
    }
    case Fault::Kind::broken:
    case Fault::Kind::weld:
    case Fault::Kind::blind:
        return {};
    }
    return {};
}

std::vector<std::string_view> every_exclusion() {
    std::vector<std::string_view> ids;
    for (const FaultExclusion &exclusion : fault_exclusions())
        ids.push_back(exclusion.id);
    return ids;
}

std::string told_condition(const std::vector<std::string_view> &exclusions) {
    if (exclusions.empty())
        return {};
    const bool one = exclusions.size() == 1;
    return std::string("meet the condition") + (one ? " of the fault exclusion " : "s of the fault exclusions ") +
           listed(exclusions) + (one ? " and name it" : " and name them");
}

std::vector<std::string> told_left_out(const Context &context, std::string_view rule,
                                       const std::map<std::string_view, std::size_t> &left_out) {
    std::vector<std::string> lines;
    for (const std::string_view id : context.exclusions) {
        const FaultExclusion &exclusion = fault_exclusion(id);
        if (exclusion.rule != rule)
            continue;
        const auto found = left_out.find(id);
        const std::size_t count = found == left_out.end() ? 0 : found->second;
        lines.push_back("fault exclusion " + std::string(id) + ": " + std::to_string(count) +
                        (count == 1 ? " fault" : " faults") + " left out, " + std::string(exclusion.faults) +
                        "; allowed where " + std::string(exclusion.condition) + " (" + std::string(exclusion.source) +
                        ")");
    }
    return lines;
}

} // namespace stopspan
