"""one-origin, earthed-side and coil-volts (DESIGN 5): graphs of networkx, and the volts of every reachable state."""

from itertools import combinations

import networkx

from .compiled import EARTH
PULLS_IN, MAY_PULL_IN, MOST = 0.85, 0.60, 1.10
WRONG_PART = 0.1  # of the volts that may be of the other kind of current
A_HAIR = 1e-6


class Wiring:
    """Contacts as edges, all closed, between nets; the poles of sources and earth end every way."""

    def __init__(self, circuit):
        self.circuit = circuit
        self.poles = {}  # net -> [(source, pole)]
        for s in circuit.sources:
            for pole, net, *_ in s.poles:
                self.poles.setdefault(net, []).append((s, pole))
        self.earthed = {net for net, here in self.poles.items() if any(s.earthed == pole for s, pole in here)}
        self.stiff = set(self.poles) | {EARTH}
        self.edges = [
            (a, b, d, what) for (a, b, mask, value), (d, what, _) in zip(circuit.contacts, circuit.owners)
            if value & ~mask == 0 and a != b
        ]

    def graph(self, keep=lambda d, what: True):
        graph = networkx.Graph()
        graph.add_nodes_from(range(self.circuit.size))
        graph.add_edges_from((a, b) for a, b, d, what in self.edges if keep(d, what))
        return graph

    def long_wires(self):
        """Ends of the resistances that contacts, all closed, do not bypass: part of a line, and not a leak."""
        whole, found = self.graph(), []
        for d in self.circuit.devices.values():
            if d.kind == "resistor":
                a, b = self.circuit.nets[d.net("1")], self.circuit.nets[d.net("2")]
                if not self.met(whole, a) & self.met(whole, b):
                    found.append((a, b))
        return found

    def bridged_by_break_contact(self, coil, bit):
        """Ends of the resistances that a break contact of the coil bridges until it is in."""
        ends = [
            {a, b}
            for (a, b, mask, value), (d, *_) in zip(self.circuit.contacts, self.circuit.owners)
            if d.name == coil and mask & bit and not value & bit
        ]
        resistors = [d for d in self.circuit.devices.values() if d.kind == "resistor"]
        nets = [(self.circuit.nets[d.net("1")], self.circuit.nets[d.net("2")]) for d in resistors]
        return [pair for pair in nets if set(pair) in ends]

    def met(self, graph, start):
        """Nets on the ways from one, the first stiff one of each way included."""
        if start in self.stiff:
            return {start}
        inner = graph.subgraph(n for n in graph if n not in self.stiff)
        found = set(networkx.node_connected_component(inner, start))
        return found | {far for net in found for far in graph[net] if far in self.stiff}


def coils_of(circuit):
    """(name, Coil, whether it trips) of every coil."""
    found = [(c.name, c, c.bit, False) for c in circuit.coils]
    for closing, tripping, bit in circuit.latches:
        found += [(closing.name, closing, bit, False), (tripping.name, tripping, bit, True)]
    return found


def earthed_side(circuit):
    """Names of the coils with a contact, fuse or switch between them and an earthed pole."""
    wiring = Wiring(circuit)
    wires = wiring.long_wires()
    wiring.edges += [(a, b, None, "link") for a, b in wires]
    whole = wiring.graph()

    def opens_both(d, what, away):
        """Opening the device opens every way from the coil's other end to a line, too."""
        lines = wiring.met(whole, away) & wiring.stiff - wiring.earthed - {EARTH}
        without = wiring.graph(lambda other, sense: not (other is d and sense == what))
        return bool(lines) and not wiring.met(without, away) & wiring.stiff - wiring.earthed - {EARTH}

    found = set()
    for name, coil, _, _ in coils_of(circuit):
        ends = ((coil.first, coil.second), (coil.second, coil.first))
        if not any(wiring.met(whole, end) & wiring.earthed for end, _ in ends):
            continue
        for end, away in ends:
            free = wiring.graph(
                lambda d, what: what in ("link", "always") or d.kind != "fuse" and opens_both(d, what, away)
            )
            if wiring.met(free, end) & wiring.earthed:
                break
        else:
            found.add(name)
    return found


def _joined_poles(wiring, state):
    graph = networkx.Graph()
    circuit = wiring.circuit
    graph.add_edges_from((a, b) for a, b, mask, value in circuit.contacts if state & mask == value)
    for part in networkx.connected_components(graph):
        for a, b in combinations(sorted(part & set(wiring.poles)), 2):
            if not {s.name for s, _ in wiring.poles[a]} & {s.name for s, _ in wiring.poles[b]}:
                yield a, b


