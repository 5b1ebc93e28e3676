"""The ideal part of a circuit as a sequential machine, and the claims on it as outputs that must never become true.

Latches: the position of everything that acts move (hands pressed, isolators open, overloads tripped, fuses blown,
sources lost) and every armature. In each clock cycle the inputs name one act (a number); the act is done and the
circuit settles within the cycle, in `steps` rounds in which every armature follows its coil at once. A claim speaks of
the settled state before the act and the one after it. Two outputs besides the claims must be false for the others to
mean anything: `unsettled` (more rounds were needed; one per armature latch) and `shorted` (two poles were joined in some
round).

Right for circuits without races and chatter: whatever order their armatures move in, they come to the same end. Left
out: everything that needs volts (coils in series with anything, lamps, resistors, motors that feed a lost line back, so
also the loss of one of three lines), the bands in which a coil may do either, timers, latched contactors, change-over
hands, drives and sources that are fed by others. `IdealModel` raises NotImplementedError for what it does not know.
"""

from itertools import combinations

from and_inverter_graph import FALSE, TRUE, Graph, negated
from reference.netlist import contacts, netlist

STARTING = ("start", "reset", "jog", "test", "none")
MOVED = ("isolator", "fuse", "overload")
TERMINALS = {"motor-1ph": "LN", "motor-3ph": "UVW"}


class Joined:
    """Which nets contacts join to which poles: nets are struck out one by one, their neighbours joined instead.

    That is Gaussian elimination with "or" for plus and "and" for times: exact, and cheap where few ways cross.
    """

    def __init__(self, edges, poles):
        self.poles, self.edges = poles, edges
        around = {net: set() for edge in edges for net in edge} | {pole: set() for pole in poles}
        for a, b in edges:
            if a != b:
                around[a].add(b)
                around[b].add(a)
        self.order, rest = [], {net for net in around if net not in poles}
        ready = sorted(rest, key=lambda net: len(around[net]))
        while rest:
            net = ready.pop(0)
            if net not in rest:
                continue
            rest.discard(net)
            neighbours = sorted(around.pop(net))
            self.order.append((net, neighbours))
            for other in neighbours:
                around[other].discard(net)
                around[other].update(n for n in neighbours if n != other)
            cheap = [n for n in neighbours if n in rest and len(around[n]) <= 2]
            ready = cheap + ready

    def reach(self, graph, closed):
        """{(net, pole): literal}, and for two poles the same; `closed` has a literal for every edge."""
        joined = {}

        def join(a, b, literal):
            key = (a, b) if a < b else (b, a)
            joined[key] = graph.either(joined.get(key, FALSE), literal)

        for (a, b), literal in zip(self.edges, closed):
            if a != b:
                join(a, b, literal)
        ways = []  # per net struck out: [(neighbour, literal)]
        for net, neighbours in self.order:
            ways.append([(n, joined.pop((net, n) if net < n else (n, net), FALSE)) for n in neighbours])
            for (a, first), (b, second) in combinations(ways[-1], 2):
                join(a, b, graph.both(first, second))
        found = {(a, b): literal for pair, literal in joined.items() for a, b in (pair, pair[::-1])}
        for pole in self.poles:
            found[pole, pole] = TRUE
        for (net, _), out in zip(reversed(self.order), reversed(ways)):
            for pole in self.poles:
                found[net, pole] = graph.any(graph.both(way, found.get((n, pole), FALSE)) for n, way in out)
        return found


