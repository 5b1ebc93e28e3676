"""The engine against two judges that know nothing of it, in one run, on the campus of tests/python/campus.py: a search of
the whole graph with networkx, claim by claim, on 100 machines; and Debian's hardware model checker, area by area, on 1,000.

Every answer is compared with what was put in; ends with 1 when one is wrong. Times are of one core; of the model checker its
own alone, without the making of the model. Of the claims of the search every seventh is tried.
"""

import pathlib
import sys
import tempfile
import time

import networkx

import stopspan

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "python"))
import model_checker
from campus import MACHINES, MISTAKES, Campus
from ideal_model import IdealModel

RULES = ["stop-cuts", "stop-beats-start", "power-return", "release-return"]
POLES = ["L1", "L2", "L3"]
EVERY = 7


def engine_s(campus: Campus) -> float:
    """Seconds of the best of several checks, all answers right."""
    circuit, best = stopspan.Circuit(), float("inf")
    for name, kind, terminals, parameters in campus.rows:
        circuit.add(name, kind, terminals, **parameters)
    for _ in range(5):
        start = time.process_time()
        verdict = circuit.check(asked=campus.asked, rules=RULES, repairs=False)
        best = min(best, time.process_time() - start)
    # What hangs on volts (one line of three lost) is beyond the judges, which know contacts alone.
    found = {(f.rule, *f.subjects[:2]) for f in verdict.findings if f.status != "note" and f.subjects[0] != "G0:L1"}
    expect("engine", found, campus.broken)
    return best


def expect(judge: str, found: set, wanted: set) -> None:
    for claim in sorted(found ^ wanted):
        print(f"WRONG: {judge}: {' '.join(claim)} is {'broken' if claim in found else 'not broken'}")
    if found != wanted:
        sys.exit(1)


class GraphSearch:
    """States of the whole campus, one graph of what is closed for each round of settling."""

    def __init__(self, rows):
        self.edges, self.coils, self.terminals, self.selectors, self.starts = [], {}, {}, set(), set()
        for name, kind, terminals, _ in rows:
            self.terminals[name] = terminals
            if kind in ("selector", "key-switch") or name.startswith("S") and "13" in terminals:
                self.starts.add(name)
            if kind == "selector":
                self.selectors.add(name)
            if kind == "contactor":
                self.coils[name] = terminals["A1"]
            for first, net in terminals.items():
                second = str(int(first) + 1) if first.isdigit() and int(first) % 2 else None
                if second in terminals:
                    # Contactor poles and blocks x3-x4 are closed when it is actuated, all others when it is not.
                    make = kind == "contactor" or first.endswith("3") and kind not in ("isolator", "overload")
                    self.edges.append((net, terminals[second], name, make))

    def fed(self, actuated):
        closed = networkx.Graph((a, b) for a, b, name, make in self.edges if (name in actuated) == make)
        return set().union(*(networkx.node_connected_component(closed, pole) for pole in POLES if pole in closed))

    def settled(self, actuated, drop):
        """Contactors only drop out, or only come in, until nothing moves."""
        while True:
            fed = self.fed(actuated)
            moved = {name for name, net in self.coils.items() if (net in fed) != drop and (name in actuated) == drop}
            if not moved:
                return actuated, fed
            actuated = actuated - moved if drop else actuated | moved

    def runs(self, machine, fed):
        return any(net in fed for net in self.terminals[machine].values())

    def broken(self, rule, subject, machine):
        rest, everything_in = self.selectors, self.selectors | set(self.coils)
        if rule == "stop-cuts":
            return self.runs(machine, self.settled(everything_in | {subject}, drop=True)[1])
        if rule == "stop-beats-start":
            return self.runs(machine, self.settled(everything_in | self.starts | {subject}, drop=True)[1])
        actuated, fed = self.settled(rest, drop=False)
        if rule == "power-return":
            return self.runs(machine, fed)
        reset = subject.startswith("SK")
        if not reset:
            actuated, fed = self.settled(everything_in | {subject}, drop=True)
        before = self.runs(machine, fed)
        moved = actuated | {subject} if reset else actuated - {subject}
        return not before and self.runs(machine, self.settled(moved, drop=False)[1])


def claims_of(campus: Campus) -> list[tuple[str, str, str]]:
    claims = [(rule, stop, machine) for stop, machine in campus.asked for rule in RULES if rule != "power-return"]
    for machine in campus.own:
        claims += [("release-return", "SK" + machine[1:].split(".")[0], machine), ("power-return", "G0", machine)]
    return claims


def against_search(machines: int) -> None:
    campus = Campus(machines, {1 + 2 * place: mistake for place, mistake in enumerate(MISTAKES)})
    engine, search, claims = engine_s(campus), GraphSearch(campus.rows), claims_of(campus)
    tried = claims[::EVERY]
    start = time.process_time()
    broken = {claim for claim in tried if search.broken(*claim)}
    # Folded: a stop that never cuts a machine is not asked again whether it beats its start.
    broken = {c for c in broken if c[0] != "stop-beats-start" or ("stop-cuts", *c[1:]) not in campus.broken}
    whole = (time.process_time() - start) * len(claims) / len(tried)
    expect("search of the whole graph", broken, campus.broken & set(tried))
    print(f"{machines} machines, {len(claims)} claims: engine {engine * 1000:.1f} ms, search of the whole graph {whole:.1f} s"
          f" ({len(tried)} claims tried, {len(broken)} broken): {whole / engine:.0f} times as long", flush=True)


def against_model_checker(machines: int) -> None:
    mistakes = {1 + 10 * place: MISTAKES[place % len(MISTAKES)] for place in range(machines // MACHINES // 10)}
    campus = Campus(machines, mistakes)
    engine, broken, cut, checker = engine_s(campus), set(), set(), 0.0
    with tempfile.TemporaryDirectory() as folder:
        for area in range(1, machines // MACHINES + 1):
            part = Campus(machines, mistakes, areas=[area])
            stops = {stop for stop, _ in part.asked}
            model = IdealModel(
                part.rows, steps=2, own=part.own,
                wanted=lambda rule, subject, machine, part=part, stops=stops: rule in RULES
                and (subject not in stops or (subject, machine) in part.asked),
            )
            start = time.perf_counter()
            of_area, cut_of_area = model_checker.broken_claims(model, pathlib.Path(folder))
            checker += time.perf_counter() - start
            broken, cut = broken | of_area, cut | cut_of_area
    never_cuts = {claim[1:] for claim in broken if claim[0] == "stop-cuts" and claim[1:] not in cut}
    expect("model checker", {c for c in broken if c[0] != "stop-beats-start" or c[1:] not in never_cuts}, campus.broken)
    print(f"{machines} machines: engine {engine * 1000:.1f} ms, model checker {checker:.1f} s: {checker / engine:.0f} times as long")


against_search(100)
if model_checker.CHECKER is None:
    print("berkeley-abc is not installed (apt-get install berkeley-abc): not compared")
else:
    against_model_checker(1000)
