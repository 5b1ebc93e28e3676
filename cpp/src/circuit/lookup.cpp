#include "circuit/lookup.hpp"

namespace stopspan {

Lookup::Lookup(const Compiled &circuit)
    : switches_at(circuit.net_count,
                  [&](auto &&put) {
                      for (std::uint32_t i = 0; i < circuit.switches.size(); ++i) {
                          put(circuit.switches[i].a, i);
                          put(circuit.switches[i].b, i);
                      }
                  }),
      impedances_at(circuit.net_count,
                    [&](auto &&put) {
                        for (std::uint32_t i = 0; i < circuit.impedances.size(); ++i) {
                            put(circuit.impedances[i].a, i);
                            put(circuit.impedances[i].b, i);
                        }
                    }),
      sources_at(circuit.net_count,
                 [&](auto &&put) {
                     for (std::uint32_t s = 0; s < circuit.sources.size(); ++s)
                         for (const Source::Pole &pole : circuit.sources[s].poles)
                             put(pole.net, s);
                 }),
      supplies_fed_at(circuit.net_count,
                      [&](auto &&put) {
                          for (std::uint32_t s = 0; s < circuit.sources.size(); ++s)
                              for (const std::uint32_t net : {circuit.sources[s].feed_a, circuit.sources[s].feed_b})
                                  if (net != none)
                                      put(net, s);
                      }),
      switches_of(circuit.variables.size(),
                  [&](auto &&put) {
                      for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
                          if (circuit.switches[i].variable != none)
                              put(circuit.switches[i].variable, i);
                  }),
      poles_of(circuit.variables.size(),
               [&](auto &&put) {
                   for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
                       if (circuit.switches[i].variable != none && circuit.switches[i].pole)
                           put(circuit.switches[i].variable, i);
               }),
      armature_of(circuit.variables.size(), none),
      impedances_of(circuit.device_names.size(),
                    [&](auto &&put) {
                        for (std::uint32_t i = 0; i < circuit.impedances.size(); ++i)
                            if (circuit.impedances[i].device != none) // a fault belongs to no device
                                put(circuit.impedances[i].device, i);
                    }),
      motor_of(circuit.device_names.size(), none), load_of(circuit.device_names.size(), none),
      motors_of(circuit.machines.size(), [&](auto &&put) {
          for (std::uint32_t m = 0; m < circuit.motors.size(); ++m)
              put(circuit.motors[m].machine, m);
      }) {
    for (std::uint32_t i = 0; i < circuit.armatures.size(); ++i)
        for (const std::uint32_t variable : {circuit.armatures[i].variable, circuit.armatures[i].timed})
            if (variable != none)
                armature_of[variable] = i;
    for (std::uint32_t m = 0; m < circuit.motors.size(); ++m)
        motor_of[circuit.motors[m].device] = m;
    for (std::uint32_t l = 0; l < circuit.loads.size(); ++l)
        load_of[circuit.loads[l].device] = l;
}

} // namespace stopspan
