#include "checks/machine_check.hpp"

#include <algorithm>

// Asks the whole circuit of what the search of a part found.

namespace stopspan {
namespace {

// Of a state in which a coil in its band may start or stop the machine by itself, perhaps starting or stopping after an
// act says nothing of the act.
bool drifts(WitnessRun &witness, std::uint32_t machine, State state) {
    const Tri before = witness.observe(machine, state).runs;
    const Settled alone = witness.settler().settle(state);
    return std::any_of(alone.ends.begin(), alone.ends.end(),
                       [&](State end) { return witness.observe(machine, end).runs != before; });
}

// Is there a state before the last act from which it can be that act's doing? Without a line, or behind a blown fuse,
// the search of a part has asked that already.
bool by_this_act(const Fact &fact, const std::string &rule, std::uint32_t machine, WitnessRun &witness,
                 const WitnessRun::Result &end) {
    const bool stopping = rule == "stop-spares" || (rule == "stop-beats-start" && fact.way == 1);
    if (fact.status != Status::maybe || fact.acts.empty() ||
        !(stopping || rule == "stop-beats-start" || is_start_rule(rule)))
        return true;
    return std::any_of(end.before.begin(), end.before.end(), [&](State state) {
        if (!supply_healthy(witness.cone().circuit, state))
            return true;
        const Tri before = witness.observe(machine, state).runs;
        if (before == (stopping ? Tri::off : Tri::on))
            return false;
        const Tri after = witness.runs(machine, witness.run_from(state, fact.acts.back()));
        return after != before && (after == (stopping ? Tri::off : Tri::on) || !drifts(witness, machine, state));
    });
}

} // namespace

bool confirmed(const Fact &fact, const std::string &rule, const MachineSeen &machine, WitnessRun &witness,
               const WitnessRun::Result &end, const State **failing) {
    if (rule == "contact-race" || rule == "chatter")
        return shows(end, rule, fact.way == 1);
    Network &network = witness.settler().network();
    const Compiled &circuit = witness.cone().circuit;
    if (!by_this_act(fact, rule, machine.index, witness, end))
        return false;
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
    const bool cut = rule == "stop-cuts" || (rule == "overload-cuts" && fact.way != 2);
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
