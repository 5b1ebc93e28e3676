"""Volts of one state: every net solved by nodal analysis, AC as phasors and DC apart.

Nets joined by ideal conductors form a class. Classes tied to one another by sources form a rigid group: volts
between its classes are known, and one unknown shift for the whole group is left, nought for the group of earth.
Kirchhoff's current law over all groups that impedances tie together gives the shifts.
"""

import numpy as np
from scipy.linalg.lapack import dgesv, zgesv

from .compiled import EARTH

SAME_V = 1e-6


class Short(Exception):
    """Two different potentials are ideally joined."""


def class_of_nets(size, joined):
    """Class number of each node after joining pairs."""
    parent = list(range(size))

    def find(x):
        while parent[x] != x:
            parent[x] = parent[parent[x]]
            x = parent[x]
        return x

    for a, b in joined:
        a, b = find(a), find(b)
        if a != b:
            parent[max(a, b)] = min(a, b)
    return [find(x) for x in range(size)]


class Volts:
    """The solved volts of one state.

    cls[n]    class of node n                    group[c], ac[c], dc[c]   rigid group of a class, volts in it
    on        classes that stand on a potential  volts(n)                 (phasor, DC volts) of a node
    """

    def __init__(self, circuit, state, dead=(), extra=()):
        self.circuit, self.state = circuit, state
        joined = [(a, b) for a, b, mask, value in circuit.contacts if state & mask == value]
        self.joined = joined + list(extra)
        self.cls = class_of_nets(circuit.size, self.joined)
        self.group = {c: c for c in set(self.cls)}
        self.members = {c: [c] for c in self.group}
        self.ac = dict.fromkeys(self.group, 0j)
        self.dc = dict.fromkeys(self.group, 0.0)
        self.on = {self.cls[EARTH]}
        self.edges = []  # (node, node, ac, dc, source or None): volts of the first above the second
        self.fed = []
        self.shift = None
        self.contradicted = False
        self.with_ac = any(s.kind != "dc-supply" for s in circuit.sources)
        self.with_dc = any(s.kind == "dc-supply" for s in circuit.sources)
        waiting = []
        for source in circuit.sources:
            if source.earthed:
                self._earth(source)
            if source.name in dead or (source.lost and state & source.lost == source.lost):
                continue
            if source.feed:
                waiting.append(source)
            else:
                self._feed(source, 1.0)
        self._refuse_shorts()
        while waiting:  # levels: what the mains feed, then what these feed
            self._settle_groups()
            found = [(s, self._scale(s)) for s in waiting]
            now = [(s, k) for s, k in found if k is not None]
            if not now:
                break
            waiting = [s for s in waiting if all(s is not other for other, _ in now)]
            for s, k in now:
                self._feed(s, k)
            self._refuse_shorts()
        self._settle_groups()

    def _refuse_shorts(self):
        """Raised once all sources of a level are in `edges`: which short is cleared first hangs on all of them."""
        if self.contradicted:
            raise Short

    def _earth(self, source):
        for pole, net, _, _ in source.poles:
            if pole == source.earthed:
                self._tie(net, EARTH, 0j, 0.0, None)  # a mere wire: no source of volts
                self.on.add(self.cls[net])

    def _scale(self, source):
        """What the feed makes of a dependent source: a factor on its volts, None when it is dead."""
        first, second = source.feed
        if self.island[self.group[self.cls[first]]] != self.island[self.group[self.cls[second]]]:
            return None  # one side hangs free: no current, no volts
        ac = self.volts(first)[0] - self.volts(second)[0]
        if source.kind == "dc-supply":
            return 1.0 if abs(ac) >= 0.6 * 230 else None
        if abs(ac) < SAME_V:
            return None
        primary = source.device.get("primary_v", source.cold_primary_v)
        if primary is None:
            primary = 400.0 if abs(ac) > 315 else 230.0
            if self.state == 0:
                source.cold_primary_v = primary  # what it was made for does not change with what is lost
        return ac / primary

    def _feed(self, source, scale):
        alive = [(net, volts * scale) for _, net, volts, bit in source.poles if not self.state & bit]
        self.fed.append(source)
        is_dc = source.kind == "dc-supply"
        for net, volts in alive:
            self.on.add(self.cls[net])
        base, base_v = alive[-1]  # N, M or s2 when alive; the others are known against it
        for net, volts in alive[:-1]:
            difference = volts - base_v
            self._tie(net, base, 0j if is_dc else complex(difference), float(difference) if is_dc else 0.0, source)

    def _tie(self, a, b, ac, dc, source):
        """V(a) - V(b) is known from now on."""
        self.edges.append((a, b, ac, dc, source))
        a, b = self.cls[a], self.cls[b]
        ac += self.ac[b] - self.ac[a]
        dc += self.dc[b] - self.dc[a]
        ga, gb = self.group[a], self.group[b]
        if ga == gb:
            self.contradicted |= abs(ac) > SAME_V or abs(dc) > SAME_V
            return
        for c in self.members.pop(ga):
            self.group[c] = gb
            self.ac[c] += ac
            self.dc[c] += dc
            self.members[gb].append(c)

    def impedances(self):
        """(class, class, admittance at AC, at DC) of all that is not ideal."""
        state, cls = self.state, self.cls
        for a, b, ac, dc in self.circuit.fixed:
            yield cls[a], cls[b], ac, dc
        for coil in self.circuit.coils:
            yield cls[coil.first], cls[coil.second], *(coil.inside if state & coil.bit else coil.out)
        for closing, tripping, bit in self.circuit.latches:
            for coil in (closing, tripping):
                yield cls[coil.first], cls[coil.second], *(coil.inside if state & bit else coil.out)

    def _settle_groups(self):
        """Solves the shift of every rigid group; groups tied together by impedances share an island."""
        group = self.group
        between = [(a, b, ac, dc) for a, b, ac, dc in self.impedances() if group[a] != group[b]]
        earth = group[self.cls[EARTH]]
        link = {g: g for g in self.members}

        def find(g):
            while link[g] != g:
                g = link[g]
            return g

        for a, b, _, _ in between:
            a, b = find(group[a]), find(group[b])
            if a != b:
                link[a] = b
        self.island = {g: find(g) for g in self.members}
        self.shift = {g: (0j, 0.0) for g in self.members}
        islands = {}
        for a, b, ac, dc in between:
            islands.setdefault(self.island[group[a]], []).append((a, b, ac, dc))
        strong = {group[self.cls[s.poles[0][1]]] for s in self.fed}
        for edges in islands.values():
            groups = {group[c] for a, b, _, _ in edges for c in (a, b)}
            reference = earth if earth in groups else min(groups & strong or groups)
            unknown = {g: i for i, g in enumerate(sorted(groups - {reference}))}
            self._solve(unknown, edges)

    def _solve(self, unknown, edges):
        """Kirchhoff's current law at every unknown group, at AC and at DC."""
        if not unknown:
            return
        ac = dc = None
        if self.with_ac:
            ac = self._equations(unknown, [(a, b, y, self.ac[a] - self.ac[b]) for a, b, y, _ in edges], complex, zgesv)
        if self.with_dc:
            dc = self._equations(unknown, [(a, b, y, self.dc[a] - self.dc[b]) for a, b, _, y in edges], float, dgesv)
        for g, k in unknown.items():
            self.shift[g] = (complex(ac[k]) if ac is not None else 0j, float(dc[k]) if dc is not None else 0.0)

    def _equations(self, unknown, edges, kind, solve):
        n = len(unknown)
        matrix, right = np.zeros((n, n), kind), np.zeros(n, kind)
        for a, b, admittance, above in edges:
            row, column = unknown.get(self.group[a]), unknown.get(self.group[b])
            if row is not None:
                matrix[row, row] += admittance
                right[row] -= admittance * above
            if column is not None:
                matrix[column, column] += admittance
                right[column] += admittance * above
                if row is not None:
                    matrix[row, column] -= admittance
                    matrix[column, row] -= admittance
        return _solution(matrix, right, solve)

    def volts(self, node):
        c = self.cls[node]
        ac, dc = self.shift[self.group[c]]
        return self.ac[c] + ac, self.dc[c] + dc

    def across(self, a, b):
        """Effective volts between two nodes."""
        (ac_a, dc_a), (ac_b, dc_b) = self.volts(a), self.volts(b)
        return (abs(ac_a - ac_b) ** 2 + (dc_a - dc_b) ** 2) ** 0.5

    def potential(self, node):
        """Key of the potential a node ideally stands on, None when on none; equal keys are equal volts."""
        c = self.cls[node]
        if c not in self.on:
            return None
        return (self.group[c], round(self.ac[c].real, 3), round(self.ac[c].imag, 3), round(self.dc[c], 3))

    def live(self, node):
        """Above 50 V to earth, or tied to a floating source whose poles are."""
        island = self.island[self.group[self.cls[node]]]
        if island == self.island[self.group[self.cls[EARTH]]]:
            return self.across(node, EARTH) > 50
        for s in self.fed:
            nets = [net for _, net, _, bit in s.poles if not self.state & bit]
            if self.island[self.group[self.cls[nets[0]]]] == island:
                if any(self.across(a, b) > 50 for a in nets for b in nets):
                    return True
        return False


def _solution(matrix, right, solve):
    if not right.any():
        return right
    tied = np.abs(matrix).sum(axis=1) > 0  # at DC a node behind capacitors alone has no tie and no volts
    answer = np.zeros_like(right)
    if not tied.any():
        return answer
    inside = matrix[np.ix_(tied, tied)]
    _, _, found, trouble = solve(inside, right[tied])
    if trouble:  # parts without any tie to the reference: the smallest volts will do
        found = np.linalg.lstsq(inside, right[tied], rcond=None)[0]
    answer[tied] = found
    return answer
