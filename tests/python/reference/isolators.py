"""Isolators: what stands behind one, what of it stays live with it open, and what else its opening stops."""

from .compiled import EARTH
from .machines import RUNS, STOPPED
from .network import class_of_nets

DEAD_BELOW = 0.05  # of a coil's rated volts; the figure that DESIGN 4.2 gives for windings
ARMATURES = {"contactor", "relay", "timer", "latched-contactor"}


class IsolatorClaims:
    """Judges isolator-clears: one claim for each net and each machine."""

    def __init__(self, claims):
        self.claims, self.circuit, self.structure = claims, claims.circuit, claims.structure
        self.named = {number: name for name, number in self.circuit.nets.items()}
        self.isolators = [d for d in self.circuit.devices.values() if d.kind == "isolator"]
        self.conductors, self.loads = self._ways()
        barred = {EARTH} | self.structure.ends
        load_sides = {load for isolator in self.isolators for _, load in self._poles(isolator)}
        self.fed = self._met(load_sides - barred, self.conductors, barred)  # from some isolator, by contacts

    def judge(self):
        for isolator in self.isolators:
            self._judge(isolator)

    def _poles(self, isolator):
        """(feed side, load side) of each pole: the odd terminal is fed, unless the isolator is wired the other way round:
        sources reach even ones alone without it, and no odd one alone."""
        pairs = zip(self.circuit.contacts, self.circuit.owners)
        poles = [(a, b) for (a, b, _, _), (d, what, _) in pairs if d is isolator and what == "pole"]
        pairs = zip(self.circuit.contacts, self.circuit.owners)
        others = [(a, b) for (a, b, _, _), (d, what, _) in pairs if not (d is isolator and what == "pole")]
        cls = class_of_nets(self.circuit.size, others)
        fed = {cls[net] for net in self.structure.ends}
        alone = {(cls[a] in fed, cls[b] in fed) for a, b in poles}
        reversed_ = (False, True) in alone and (True, False) not in alone
        return [(b, a) for a, b in poles] if reversed_ else poles

    def _ways(self):
        """Ways through conductors and contacts, of isolators to the load side only; and through loads."""
        conductors = []
        for (a, b, _, _), (d, what, _) in zip(self.circuit.contacts, self.circuit.owners):
            conductors.append((a, b))
            if what != "pole" or d.kind != "isolator":
                conductors.append((b, a))
        pairs = [(a, b) for a, b, *_ in self.circuit.fixed]
        coils = self.circuit.coils + [c for closing, tripping, _ in self.circuit.latches for c in (closing, tripping)]
        pairs += [(coil.first, coil.second) for coil in coils]
        return conductors, pairs + [(b, a) for a, b in pairs]

    @staticmethod
    def _met(starts, ways, barred):
        met = set(starts)
        stack = list(met)
        while stack:
            net = stack.pop()
            for a, b in ways:
                if a == net and b not in barred and b not in met:
                    met.add(b)
                    stack.append(b)
        return met

    def _behind(self, isolator, starts):
        """Nets met through conductors, contacts and loads; not past poles, PE, or back into what feeds it.

        What a load leads to is fed through it, unless contacts feed it from an isolator: then it is behind that one,
        and the load stands between the two.
        """
        own = set(self._poles(isolator))
        barred = {EARTH} | self.structure.ends | {feed for feed, _ in own}
        ways = [way for way in self.conductors if way not in own]
        ways += [(a, b) for a, b in self.loads if b not in self.fed]
        return self._met(set(starts) - barred, ways, barred)

    def _coil_circuit(self, isolator, armature):
        """The ways that feed a coil, not what else hangs on its rail; through loads where contacts lead nowhere."""
        own, found = set(self._poles(isolator)), set()
        barred = {EARTH} | self.structure.ends | {feed for feed, _ in own}
        for net in self.structure.coil_nets(armature) - barred:
            on = self.structure.coil_ways(net)
            ways = [(a, b) for a, b in self.conductors if {a, b} <= on and (a, b) not in own]
            found |= self._met({net}, ways, barred) if on else self._behind(isolator, [net])
        return found

    def _coils(self, name):
        found = [c for c in self.circuit.coils if c.name == name]
        return found + [c for closing, tripping, _ in self.circuit.latches for c in (closing, tripping) if c.name == name]

    def _judge(self, isolator):
        claims, x = self.claims, self.claims.exploration
        load_side = self._behind(isolator, [load for _, load in self._poles(isolator)])
        pairs = zip(self.circuit.contacts, self.circuit.owners)
        fed = sorted({
            d.name for (a, b, _, _), (d, what, _) in pairs
            if what == "pole" and d.kind in ARMATURES and (a in load_side or b in load_side)
        })
        of_coil = {n: self._coil_circuit(isolator, n) for n in fed}
        behind = {m for m in claims.machines if self.structure.motor_nets(m) & load_side}
        bit = self.circuit.bits[isolator.name]
        opened = [s for s in x.reached if s & bit]
        alive = {n for n in fed for s in opened for c in self._coils(n) if claims.behaviour.ratio(c, s) >= DEAD_BELOW}
        nets = load_side.union(*(of_coil[n] for n in fed if n in alive))  # of the others: an excepted circuit, a note
        every = load_side.union(*of_coil.values())
        for net in sorted(every):
            if net not in self.named:
                continue  # a star point inside a motor
            claims.note("isolator-clears", isolator.name, self.named[net], "holds", None, None)
            for state in opened if net in nets else ():
                if claims.behaviour.volts(state).live(net):
                    claims.note("isolator-clears", isolator.name, self.named[net], "fails", state, "")
                    break
        for m in claims.machines:
            claims.note("isolator-clears", isolator.name, m, "holds", None, None)
            if m in behind:
                for state in opened:
                    how = claims.running(m, state)
                    if how != STOPPED:
                        claims.note("isolator-clears", isolator.name, m, "fails" if how == RUNS else "maybe", state, "")
            else:
                self._judge_others(isolator, m)

    def _judge_others(self, isolator, machine):
        claims, x = self.claims, self.claims.exploration
        troubles = x.acts.every_source | x.acts.fuse_bits
        act = x.acts.by_text[f"open {isolator.name}"]
        for state, steps in x.steps.items():
            if state & troubles or claims.running(machine, state) != RUNS:
                continue
            for each, outcome in steps:
                if each is act:
                    lost = [RUNS - claims.running(machine, e) for e in outcome.ends]
                    claims.note_change("isolator-clears", isolator.name, machine, state, act, lost, RUNS)
