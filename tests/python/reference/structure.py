"""What can be read off the wiring without any state: contactors of a machine, its cone, its start devices."""

from itertools import combinations

import networkx

from .compiled import EARTH
from .netlist import MOTOR_KINDS
from .network import class_of_nets

POWER = {"pole", "always", "fuse", "link"}
CONTACTORS = {"contactor", "relay", "latched-contactor"}


class Structure:
    def __init__(self, circuit):
        self.circuit = circuit
        self.machines = {}
        for d in circuit.devices.values():
            if d.kind in MOTOR_KINDS:
                self.machines.setdefault(d.machine, []).append(d)
        self.ends = {EARTH} | {net for s in circuit.sources for _, net, _, _ in s.poles}
        self.hands = [d for d in circuit.devices.values() if d.is_hand]
        self.with_poles = {d.name for d, what, _ in circuit.owners if what == "pole" and d.kind in CONTACTORS}
        self.cones = {m: self._cone(m) for m in self.machines}
        selectors = {m: self._selectors_in_line(m) for m in self.machines}
        self.own = {m: self._own_starts(m) for m in self.machines}
        for m in self.machines:
            if not any(d.machine == m and d.role != "stop" for d in self.hands):
                others = set().union(*(selectors[n] for n in self.machines if n != m))
                self.own[m] |= selectors[m] - others  # in the common line of several it is no start of one

    def _edges(self, wanted=None):
        pairs = zip(self.circuit.contacts, self.circuit.owners)
        return [(a, b, d.name) for (a, b, _, _), (d, what, _) in pairs if wanted is None or what in wanted]

    def motor_nets(self, machine):
        nets = self.circuit.nets
        return {nets[n] for d in self.machines[machine] for t, n in d.terminals.items() if len(t) < 3}

    def contactors(self, machine):
        """Devices whose power poles stand between a machine and its sources, in line with whatever contacts."""
        pairs = zip(self.circuit.contacts, self.circuit.owners)
        edges = [(a, b, d.name if what == "pole" else None) for (a, b, _, _), (d, what, _) in pairs]
        owners = {owner for net in self.motor_nets(machine) for owner in self._between(net, self.ends, edges)}
        return {n for n in owners - {None} if self.circuit.devices[n].kind in CONTACTORS}

    def _selectors_in_line(self, machine):
        """Selectors in the power circuit of a machine or in the run loop of its drive: turning one starts it."""
        edges, nets = self._edges(), self.circuit.nets
        owners = {owner for net in self.motor_nets(machine) for owner in self._between(net, self.ends, edges)}
        for motor in self.machines[machine]:
            if motor.kind == "drive" and motor.net("RUN1") and motor.net("RUN2"):
                owners |= self._between(nets[motor.net("RUN1")], {nets[motor.net("RUN2")]}, edges)
        return {d.name for d in self.hands if d.role == "select" and d.name in owners}

    def coil_nets(self, armature):
        nets, d = self.circuit.nets, self.circuit.devices[armature]
        return {nets[d.net(t)] for t in ("A1", "A2", "C1", "C2", "E1", "E2") if d.net(t)}

    def _cone(self, machine):
        """Devices meant to feed the machine's coils: on a way through contacts, never twice at one net, to a source.

        A load counts only where there is no such way without it; else what comes through it is a sneak path, and a
        start there is no start of this machine's own.
        """
        edges = self._edges()
        with_loads = list(edges)
        for d in self.circuit.devices.values():
            if d.kind in ("lamp", "load", "resistor", "capacitor"):
                with_loads.append((self.circuit.nets[d.net("1")], self.circuit.nets[d.net("2")], d.name))
        starts, cone, pairs = self.motor_nets(machine), set(), []
        for motor in self.machines[machine]:
            if motor.kind == "drive":  # its inputs are loops of their own
                pairs += [(motor.net(x + "1"), motor.net(x + "2")) for x in ("RUN", "STO")]
        loops = [(self.circuit.nets[a], self.circuit.nets[b]) for a, b in pairs if a and b]
        while True:
            owners = {
                owner for net in starts
                for owner in self._between(net, self.ends, edges) or self._between(net, self.ends, with_loads)
            }
            owners |= {owner for a, b in loops for owner in self._between(a, {b}, edges)}
            if owners <= cone:
                return cone
            cone |= owners
            for name in owners:
                starts |= self.coil_nets(name) if self.circuit.devices[name].kind in CONTACTORS | {"timer"} else set()

    def reach(self, machine):
        """Devices that can act on the machine at all: joined to it or to a coil of theirs by whatever conducts."""
        nets, c = self.circuit.nets, self.circuit
        edges = [edge for edge in self._edges() if edge[0] != edge[1]]
        edges += [(a, b, None) for a, b, _, _ in c.fixed] + [(o.first, o.second, None) for o in c.coils]
        seen, found = {nets[n] for d in self.machines[machine] for n in d.terminals.values()}, set()
        queue = list(seen)
        for net in queue:  # grows while it is walked
            for a, b, owner in edges if net not in self.ends else ():
                if net not in (a, b):
                    continue
                further = {a, b}
                if owner is not None and owner not in found:
                    found.add(owner)
                    further |= self.coil_nets(owner)
                queue += further - seen
                seen |= further
        return found

    def _between(self, net, ends, edges):
        """Owners of the edges on the ways from a net to any of the ends."""
        if net in ends:
            return set()
        met = self._met_between(net, ends, edges)
        return {
            owner for a, b, owner in edges
            if a != b and all(n in met for n in (a, b)) and not (a in ends and b in ends)
        }

    def _met_between(self, net, ends, edges):
        """What those ways meet, the ends too; nothing where there is no way."""
        graph = networkx.Graph([(net, "end")])
        for a, b, _ in edges:
            a, b = ("end" if n in ends else n for n in (a, b))
            if a != b:
                graph.add_edge(a, b)
        met = next(block for block in networkx.biconnected_components(graph) if {net, "end"} <= block)
        return set() if met == {net, "end"} and not self._joined(net, ends, edges) else met | ends

    @staticmethod
    def _joined(net, ends, edges):
        return any(net in (a, b) and (a in ends or b in ends) for a, b, _ in edges)

    def coil_ways(self, net):
        """Nets on the ways through contacts from a coil's terminal to the sources."""
        return self._met_between(net, self.ends, self._edges())

    def _bridged(self, hand):
        """Contactors of machines with a make contact or pole straight across a make contact of the hand device."""
        across = {
            frozenset((a, b)) for (a, b, _, _), (d, what, _) in zip(self.circuit.contacts, self.circuit.owners)
            if d is hand and what == "make"
        }
        return {
            d.name for (a, b, _, _), (d, what, _) in zip(self.circuit.contacts, self.circuit.owners)
            if d.name in self.with_poles and what in ("make", "pole") and frozenset((a, b)) in across
        }

    def _own_starts(self, machine):
        declared = {d.name for d in self.hands if d.machine == machine and d.role != "stop"}
        if declared:
            return declared
        cone = self.cones[machine]
        own = self.contactors(machine)
        starters = [d for d in self.hands if d.role in ("start", "jog") and not d.machine]
        # The machine's by its holding contact, even where a mistake leaves that contact outside of its cone: the button
        # is there, and whatever else starts the machine is not what is meant to.
        found = {d.name for d in starters if self._bridged(d) & own or (d.name in cone and not self._bridged(d))}
        if not found:
            found = {d.name for d in starters if d.name in cone}
        for role in ("select", "reset"):
            if not found:
                found = {d.name for d in self.hands if d.role == role and d.name in cone}
        return found

    def clashes(self):
        """Smallest sets of contactors whose poles, closed together, join two poles of a source or two run modes."""
        always, poles = [], {}
        for (a, b, _, _), (d, what, _) in zip(self.circuit.contacts, self.circuit.owners):
            if what == "pole" and d.kind in CONTACTORS:
                poles.setdefault(d.name, []).append((a, b))
            elif what in POWER:
                always.append((a, b))
        found = []
        for many in range(1, len(poles) + 1):
            for chosen in combinations(poles, many):
                if any(set(f) <= set(chosen) for f in found):
                    continue
                cls = class_of_nets(self.circuit.size, always + [p for n in chosen for p in poles[n]])
                if self._poles_joined(cls) or self._two_speeds_fed(cls):
                    found.append(chosen)
        return found

    def _poles_joined(self, cls):
        return any(len({cls[net] for _, net, _, _ in s.poles}) < len(s.poles) for s in self.circuit.sources)

    def _two_speeds_fed(self, cls):
        fed = {cls[net] for s in self.circuit.sources for _, net, _, _ in s.poles}
        nets = self.circuit.nets
        for d in self.circuit.devices.values():
            if d.kind == "motor-2speed":
                sets = [{cls[nets[d.net(w + digit)]] for w in "UVW"} & fed for digit in "12"]
                if all(len(each) >= 2 for each in sets):
                    return True
        return False

    def never_held(self, stop):
        """Armatures that no path can hold with a stop actuated and every other contact free (to a fixed point).

        Only a measure of how hard a claim is; latched contactors and off-delay timers are never in it.
        """
        c, out = self.circuit, set()
        while True:
            joined = []
            for (a, b, _, _), (d, what, _) in zip(c.contacts, c.owners):
                held_open = what == "break" if d.name == stop else d.name in out and not what.endswith("break")
                if not held_open:
                    joined.append((a, b))
            new = set()
            for coil in c.coils:
                d = c.devices[coil.name]
                if coil.name in out or d.get("delay") == "off":
                    continue
                rest = joined + [(a, b) for a, b, _, _ in c.fixed]
                rest += [(o.first, o.second) for o in c.coils if o is not coil]
                cls = class_of_nets(c.size, rest)
                at = [{n for n in self.ends if cls[n] == cls[t]} for t in (coil.first, coil.second)]
                if not at[0] or not at[1] or len(at[0] | at[1]) == 1:
                    new.add(coil.name)
            if not new:
                return out, joined
            out |= new
