"""Stops that stand in a row are searched as one. It must not matter: a dangling contact at every net of the row keeps
them apart without changing what the circuit does, and a search of states must then come to the same verdict.

That rows are really merged, and with the dangling contacts really not, is seen by the size that an undecided search
under no budget tells: so many things with positions.
"""

import random
import re
import time

from circuit_strategies import relay_circuits
from engine_comparison import circuit_of
from hypothesis import HealthCheck, event, given, note, settings
from test_metamorphic_laws import cells, checked, pairs_of, statuses
from fault_comparison import told as taken_away
from test_shrunk_circuits import told

COIL = {"coil_voltage_v": 230.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}


def kept_apart(rows):
    """Every stop with one break contact gets one more, from the net behind the first to a net of its own."""
    return [
        (n, k, t | ({"91": t["12"], "92": f"dangling {n}"} if set(t) == {"11", "12"} else {}), p) for n, k, t, p in rows
    ]


def running_cells(verdict):
    """Cells of machines that run at all: of the others what is said is empty."""
    never = {f.subjects[0] for f in verdict.findings if f.status == "note" and "never runs" in f.text}
    return {cell: found for cell, found in cells(verdict).items() if cell[1] not in never}


def sizes(rows):
    """{machine: things with positions} of the searches that a budget of one state does not allow."""
    verdict = circuit_of(rows).check(asked=pairs_of(rows), rules=["stop-beats-start"], state_budget=1, repairs=False)
    undecided = (f for f in verdict.findings if f.status == "undecided")
    return {f.subjects[-1]: int(re.search(r"(\d+) things with positions", f.text)[1]) for f in undecided}