def one_origin(exploration):
    """(pairs of pole nets of two sources that contacts join in some state, isolator or fuse -> loads returning over it)."""
    wiring, behaviour = Wiring(exploration.circuit), exploration.behaviour
    joined, seen = set(), set()

    def look(state):
        if state not in seen:
            seen.add(state)
            joined.update(_joined_poles(wiring, state))

    look(0)
    for state, steps in exploration.steps.items():
        look(state)
        for act, outcome in steps:
            look(state & ~act.steps[0][0] | act.steps[0][1])
            for passed in outcome.visited:
                look(passed)
                must, may = behaviour.asked(passed)
                subset = must | may
                while subset:
                    if not behaviour._locked(passed, subset):
                        look(passed ^ subset)  # before any fuse has had its say
                    subset = (subset - 1) & (must | may)
    return joined, _borrowed(wiring)


def _borrowed(wiring):
    circuit = wiring.circuit
    loads = [(c.name, c.first, c.second) for _, c, _, _ in coils_of(circuit)]
    for d in circuit.devices.values():
        if d.kind in ("lamp", "load", "resistor", "capacitor"):
            loads.append((d.name, circuit.nets[d.net("1")], circuit.nets[d.net("2")]))
    for name, windings in circuit.windings.items():
        loads += [(name, a, b) for a, b, _ in windings]
    loads += [(s.name, *s.feed) for s in circuit.sources if s.feed]
    whole, found = wiring.graph(), {}
    for d in circuit.devices.values():
        if d.kind not in ("isolator", "fuse"):
            continue
        without = wiring.graph(lambda other, what: other is not d)
        for name, a, b in loads:
            for line, back in ((a, b), (b, a)):
                lines = wiring.met(without, line) & wiring.stiff - wiring.earthed - {EARTH}
                if lines and wiring.met(whole, back) & wiring.earthed and not wiring.met(without, back) & wiring.earthed:
                    found.setdefault(d.name, set()).add(name)
    return found


def coil_volts(exploration):
    """Names of the coils whose volts are wrong in some state with every source and fuse whole."""
    circuit, behaviour = exploration.circuit, exploration.behaviour
    wiring = Wiring(circuit)
    series = wiring.long_wires()
    found = {}
    for state in _healthy(exploration):
        volts = behaviour.volts(state)
        graph = networkx.Graph()
        graph.add_nodes_from(range(circuit.size))
        graph.add_edges_from((a, b) for a, b, mask, value in circuit.contacts if state & mask == value)
        graph.add_edges_from(series)
        for name, coil, bit, _ in coils_of(circuit):
            (ac_a, dc_a), (ac_b, dc_b) = volts.volts(coil.first), volts.volts(coil.second)
            ac, dc = abs(ac_a - ac_b), abs(dc_a - dc_b)
            ratio = (ac**2 + dc**2) ** 0.5 / coil.rated_v
            loops = graph.copy()
            loops.add_edges_from(wiring.bridged_by_break_contact(name, bit))
            ends = [
                {n for n in wiring.met(loops, end) & set(wiring.poles)} for end in (coil.first, coil.second)
            ]
            fed = ends[0] and ends[1] and len(ends[0] | ends[1]) > 1
            inside = bool(state & bit)
            if fed:
                wrong = (dc if coil.is_ac else ac) > WRONG_PART * ratio * coil.rated_v and ratio >= 0.1
                low = not inside and 0.1 <= ratio < PULLS_IN - A_HAIR
                if ratio > MOST + A_HAIR or low or wrong:
                    found.setdefault(name, (state, "fed", round(ratio, 3)))
            else:
                leaves = coil.drop_below if inside and bit not in {b for *_, b in circuit.latches} else MAY_PULL_IN
                if ratio >= leaves - A_HAIR:
                    found.setdefault(name, (state, "left", round(ratio, 3)))
    return found


def _healthy(exploration):
    """States reached without any loss or blown fuse."""
    cold = exploration.cold.ends
    seen, queue = set(cold), list(cold)
    for state in queue:  # grows while it is walked
        for act, outcome in exploration.steps[state]:
            if act.verb in ("lose", "blow"):
                continue
            for end in outcome.ends:
                if end not in seen:
                    seen.add(end)
                    queue.append(end)
    return seen
