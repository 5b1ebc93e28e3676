"""Single faults by brute force: a fault is one more thing that happens once, in any reachable state, for good (DESIGN 4.4).

What it takes away are the claims that hold without it. A blown fuse and one lost line are faults of their own and do not
happen besides.
"""

from dataclasses import dataclass

import networkx

from .claims import FAILS, HOLDS, Claims
from .compiled import EARTH
from .machines import STOPPED
from .netlist import SOURCE_KINDS, Device, contacts

LOOSE = "loose end"
STARTS = {"power-return", "release-return", "trip-return", "own-start"}
STOPS = {"stop-cuts", "stop-beats-start"}
BY_COIL = {"A1", "A2", "C1", "C2", "E1", "E2", "RUN1", "RUN2", "STO1", "STO2"}


@dataclass(frozen=True)
class Fault:
    """`verb`: earth, bridge, weld, jam, detach, blind or break; `what`: its nets, its device or its terminal."""

    verb: str
    what: tuple

    @property
    def text(self):
        return " ".join((self.verb, *self.what))

    def wired(self, devices):
        """The devices with the loose end that a broken wire leaves."""
        if self.verb != "break":
            return list(devices)
        name, terminal = self.what[0].split(":")
        return [
            Device(d.name, d.kind, d.terminals | {terminal: LOOSE}, d.parameters) if d.name == name else d
            for d in devices
        ]

    def put_into(self, circuit):
        """Contacts of the fault, which the bit `fault` closes or opens; the armature or hand that then stays acted."""
        bit = circuit.bit("fault")
        circuit.fault, circuit.fault_bit, circuit.needs, circuit.stuck = self, bit, 0, 0
        circuit.must_rest = 0
        dummy = Device("fault", "fault", {})
        if self.verb in ("earth", "bridge"):
            nets = [circuit.nets[n] for n in self.what] + [EARTH] * (self.verb == "earth")
            circuit.contacts.append((*nets, bit, bit))
            circuit.owners.append((dummy, "fault", 0))
        elif self.verb == "break":
            circuit.contacts.append((circuit.nets[self.net], circuit.nets[LOOSE], bit, 0))
            circuit.owners.append((dummy, "fault", 0))
        elif self.verb == "weld" or (self.verb == "jam" and not self.at_rest(circuit)):
            circuit.needs = circuit.stuck = circuit.bits[self.what[0]]
        else:  # contacts stay as they are at rest, whatever is pressed or heats up
            name, _, first = self.what[0].partition(":")
            if not first:
                circuit.must_rest = circuit.bits[name]
            for index, (d, what, number) in enumerate(list(circuit.owners)):
                if d.name != name or what == "always" or (first and str(number) != first):
                    continue
                a, b, mask, value = circuit.contacts[index]
                if what == "break":
                    circuit.contacts.append((a, b, bit, bit))
                    circuit.owners.append((d, what, number))
                else:
                    circuit.contacts[index] = (a, b, mask | bit, value)

    def at_rest(self, circuit):
        return circuit.devices[self.what[0]].role == "stop"

    net: str | None = None  # where a broken wire was


def control_circuits(devices):
    """(nets, nets where they end) of each control circuit: what contacts and long wires, but no power poles, join to a coil.

    Past a pole of a source and past a net of the power circuit nothing is followed; such a net belongs to the circuit
    when a contact, not merely a fuse, stands between: the conductor is then led to that contact.
    """
    ends = {"PE"} | {
        net for d in devices if d.kind in SOURCE_KINDS for t, net in d.terminals.items()
        if t not in ("ac1", "ac2", "p1", "p2")
    }
    borders = set(ends)
    graph = networkx.MultiGraph()
    for d in devices:
        wire = d.kind in ("fuse", "link", "resistor", "cable")
        pairs = [(d.net("1"), d.net("2"), "wire", 1)] if wire else contacts(d)
        for a, b, what, _ in pairs:
            if what in ("pole", "always"):
                borders |= {a, b}
            else:
                graph.add_edge(a, b, what=what)
    found, met = [], set()
    for d in devices:
        for terminal, start in d.terminals.items():
            if terminal not in BY_COIL or start in met | ends:
                continue
            inner, border, queue = {start}, set(), [start]
            while queue:
                net = queue.pop()
                for _, far, what in graph.edges(net, data="what") if net in graph else ():
                    if far in borders and far != start:
                        if what != "wire":
                            border.add(far)
                    elif far not in inner:
                        inner.add(far)
                        queue.append(far)
            met |= inner
            found.append((inner, border))
    return found


def earth_faults(devices):
    return [Fault("earth", (net,)) for net in sorted(set().union(*(inner for inner, _ in control_circuits(devices)), set()))]