class IdealModel:
    """`claims` has (rule, subject, machine) -> literal that is true when the claim is broken by this cycle's act.

    `own` has for every machine the start devices that may start it; without it what is declared for it. `wanted` says
    which claims (rule, subject, machine) to build, and `machines` of which machines: on a campus all would be too many.
    """

    def __init__(self, rows, steps, own=None, machines=None, wanted=lambda rule, subject, machine: True):
        self.graph, self.steps = Graph(), steps
        self.devices = netlist(rows)
        self.motors = [d for d in self.devices if d.kind in TERMINALS]
        self.coils = [d for d in self.devices if d.kind in ("contactor", "relay")]
        self.sources = [d for d in self.devices if d.kind in ("mains-1ph", "mains-3ph")]
        self.hands = [d for d in self.devices if d.is_hand]
        moved = [d for d in self.devices if d.is_hand or d.kind in MOVED] + self.sources
        known = {d.name for d in moved + self.coils + self.motors}
        strange = [d.name for d in self.devices if d.name not in known and d.kind != "link"]
        if strange:
            raise NotImplementedError(f"not in the ideal part: {', '.join(strange)}")
        self.own = own or {m.machine: {h.name for h in self.hands if h.machine == m.machine} for m in self.motors}
        self.wanted, self.machines = wanted, machines
        self.role = {h.name: h.role for h in self.hands}
        self.source_names = {s.name for s in self.sources} | {"all sources"}
        self._read_wiring()
        self._let_move(moved)
        self._state_claims()

    # what is wired

    def _read_wiring(self):
        self.poles = {}  # net -> (source, potential)
        for source in self.sources:
            for terminal, net in source.terminals.items():
                self.poles[net] = (source.name, "N" if terminal == "N" else terminal.replace("L1", "L"))
        self.contacts, edges = [], []
        for d in self.devices:
            if d.kind in ("fuse", "link"):
                found = [(d.net("1"), d.net("2"), "break" if d.kind == "fuse" else "always", 1)]
            else:
                found = contacts(d)
            if d.is_hand and len({what for _, _, what, _ in found}) > 1:
                raise NotImplementedError(f"{d.name} has break and make contacts")
            for first, second, what, _ in found:
                self.contacts.append((d, what))
                edges.append((first, second))
        self.joined = Joined(edges, sorted(self.poles))

    def _closed(self, positions, inside):
        for d, what in self.contacts:
            if what == "always":
                yield TRUE
            elif d.name in inside:
                yield negated(inside[d.name]) if what == "break" else inside[d.name]
            else:  # an isolator's poles and auxiliary make contact are closed at rest, as is every break contact
                at_rest = what == "break" if d.kind != "isolator" else what != "break"
                yield negated(positions[d.name]) if at_rest else positions[d.name]

    def _across(self, reach, positions, first, second):
        """Whether the two nets stand on different potentials."""
        pairs = []
        for a, (source_a, potential_a) in self.poles.items():
            for b, (source_b, potential_b) in self.poles.items():
                if potential_a != potential_b:
                    there = [self.graph.both(reach.get((first, a), FALSE), reach.get((second, b), FALSE))]
                    there += [negated(positions[s]) for s, p in ((source_a, potential_a), (source_b, potential_b)) if p != "N"]
                    pairs.append(self.graph.every(there))
        return self.graph.any(pairs)

    def _settled(self, positions, inside):
        """(armatures after one more round, whether poles are joined, machine -> runs)."""
        graph = self.graph
        reach = self.joined.reach(graph, list(self._closed(positions, inside)))
        shorted = graph.any(reach.get(pair, FALSE) for pair in combinations(sorted(self.poles), 2))
        after = {k.name: self._across(reach, positions, k.net("A1"), k.net("A2")) for k in self.coils}
        runs = {}
        for motor in self.motors:
            nets = [motor.net(t) for t in TERMINALS[motor.kind]]
            fed = graph.any(self._across(reach, positions, a, b) for a, b in combinations(nets, 2))
            runs[motor.machine] = graph.either(runs.get(motor.machine, FALSE), fed)
        return after, shorted, runs

    # what moves

    def _let_move(self, moved):
        graph = self.graph
        count = len(moved) + 1  # and all sources together
        code = [graph.input() for _ in range(count.bit_length())]
        self.started = graph.latch()
        graph.next_of[self.started] = TRUE
        self.before = {d.name: graph.latch() for d in moved}
        inside = {k.name: graph.latch() for k in self.coils}

        def picked(number):
            bits = (bit if number >> place & 1 else negated(bit) for place, bit in enumerate(code))
            return graph.both(self.started, graph.every(bits))

        lost = [self.before[s.name] for s in self.sources]
        self.trouble = graph.any(lost + [self.before[d.name] for d in moved if d.kind == "fuse"])
        self.on, self.off, after = {}, {}, {}
        for number, d in enumerate(moved):
            here, chosen = self.before[d.name], picked(number)
            may_go, may_return = TRUE, TRUE
            if d in self.sources or d.kind == "fuse":
                may_go = negated(self.trouble)
            if d in self.sources:
                may_return = negated(graph.any(each for each in lost if each != here))
            self.on[d.name] = graph.every([chosen, negated(here), may_go])
            self.off[d.name] = graph.every([chosen, here, may_return])
            after[d.name] = graph.differ(here, graph.either(self.on[d.name], self.off[d.name]))
        if len(self.sources) > 1:
            chosen = picked(len(moved))
            gone, back = graph.both(chosen, negated(self.trouble)), graph.both(chosen, graph.every(lost))
            self.on["all sources"], self.off["all sources"] = gone, back
            for s in self.sources:
                after[s.name] = graph.differ(after[s.name], graph.either(gone, back))
        _, _, self.runs = self._settled(self.before, inside)
        shorts, following = [], inside
        for _ in range(self.steps):
            following, shorted, _ = self._settled(after, following)
            shorts.append(shorted)
        once_more, shorted, self.runs_after = self._settled(after, following)
        self.shorted = graph.any([*shorts, shorted])
        self.unsettled = {inside[k]: graph.differ(once_more[k], following[k]) for k in following}
        graph.next_of.update({self.before[name]: after[name] for name in self.before})
        graph.next_of.update({inside[name]: following[name] for name in inside})

    # claims

    def _held(self, hands):
        return self.graph.any(self.before[h.name] for h in hands)

    def _state_claims(self):
        graph, self.claims, self.cut_once = self.graph, {}, {}
        momentary = [h for h in self.hands if h.action == "momentary"]
        stops = [h for h in self.hands if h.role == "stop"]
        no_start = negated(self._held([h for h in momentary if h.role in STARTING]))
        healthy = graph.both(negated(self.trouble), negated(self._held(stops)))
        for machine in self.machines or self.runs:
            before, after = self.runs[machine], self.runs_after[machine]
            runs_on, stopped = graph.both(before, after), graph.both(before, negated(after))
            starts = graph.both(negated(before), after)
            for stop in stops:
                pressed = graph.both(self.on[stop.name], no_start)
                if self.wanted("stop-cuts", stop.name, machine):
                    self.claims["stop-cuts", stop.name, machine] = graph.both(pressed, runs_on)
                    self.cut_once[stop.name, machine] = graph.every([pressed, healthy, stopped])
            beaten = [stop for stop in stops if self.wanted("stop-beats-start", stop.name, machine)]
            by_hand = self._started_by_hand(starts, stopped) if beaten else FALSE
            for stop in beaten:
                self.claims["stop-beats-start", stop.name, machine] = graph.both(self.before[stop.name], by_hand)
            for name in self.on:
                if name not in self.own[machine]:
                    self._state_starts(name, machine, starts, momentary)

    def _started_by_hand(self, starts, stopped):
        """A start device or selector makes it run, or had kept it running and is let go."""
        ways = []
        for h in self.hands:
            if h.role in STARTING or h.role == "select":
                ways += [self.graph.both(act, starts) for act in (self.on[h.name], self.off[h.name])]
                ways += [self.graph.both(self.off[h.name], stopped)] if h.action == "momentary" else []
        return self.graph.any(ways)

    def _state_starts(self, name, machine, starts, momentary):
        """Claims that acts on a thing do not start a machine whose start device it is not."""
        for act, on in ((self.on[name], True), (self.off[name], False)):
            key = (self._rule(name, on), name, machine)
            if self.wanted(*key):
                alone = negated(self._held([h for h in momentary if h.name != name]))
                broken = self.graph.every([act, alone, starts])
                self.claims[key] = self.graph.either(self.claims.get(key, FALSE), broken)

    def _rule(self, name, on):
        """Under which rule starting a machine by this falls (DESIGN 5)."""
        role = self.role.get(name)
        if role is None and not on:
            return "power-return" if name in self.source_names else "trip-return"
        if role == "reset" or role == "stop" and not on:
            return "release-return"
        return "own-start"
