#include "checks/long_wires.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <set>

namespace stopspan {

std::vector<std::uint32_t> long_wires(const Circuit &circuit, const Compiled &compiled) {
    std::vector<std::uint32_t> wires;
    for (std::uint32_t i = 0; i < compiled.impedances.size(); ++i)
        if (const DeviceKind kind = circuit.devices()[compiled.impedances[i].device].kind;
            kind == DeviceKind::cable || kind == DeviceKind::resistor)
            wires.push_back(i);
    if (wires.empty())
        return wires;
    std::vector<std::uint8_t> pole(compiled.net_count, 0);
    if (compiled.earth != none)
        pole[compiled.earth] = 1;
    for (const Source &source : compiled.sources)
        for (const Source::Pole &each : source.poles)
            pole[each.net] = 1;
    boost::disjoint_sets_with_storage<> joined(compiled.net_count);
    for (const Switch &contact : compiled.switches)
        if (contact.closed_at != 0 && !pole[contact.a] && !pole[contact.b])
            joined.union_set(contact.a, contact.b);
    const auto poles_of = [&](std::uint32_t net) { // what contacts join it to
        std::set<std::uint32_t> met;
        if (pole[net])
            met.insert(net);
        else
            for (const Switch &contact : compiled.switches)
                for (const auto &[at, far] : {std::pair{contact.a, contact.b}, {contact.b, contact.a}})
                    if (contact.closed_at != 0 && pole[far] && !pole[at] && joined.find_set(at) == joined.find_set(net))
                        met.insert(far);
        return met;
    };
    std::erase_if(wires, [&](std::uint32_t i) {
        const Impedance &one = compiled.impedances[i];
        if (!pole[one.a] && !pole[one.b] && joined.find_set(one.a) == joined.find_set(one.b))
            return true;
        const auto at_a = poles_of(one.a), at_b = poles_of(one.b);
        return std::any_of(at_a.begin(), at_a.end(), [&](std::uint32_t net) { return at_b.contains(net); });
    });
    return wires;
}

} // namespace stopspan
