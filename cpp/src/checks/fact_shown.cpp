#include "checks/machine_check.hpp"

#include <algorithm>

// Asks the whole circuit of what the search of a part found.

namespace stopspan {

bool confirmed(const Fact &fact, const std::string &rule, const MachineSeen &machine, WitnessRun &witness,
               const WitnessRun::Result &end, const State **failing) {
    if (rule == "contact-race" || rule == "chatter")
        return shows(end, rule, fact.way == 1);
    Network &network = witness.settler().network();
    const Compiled &circuit = witness.cone().circuit;
    const bool let_go = rule == "stop-beats-start" && fact.way == 1; // and it ran until then
    if (let_go && std::none_of(end.before.begin(), end.before.end(), [&](State state) {
            network.evaluate(state);
            return observe_machine(circuit, machine.index, state, network).runs != Tri::off;
        }))
        return false;
    for (const State &state : end.states) {
        State seen = state;
        const MotorState now = witness.observe(machine.index, seen);
        bool bad = now.runs != Tri::off;
        if (rule == "stop-spares")
            bad = now.runs != Tri::on;
        else if (let_go)
            bad = now.runs == Tri::off;
        else if (rule == "overload-cuts" || (rule == "stop-cuts" && fact.way != 0))
            for (const MotorSeen &motor : circuit.motors)
                bad |= motor.machine == machine.index && still_fed(circuit, motor, seen, network) != StillFed::no;
        if (bad) {
            *failing = &state;
            return true;
        }
    }
    return false;
}

Shown shown(const Fact &fact, const std::string &rule, const MachineSeen &machine, WitnessRun &witness) {
    const WitnessRun::Result end = witness.run(fact.acts);
    Network &network = witness.settler().network();
    const Compiled &circuit = witness.cone().circuit;
    const bool cut = rule == "stop-cuts" || rule == "overload-cuts";
    const bool stopping = rule == "stop-spares" || (rule == "stop-beats-start" && fact.way == 1);
    const auto runs = [&](State &state) { return witness.observe(machine.index, state).runs; };
    const auto before = [&](State state) {
        const Tri seen = runs(state);
        return cut ? seen != Tri::off : seen == (stopping ? Tri::on : Tri::off);
    };
    const auto bad = [&](State state) {
        if (runs(state) == (stopping ? Tri::off : Tri::on))
            return true;
        return cut && std::any_of(circuit.motors.begin(), circuit.motors.end(), [&](const MotorSeen &motor) {
                   return motor.machine == machine.index &&
                          still_fed(circuit, motor, state, network) == StillFed::through_contactor;
               });
    };
    if (std::none_of(end.states.begin(), end.states.end(), bad))
        return Shown::in_none;
    return std::all_of(end.before.begin(), end.before.end(), before) &&
                   std::all_of(end.states.begin(), end.states.end(), bad)
               ? Shown::in_all
               : Shown::in_some;
}

} // namespace stopspan
