"""Acts one by one on the set of states a circuit may be in."""

from .acts import Acts, perform
from .compiled import EARTH, Compiled
from .machines import element_state, mode
from .netlist import COIL_KINDS, MOTOR_KINDS
from .settle import Behaviour


class Replay:
    """Starts cold. Faults (earth, bridge, break, weld, detach) change the circuit from then on."""

    def __init__(self, devices):
        self.devices = list(devices)
        self.restless = False  # some act never came to rest: what follows is not defined
        self.act("fresh")

    def _renew(self):
        self.behaviour = Behaviour(self.circuit, self.extra)

    def act(self, text):
        for part in text.split(";"):
            self._one(part.split())

    def _one(self, words):
        verb, rest = words[0], words[1:]
        if verb == "fresh":
            self.circuit, self.extra = Compiled(self.devices), []
            self.acts = Acts(self.circuit)
            self._renew()
            self.restless = self.behaviour.settle(0).restless
            self.states = self.behaviour.settle(0).ends
        elif verb == "tap":
            self._one(["hold", *rest])
            self._one(["free", *rest])
        elif verb in ("earth", "bridge", "break", "weld", "detach"):
            getattr(self, "_" + verb)(*rest)
            self._renew()
            self._from(self.states)
        elif verb == "elapse" and not rest:
            starts = set()
            for state in self.states:
                for d in self.circuit.timers:
                    if self.acts.runs_of_timer(d, state):
                        state ^= self.circuit.bits[d.name, "delayed"]
                starts.add(state)
            self._from(starts)
        elif verb == "elapse":
            d = self.circuit.devices[rest[0]]
            delayed = self.circuit.bits[d.name, "delayed"]
            self._from({s ^ delayed if self.acts.runs_of_timer(d, s) else s for s in self.states})
        else:
            ends = set()
            for state in self.states:
                toggled = [" off" if state & self.circuit.bits[rest[0]] else " on"] if words[0] == "turn" else []
                act = self.acts.by_text.get(" ".join(words)) or self.acts.by_text[" ".join(words) + "".join(toggled)]
                outcome = perform(self.behaviour, act, state, resting=False)
                self.restless |= outcome.restless
                ends.update(outcome.ends)
            self.states = tuple(sorted(ends))

    def _from(self, starts):
        self.states = tuple(sorted({end for s in starts for end in self.behaviour.settle(s).ends}))

    def _earth(self, net):
        self.extra.append((self.circuit.nets[net], EARTH))

    def _bridge(self, first, second):
        self.extra.append((self.circuit.nets[first], self.circuit.nets[second]))

    def _fix(self, device, closed):
        for index, (owner, what, number) in enumerate(self.circuit.owners):
            if owner.name == device:
                a, b, _, _ = self.circuit.contacts[index]
                self.circuit.contacts[index] = (a, b, 0, 0 if closed(what) else 1)

    def _break(self, device):
        self._fix(device, lambda what: False)

    def _weld(self, device):
        self._fix(device, lambda what: what in ("pole", "make"))
        bit = self.circuit.bits[device]
        for coil in [c for c in self.circuit.coils if c.name == device]:
            self.circuit.coils.remove(coil)  # its armature stays in: what is left is an impedance
            self.circuit.fixed.append((coil.first, coil.second, *coil.inside))
        self.states = tuple(sorted({s | bit for s in self.states}))

    def _detach(self, device):
        self._fix(device, lambda what: what == "break")

    def state(self, name):
        """Word of what every state agrees on, else maybe."""
        d = self.circuit.devices[name]
        if d.kind in MOTOR_KINDS or d.kind in ("lamp", "load"):
            found = {element_state(self.behaviour, d, s) for s in self.states}
            words = ("stopped", "maybe", "runs") if d.kind in MOTOR_KINDS else ("off", "maybe", "on")
            return words[found.pop()] if len(found) == 1 else "maybe"
        bit = self.circuit.bits[name]
        found = {bool(s & bit) for s in self.states}
        words = ("off", "on") if d.kind in COIL_KINDS | {"latched-contactor", "stop-relay"} else ("intact", "blown")
        return words[found.pop()] if len(found) == 1 else "maybe"

    def mode(self, motor):
        """How a motor runs in every state, else maybe."""
        found = {mode(self.behaviour, self.circuit.devices[motor], s) or "stopped" for s in self.states}
        return found.pop() if len(found) == 1 else "maybe"

    def live(self, net):
        return any(self.behaviour.volts(s).live(self.circuit.nets[net]) for s in self.states)