def test_rows_are_searched_merged_and_unmerged_alike():
    smaller = [0, 0]

    @settings(max_examples=120, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(rows=relay_circuits(rows_of_stops=2))
    def alike(rows):
        note(f"the circuit:\n{told(rows)}")
        apart = kept_apart(rows)
        merged, unmerged = checked(rows), checked(apart)
        assert statuses(merged) == statuses(unmerged)
        assert running_cells(merged) == running_cells(unmerged)
        searched = sizes(rows)
        smaller[0] += sum(size < sizes(apart)[machine] for machine, size in searched.items())
        smaller[1] += len(searched)
        event("searched" if searched else "proven from the structure")

    alike()
    print(f"\n{smaller[0]} of {smaller[1]} searches were smaller for merging")
    assert smaller[0] > 20


def workshop(stops, machines):
    """A row of stops ahead of machines of which only one can run: a break contact of every other before each coil."""
    rows = [("G1", "mains-1ph", {"L": "L", "N": "N"}, {})]
    nets = ["L"] + [f"c{n}" for n in range(1, stops + 1)]
    for n in range(stops):
        rows.append((f"ES{n + 1}", "emergency-stop", {"11": nets[n], "12": nets[n + 1]}, {}))
    for m in range(1, machines + 1):
        rows.append((f"S{m}", "push-button", {"13": nets[-1], "14": f"a{m}.0"}, {"role": "start", "machine": f"M{m}"}))
        rows.append((f"M{m}", "motor-1ph", {"L": f"m{m}", "N": "N"}, {"power_kw": 1.1}))
    contactors = {m: {"A2": "N", "1": "L", "2": f"m{m}", "13": nets[-1], "14": f"a{m}.0"} for m in range(1, machines + 1)}
    for m in contactors:
        at = f"a{m}.0"
        for block, other in enumerate((o for o in contactors if o != m), 2):
            after = f"a{m}.{block}"
            contactors[other] |= {f"{m + 20}1": at, f"{m + 20}2": after}
            at = after
        contactors[m]["A1"] = at
    return rows + [(f"K{m}", "contactor", terminals, COIL) for m, terminals in contactors.items()]


def test_forty_stops_and_twelve_interlocked_machines_are_decided():
    rows = workshop(40, 12)
    start = time.perf_counter()
    verdict = checked(rows, ["stop-cuts", "stop-beats-start", "power-return", "release-return"])
    print(f"\n40 stops, 12 interlocked machines: {time.perf_counter() - start:.2f} s")
    assert statuses(verdict) == []
    assert {found for found, _ in cells(verdict).values()} == {"cuts"} and len(verdict.matrix) == 40 * 12


def test_a_stop_held_in_a_row_with_a_fuse_is_another_device_held():
    """A latched contactor is tripped through S3 unless that is held. By hand: to run with S3 free again the control must
    be dead, and with another supply lost no fuse may blow, too, so that is S2 held: a note, as DESIGN 5 wants it."""
    rows = [
        ("G1", "mains-1ph", {"L": "L1", "N": "N"}, {}),
        ("G2", "mains-1ph", {"L": "L2", "N": "N2"}, {}),
        ("F1", "fuse", {"1": "L1", "2": "a"}, {"rating_a": 6.0}),
        ("S2", "push-button", {"11": "a", "12": "b"}, {"role": "stop"}),
        ("S3", "push-button", {"11": "b", "12": "c"}, {"role": "stop"}),
        ("S1", "push-button", {"13": "b", "14": "d"}, {"role": "start"}),
        ("K1", "latched-contactor", {"C1": "d", "C2": "N", "E1": "c", "E2": "N", "1": "L2", "2": "e"}, COIL),
        ("M1", "motor-1ph", {"L": "e", "N": "N2"}, {"power_kw": 0.55}),
    ]
    verdict = circuit_of(rows).check(rules=["power-return"], repairs=False)
    assert [(f.rule, f.status, f.subjects[-1]) for f in verdict.findings] == [("power-return", "note", "M1")]


def bridges(rows):
    """What conductors that touch do, each told in its own words; not those that the dangling contacts brought."""
    verdict = circuit_of(rows).check(asked=pairs_of(rows), rules=["single-fault"], repairs=False)
    told = {(f.status, tuple(f.subjects), f.text, tuple(f.witness.acts)) for f in verdict.findings}
    return {each for each in told if " 'bridge " in each[2] and "dangling" not in each[2]}


def test_faults_at_the_nets_of_a_row_do_the_same_judged_together_or_one_by_one():
    rows = workshop(5, 2)
    together = bridges(rows)
    assert together == bridges(kept_apart(rows))
    # By hand: of the row's six nets any two that touch bypass the stops between them.
    inside = [text for _, _, text, _ in together if re.search(r"'bridge (L|c\d) c\d'", text)]
    assert len(inside) == 6 * 5 // 2


def single_faults(rows):
    """{fault: what it takes away}, and the faults not decided."""
    verdict = circuit_of(rows).check(asked=pairs_of(rows), rules=["single-fault"], repairs=False)
    taken, left = {}, set()
    for finding in verdict.findings:
        verb, *what = finding.text.split("'")[1].split()
        fault = " ".join([verb, *sorted(what)])
        if finding.text.startswith("Not decided"):
            left.add(fault)
        else:
            taken[fault] = taken_away(finding.text)
    return taken, left


def test_what_faults_do_to_forty_stops_and_twelve_interlocked_machines_is_decided():
    start = time.process_time()
    taken, left = single_faults(workshop(40, 12))
    print(f"\n{len(taken)} faults that take something away: {time.process_time() - start:.1f} s of processor time")
    assert left == set()
    # By hand: of the row's 41 nets any two that touch bypass the stops between them, for all machines alike.
    for a in range(41):
        for b in range(a + 1, 41):
            nets = sorted(["L" if a == 0 else f"c{a}", f"c{b}"])
            past = {("stop", f"ES{n}", f"M{m}"): "fails" for n in range(a + 1, b + 1) for m in range(1, 13)}
            assert taken[f"bridge {' '.join(nets)}"] == past
    # By hand: either start feeds both rungs, and which contactor is the first to open the other's is chance.
    for m in range(1, 13):
        for n in range(m + 1, 13):
            fault = " ".join(["bridge", *sorted([f"a{m}.0", f"a{n}.0"])])
            assert taken[fault] == {("start", "", f"M{m}"): "maybe", ("start", "", f"M{n}"): "maybe"}
    # By hand: a coil joined to the line pulls in as soon as the others are out, and ahead of all stops.
    for m in range(1, 13):
        own = {("stop", f"ES{n}", f"M{m}"): "fails" for n in range(1, 41)} | {("start", "", f"M{m}"): "fails"}
        assert own.items() <= taken[f"bridge L a{m}.{12 if m < 12 else 11}"].items()


def test_which_stops_a_fault_bypasses_does_not_hang_on_the_order_they_are_listed_in():
    rows = workshop(6, 3)
    # By hand: between two nets of the row the stops there, whatever stands first in the list.
    for seed in range(4):
        shuffled = rows[:]
        random.Random(seed).shuffle(shuffled)
        taken, left = single_faults(shuffled)
        assert left == set()
        for a in range(1, 7):
            for b in range(a + 1, 7):
                past = {("stop", f"ES{n}", f"M{m}"): "fails" for n in range(a + 1, b + 1) for m in (1, 2, 3)}
                assert taken[f"bridge c{a} c{b}"] == past, seed


def test_a_fault_is_judged_alike_whichever_of_its_like_stands_first():
    rows = workshop(4, 6)
    whole = single_faults(rows)
    assert whole[1] == set() and len(whole[0]) > 400
    shuffled = rows[:]
    random.Random(3).shuffle(shuffled)
    assert single_faults(shuffled) == whole
    # A rating that moves no contact keeps each contactor apart from the others, so that none is known to be alike.
    apart = [(n, k, t, p | {"ac3_rating_a": 9.0 + int(n[1:])} if k == "contactor" else p) for n, k, t, p in rows]
    assert single_faults(apart) == whole