def single_faults(devices):
    found = []
    for d in devices:
        if d.is_hand:
            found.append(Fault("jam", (d.name,)))
            blocks = [(a, b, what, number) for a, b, what, number in contacts(d)]
            if d.role == "stop" and len(blocks) == 1:
                found.append(Fault("detach", (d.name,)))
            elif len(blocks) > 1 or any(what == "break" for _, _, what, _ in blocks):
                found += [Fault("detach", (f"{d.name}:{number}",)) for a, b, _, number in blocks if a != b]
        elif d.kind == "overload":
            found.append(Fault("blind", (d.name,)))
        elif d.kind in ("contactor", "relay", "latched-contactor"):
            found.append(Fault("weld", (d.name,)))
    circuits = control_circuits(devices)
    pairs = set()
    for inner, border in circuits:
        every = sorted(inner | border)
        pairs |= {(a, b) for a in every for b in every if a < b and not {a, b} <= border}
    pairs |= {
        tuple(sorted((a, b))) for d in devices if d.is_hand for a, b, _, _ in contacts(d) if a != b
    }
    found += [Fault("bridge", pair) for pair in sorted(pairs)]
    ends = {}
    for d in devices:
        for terminal, net in d.terminals.items():
            ends.setdefault(net, []).append(f"{d.name}:{terminal}")
    for net in sorted(set().union(*(inner for inner, _ in circuits), set())):
        if len(ends[net]) > 1:
            for terminal in ends[net][: 1 if len(ends[net]) == 2 else None]:
                fault = Fault("break", (terminal,))
                object.__setattr__(fault, "net", net)
                found.append(fault)
    return found


def floating_pairs(devices):
    """Two earth faults on one supply without an earthed pole join two nets: those of control circuits, and poles with them."""
    joined, poles, earthed = networkx.Graph(), {}, set()
    for d in devices:
        if d.kind in SOURCE_KINDS:
            own = {t: n for t, n in d.terminals.items() if t not in ("ac1", "ac2", "p1", "p2")}
            poles |= dict.fromkeys(own.values(), d.name)
            joined.add_nodes_from(own.values())
            joined.add_edges_from((n, m) for n in own.values() for m in own.values())
            if d.get("earthed_pole", "N" if d.kind.startswith("mains") else None):
                earthed |= set(own.values())
            continue
        through = [(a, b) for a, b, _, _ in contacts(d)]
        if not through or any(t in BY_COIL for t in d.terminals):
            ends = [n for t, n in d.terminals.items() if not t.isdigit() or not through]
            through += [(n, m) for n in ends for m in ends]
        joined.add_edges_from((a, b) for a, b in through if "PE" not in (a, b))
    control = set().union(*(inner | border for inner, border in control_circuits(devices)), set()) | set(poles)
    found = set()
    for part in networkx.connected_components(joined):
        if part & set(poles) and not part & earthed:
            nets = sorted(part & control)
            found |= {(a, b) for a in nets for b in nets if a < b and not {a, b} <= set(poles)}
    return sorted(found)


class Faults:
    """What each fault of a circuit takes away, beside the claims of the healthy one."""

    def __init__(self, devices, limit=20_000, healthy_limit=None):
        self.devices, self.limit = devices, limit
        self.healthy = Claims(devices, healthy_limit or limit)
        reached = self.healthy.exploration.reached
        self.ever = {m for m in self.healthy.machines if any(self.healthy.running(m, s) != STOPPED for s in reached)}

    def lost(self, fault):
        """{(what, which, machine): status} newly lost: ("stop", "ES1", "M1"), ("trip", "F1", "M1"), ("start", "", "M1").

        None where something never comes to rest with the fault.
        """
        claims = Claims(self.devices, self.limit, fault)
        if claims.restless:
            return None
        found = {}
        for (rule, subject, machine), status in claims.status.items():
            if machine not in self.ever or status == HOLDS or self.healthy.status.get((rule, subject, machine), HOLDS) != HOLDS:
                continue
            if rule == "overload-cuts" and not {"95", "97"} & set(self.healthy.circuit.devices[subject].terminals):
                continue  # it never tripped anything
            if rule in STOPS:
                if self.healthy.status["stop-cuts", subject, machine] != HOLDS:
                    continue  # it does not stop the machine anyway
                if subject not in self.healthy.structure.reach(machine):
                    continue  # it acts on nothing of a machine that only runs while its start is held: no stop to lose
                key = ("stop", subject, machine)
            elif rule == "overload-cuts":
                if self.tripped_by_a_second(subject, machine, claims):
                    continue
                key = ("trip", subject, machine)
            elif rule in STARTS:
                key = ("start", "", machine)
            else:
                continue
            if found.get(key) != FAILS:
                found[key] = status
        return found

    def tripped_by_a_second(self, name, machine, faulty):
        """Another overload carries the same current, is set no higher, and its trip stops the machine, with the fault, too."""
        overloads = {d.name: d for d in self.devices if d.kind == "overload"}
        own = overloads.pop(name)
        ends = [net for d in self.devices for net in d.terminals.values()]
        for other in overloads.values():
            theirs = {net for a, b, what, _ in contacts(other) if what == "always" for net in (a, b)}
            in_line = all(
                any(net in theirs and ends.count(net) == 2 for net in (a, b))
                for a, b, what, _ in contacts(own) if what == "always"
            )
            settings = [d.get("setting_a", None) for d in (other, own)]
            lower = settings == [None, None] or (None not in settings and settings[0] <= settings[1])
            trips = {"95", "97"} & set(other.terminals)
            cuts = all(claims.status.get(("overload-cuts", other.name, machine)) == HOLDS for claims in (self.healthy, faulty))
            if in_line and lower and trips and cuts:
                return True
        return False
