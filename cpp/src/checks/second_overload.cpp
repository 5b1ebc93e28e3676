#include "checks/second_overload.hpp"

#include <algorithm>

namespace stopspan {
namespace {

std::vector<Contact> poles_of(const Device &overload) {
    std::vector<Contact> poles = contacts_of(overload);
    std::erase_if(poles, [](const Contact &contact) { return contact.sense != ContactSense::pole; });
    return poles;
}

bool set_no_higher(const Device &other, const Device &overload) {
    const auto theirs = other.number("setting_a"), own = overload.number("setting_a");
    return theirs && own ? *theirs <= *own : !theirs && !own;
}

// Each pole of the one is wired to a pole of the other, and to nothing else: they carry the same current.
bool in_one_line(const Circuit &circuit, const Device &one, const Device &other) {
    const auto wired_only_to_other = [&](NetId net) {
        std::size_t ends = 0;
        for (const Device &device : circuit.devices())
            for (const Device::Terminal &terminal : device.terminals)
                ends += terminal.net == net;
        const std::vector<Contact> poles = poles_of(other);
        return ends == 2 && std::any_of(poles.begin(), poles.end(), [&](const Contact &pole) {
                   return other.net_of(pole.first) == net || other.net_of(pole.second) == net;
               });
    };
    const std::vector<Contact> poles = poles_of(one);
    return !poles.empty() && std::all_of(poles.begin(), poles.end(), [&](const Contact &pole) {
        return wired_only_to_other(*one.net_of(pole.first)) || wired_only_to_other(*one.net_of(pole.second));
    });
}

std::set<std::uint32_t> beside(const Context &context, std::uint32_t overload) {
    const auto &devices = context.circuit.devices();
    std::set<std::uint32_t> found;
    for (const Device::Terminal &terminal : devices[overload].terminals)
        for (const std::uint32_t i : context.lookup.switches_at[terminal.net.value])
            if (const std::uint32_t d = context.compiled.switches[i].device;
                d != overload && devices[d].kind == DeviceKind::overload &&
                set_no_higher(devices[d], devices[overload]) &&
                in_one_line(context.circuit, devices[overload], devices[d]))
                found.insert(d);
    return found;
}

bool has(const std::vector<std::uint32_t> &machines, std::uint32_t machine) {
    return std::find(machines.begin(), machines.end(), machine) != machines.end();
}

} // namespace

bool loses_trips(const FaultEffect &effect) {
    return std::any_of(effect.losses.begin(), effect.losses.end(),
                       [](const Loss &loss) { return loss.rule == "overload-cuts"; });
}

FaultEffect without_second_trips(FaultJudge &judge, FaultEffect effect) {
    const Context &context = judge.context();
    std::set<std::pair<std::string, std::uint32_t>> lost; // overloads and machines
    for (const Loss &loss : effect.losses)
        if (loss.rule == "overload-cuts")
            lost.emplace(loss.subject, loss.machine);
    std::erase_if(effect.losses, [&](const Loss &loss) {
        if (loss.rule != "overload-cuts" || has(effect.undecided, loss.machine) || has(effect.incomplete, loss.machine))
            return false;
        const std::set<std::uint32_t> others = beside(context, context.circuit.find(loss.subject)->value);
        return std::any_of(others.begin(), others.end(), [&](std::uint32_t d) {
            const std::uint32_t variable = context.compiled.variable_of[d];
            return !lost.contains({context.name(variable), loss.machine}) && judge.surely_trips(variable, loss.machine);
        });
    });
    return effect;
}

} // namespace stopspan
