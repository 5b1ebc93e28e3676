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

} // namespace

FaultEffect without_second_trips(FaultJudge &judge, const Fault &fault, FaultEffect effect) {
    const Context &context = judge.context();
    const auto &devices = context.circuit.devices();
    std::set<std::uint32_t> beside;
    for (const Device::Terminal &terminal : devices[fault.device].terminals)
        for (const std::uint32_t i : context.lookup.switches_at[terminal.net.value])
            if (const std::uint32_t d = context.compiled.switches[i].device;
                d != fault.device && devices[d].kind == DeviceKind::overload)
                beside.insert(d);
    for (const std::uint32_t d : beside) {
        if (!set_no_higher(devices[d], devices[fault.device]) ||
            !in_one_line(context.circuit, devices[fault.device], devices[d]))
            continue;
        std::erase_if(effect.losses, [&](const Loss &loss) {
            return loss.rule == "overload-cuts" && judge.surely_trips(context.compiled.variable_of[d], loss.machine);
        });
    }
    return effect;
}

} // namespace stopspan
