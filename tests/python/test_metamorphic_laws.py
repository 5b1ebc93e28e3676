"""Laws that a change of a circuit must obey whatever the circuit is (where each is true, and why, is said with it)."""

import re

from circuit_strategies import circuits, relay_circuits
from engine_comparison import RULES, circuit_of
from hypothesis import HealthCheck, assume, event, given, note, settings
from hypothesis import strategies as st
from reference.netlist import MOTOR_KINDS, contacts, netlist
from test_shrunk_circuits import told

STOP_AND_RETURN_RULES = [
    "stop-cuts", "stop-spares", "stop-beats-start", "power-return", "release-return", "trip-return",
]
some = settings(max_examples=80, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck))


def pairs_of(rows):
    devices = netlist(rows)
    machines = [d.machine for d in devices if d.kind in MOTOR_KINDS]
    return {(d.name, m): "cut" for d in devices if d.is_hand and d.role == "stop" for m in machines}


def checked(rows, rules=None):
    return circuit_of(rows).check(asked=pairs_of(rows), rules=rules or RULES, repairs=False)


def with_terminals(rows, moved):
    """The rows with some terminals, (designation, terminal) -> net, on other nets."""
    return [(n, k, {t: moved.get((n, t), net) for t, net in terminals.items()}, p) for n, k, terminals, p in rows]


def statuses(verdict):
    return sorted((f.rule, str(f.status), *f.subjects) for f in verdict.findings if f.status != "note")


def cells(verdict):
    return {(c.stop, c.machine): (c.found, dict(c.modes)) for c in verdict.matrix}


@some
@given(rows=relay_circuits(makes_only=True), data=st.data())
def test_a_break_contact_more_before_a_coil_never_unstops_anything(rows, data):
    """Where armatures have make contacts only, and a hand only opens or only closes, fewer closed contacts can only mean
    fewer armatures in: whatever acts make a machine run with the contact more make it run without, too."""
    coils = [name for name, kind, _, _ in rows if kind == "contactor"]
    stops = [name for name, kind, terminals, _ in rows if name.startswith("S") and "11" in terminals]
    assume(stops)
    coil, stop = data.draw(st.sampled_from(coils)), data.draw(st.sampled_from(stops))
    note(f"{stop} before {coil}, the circuit:\n{told(rows)}")
    at = next(terminals["A1"] for name, _, terminals, _ in rows if name == coil)
    more = with_terminals(rows, {(coil, "A1"): "x"})
    more = [(n, k, t | ({"91": at, "92": "x"} if n == stop else {}), p) for n, k, t, p in more]
    before, after = cells(checked(rows, ["stop-cuts"])), cells(checked(more, ["stop-cuts"]))
    event("something is not cut" if any(found != "cuts" for found, _ in before.values()) else "all cut")
    assert before.keys() == after.keys()
    for cell, (found, _) in before.items():
        if found == "cuts":
            assert after[cell][0] == "cuts", cell


def neighbours(rows):
    """[((device, terminal, terminal) of one contact, the same of the next, the net between)]: nothing else on that net."""
    at = {}
    for d in netlist(rows):
        for terminal, net in d.terminals.items():
            at.setdefault(net, []).append((d, terminal))
    found = []
    for net, ends in at.items():
        if len(ends) == 2 and ends[0][0] is not ends[1][0]:
            spans = [next(({t, p} for a, b, _, n in contacts(d) for t, p in [(str(n), str(n + 1))] if terminal in (t, p)), None)
                     for d, terminal in ends]
            if all(spans):
                sides = [(d.name, terminal, (span - {terminal}).pop()) for (d, terminal), span in zip(ends, spans)]
                found.append((*sides, net))
    return found


@some
@given(rows=circuits(), data=st.data())
def test_swapping_neighbours_in_a_string_changes_no_stop_or_return(rows, data):
    """Two contacts in series conduct when both are closed, whichever comes first."""
    spots = neighbours(rows)
    assume(spots)
    (first, inner_1, outer_1), (second, inner_2, outer_2), net = data.draw(st.sampled_from(spots))
    note(f"{first} and {second} at {net} swapped, the circuit:\n{told(rows)}")
    place = {name: terminals for name, _, terminals, _ in rows}
    swapped = with_terminals(rows, {
        (first, outer_1): place[second][outer_2], (second, outer_2): place[first][outer_1],
    })
    before, after = checked(rows, STOP_AND_RETURN_RULES), checked(swapped, STOP_AND_RETURN_RULES)
    assert statuses(after) == statuses(before)
    assert cells(after) == cells(before)


@some
@given(rows=circuits(), data=st.data())
def test_renaming_changes_nothing_but_names(rows, data):
    """Every device and net gets another name, in another alphabetical order; the order of entry stays."""
    names = [row[0] for row in rows]
    nets = sorted({net for row in rows for net in row[2].values()})
    new = {}
    for letter, old in (("D", names), ("W", nets)):
        order = data.draw(st.permutations(range(len(old))))
        new |= {name: f"{letter}{100 + place}" for name, place in zip(old, order)}
    note(f"the circuit:\n{told(rows)}")
    renamed = [
        (new[n], k, {t: new[net] for t, net in terminals.items()}, p | ({"machine": new[p["machine"]]} if "machine" in p else {}))
        for n, k, terminals, p in rows
    ]

    def told_in(verdict, names):
        # The order of subjects goes by name, and so does which of equally short ways is shown; a note on several things
        # shows one of them.
        return sorted(
            (f.rule, f.status, sorted(re.sub("^[^:]+", lambda name: names.get(name[0], name[0]), s) for s in f.subjects),
             len(f.witness.acts) if f.status != "note" else 0)
            for f in verdict.findings
        )

    pairs = {(new[stop], new[machine]): word for (stop, machine), word in pairs_of(rows).items()}
    before = checked(rows)
    after = circuit_of(renamed).check(asked=pairs, rules=RULES, repairs=False)
    assert told_in(after, {}) == told_in(before, new)
    assert cells(after) == {(new[s], new[m]): found for (s, m), found in cells(before).items()}


@some
@given(rows=circuits(), data=st.data())
def test_a_duplicate_stop_in_series_has_the_row_of_its_twin(rows, data):
    stops = [row for row in rows if row[0].startswith("S") and set(row[2]) == {"11", "12"}]
    assume(stops)
    name, kind, terminals, parameters = data.draw(st.sampled_from(stops))
    note(f"a twin of {name}, the circuit:\n{told(rows)}")
    doubled = with_terminals(rows, {(name, "12"): "x"})
    doubled.append(("S77", kind, {"11": "x", "12": terminals["12"]}, parameters))
    rules = ["stop-cuts", "stop-spares", "stop-beats-start", "release-return"]
    verdict = checked(doubled, rules)
    rows_of = {stop: {m: found for (s, m), found in cells(verdict).items() if s == stop} for stop in (name, "S77")}
    assert rows_of["S77"] == rows_of[name]
    found = {stop: sorted((f[0], f[1], f[3]) for f in statuses(verdict) if f[2] == stop) for stop in (name, "S77")}
    assert found["S77"] == found[name]
