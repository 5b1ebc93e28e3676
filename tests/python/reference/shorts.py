"""Dead shorts: which fuses open, which sources are lost or collapse (DESIGN 4.2)."""

import networkx

from .network import SAME_V, Short, Volts

OPENING_MULTIPLE = 10  # a fuse opens on this multiple of its rating


def _off_balance(nodes, edges):
    """Whether the volts along these edges contradict one another round some loop."""
    known = {}
    for start in nodes:
        if start in known:
            continue
        known[start], stack = (0j, 0.0), [start]
        while stack:
            node = stack.pop()
            for edge in edges:
                if node not in edge[:2]:
                    continue
                a, b, ac, dc = edge[:4]
                sign, other = (-1, b) if node == a else (1, a)
                there = (known[node][0] + sign * ac, known[node][1] + sign * dc)
                if other not in known:
                    known[other] = there
                    stack.append(other)
                elif abs(known[other][0] - there[0]) > SAME_V or abs(known[other][1] - there[1]) > SAME_V:
                    return True
    return False


def _analyse(circuit, state, volts, extra, through_fuses=True):
    """(fuses on shorting loops as (rating, bit), sources on them) of a state in which Short was raised.

    In a block (no node whose loss would part it) with one loop off balance, every edge lies on such a loop: two
    ways lead from it to that loop, and of the three loops these make at least two are off balance.
    """
    edges = []
    for index, (a, b, mask, value) in enumerate(circuit.contacts):
        if state & mask == value and (through_fuses or index not in circuit.fuses):
            edges.append((a, b, 0j, 0.0, None, circuit.fuses.get(index)))
    edges += [(a, b, 0j, 0.0, None, None) for a, b in extra]
    edges += [(a, b, ac, dc, source and source.name, None) for a, b, ac, dc, source in volts.edges]
    graph = networkx.Graph((a, b) for a, b, *_ in edges if a != b)
    blocks = [set(block) for block in networkx.biconnected_components(graph)]
    blocks += [{a} for a, b, *_ in edges if a == b]  # a source whose poles are one net
    fuses, shorted = set(), set()
    for block in blocks:
        inside = [e for e in edges if e[0] in block and e[1] in block]
        if _off_balance(block, inside):
            fuses |= {fuse for *_, fuse in inside if fuse}
            shorted |= {source for *_, source, _ in inside if source}
    return fuses, shorted


class Solver:
    """Volts of states, remembered by what they hang on: which contacts are closed, armatures in, poles lost."""

    def __init__(self, circuit, extra=()):
        self.circuit, self.extra, self._solved = circuit, extra, {}
        self.counting = sum(s.lost for s in circuit.sources)
        for coil in circuit.coils:
            self.counting |= coil.bit
        for *_, bit in circuit.latches:
            self.counting |= bit

    def solve(self, state, dead):
        """(volts, whether two different potentials are joined)."""
        closed = tuple([state & mask == value for _, _, mask, value in self.circuit.contacts])
        key = (closed, state & self.counting, frozenset(dead))
        found = self._solved.get(key)
        if found is None:
            volts, shorted = Volts.__new__(Volts), False
            try:
                volts.__init__(self.circuit, state, dead, self.extra)
            except Short:
                shorted = True
            found = self._solved[key] = (volts, shorted)
        return found


def clear(solver, state):
    """(state once all protection has acted, its volts, sources lost for want of a fuse, whether any short was met)."""
    circuit, extra = solver.circuit, solver.extra
    dead, lost, shorted_ever = set(), [], False
    while True:
        volts, joined = solver.solve(state, dead)
        if not joined:
            return state, volts, lost, shorted_ever
        shorted_ever = True
        fuses, shorted = _analyse(circuit, state, volts, extra, through_fuses=False)
        if not shorted:  # no loop goes round the fuses: they have a say
            fuses, shorted = _analyse(circuit, state, volts, extra)
        by_name = {s.name: s for s in circuit.sources}
        rating = min((r for r, _ in fuses), default=None)
        weak = {
            n for n in shorted
            if by_name[n].short_circuit_a is not None
            and (rating is None or by_name[n].short_circuit_a < OPENING_MULTIPLE * rating)
        }
        if weak:
            dead |= weak
        elif rating is not None:
            for each, bit in fuses:
                if each == rating:
                    state |= bit
        else:
            taken = {n for n in shorted if by_name[n].lost and state & by_name[n].lost != by_name[n].lost}
            if not taken:
                raise AssertionError("a short without a source")
            for n in sorted(taken):
                state |= by_name[n].lost
                lost.append(n)
