#include "circuit/lookup.hpp"

namespace stopspan {

Lookup::Lookup(const Compiled &circuit)
    : switches_at(circuit.net_count), impedances_at(circuit.net_count), sources_at(circuit.net_count),
      supplies_fed_at(circuit.net_count), switches_of(circuit.variables.size()), poles_of(circuit.variables.size()),
      armature_of(circuit.variables.size(), none), impedances_of(circuit.device_names.size()),
      motor_of(circuit.device_names.size(), none), load_of(circuit.device_names.size(), none),
      motors_of(circuit.machines.size()) {
    for (std::uint32_t i = 0; i < circuit.switches.size(); ++i) {
        const Switch &contact = circuit.switches[i];
        switches_at[contact.a].push_back(i);
        switches_at[contact.b].push_back(i);
        if (contact.variable == none)
            continue;
        switches_of[contact.variable].push_back(i);
        if (contact.pole)
            poles_of[contact.variable].push_back(i);
    }
    for (std::uint32_t i = 0; i < circuit.impedances.size(); ++i) {
        impedances_at[circuit.impedances[i].a].push_back(i);
        impedances_at[circuit.impedances[i].b].push_back(i);
        if (circuit.impedances[i].device != none) // a fault belongs to no device
            impedances_of[circuit.impedances[i].device].push_back(i);
    }
    for (std::uint32_t i = 0; i < circuit.armatures.size(); ++i)
        for (const std::uint32_t variable : {circuit.armatures[i].variable, circuit.armatures[i].timed})
            if (variable != none)
                armature_of[variable] = i;
    for (std::uint32_t s = 0; s < circuit.sources.size(); ++s) {
        const Source &source = circuit.sources[s];
        for (const Source::Pole &pole : source.poles)
            sources_at[pole.net].push_back(s);
        for (const std::uint32_t net : {source.feed_a, source.feed_b})
            if (net != none)
                supplies_fed_at[net].push_back(s);
    }
    for (std::uint32_t m = 0; m < circuit.motors.size(); ++m) {
        motor_of[circuit.motors[m].device] = m;
        motors_of[circuit.motors[m].machine].push_back(m);
    }
    for (std::uint32_t l = 0; l < circuit.loads.size(); ++l)
        load_of[circuit.loads[l].device] = l;
}

} // namespace stopspan
