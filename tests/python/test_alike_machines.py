"""What is found of a machine, healthy or with a fault, is told of those wired alike: compared with judging each.

A random circuit stands twice on the same mains, the second alike or with one wire moved. Once a rating that moves no
contact is given in one of them alone, so that nothing is known to be alike.
"""

import random

import pytest
from engine_comparison import circuit_of
from random_comparison import circuit_rows

MAINS = {"mains-1ph", "mains-3ph"}
HARMLESS = {"push-button": "rating_a", "emergency-stop": "rating_a", "contactor": "ac3_rating_a"}


def again(rows, moved):
    """The rows once more with names of their own, all but the mains; with a terminal moved to another net if wanted."""
    shared = {net for _, kind, terminals, _ in rows if kind in MAINS for net in terminals.values()} | {"PE"}
    every = {name for name, *_ in rows}
    copies = []
    for name, kind, terminals, parameters in rows:
        if kind in MAINS:
            continue
        nets = {terminal: net if net in shared else f"{net}b" for terminal, net in terminals.items()}
        others = {key: f"{value}b" if value in every or key == "machine" else value for key, value in parameters.items()}
        copies.append((f"{name}b", kind, nets, others))
    if moved:
        _, _, terminals, _ = moved.choice(copies)
        terminals[moved.choice(sorted(terminals))] = moved.choice(sorted({net for row in copies for net in row[2].values()}))
    return copies


def kept_apart(copies):
    """With a rating that moves nothing: no machine is known to be like another."""
    return [(*row[:3], row[3] | {HARMLESS[row[1]]: 7.0}) if row[1] in HARMLESS else row for row in copies]


def told(rows, copies, apart):
    """By fault, what is told of it, and the faults not decided: more of them where each is judged for itself."""
    if apart:
        copies = kept_apart(copies)
    by_fault, left = {}, set()
    for finding in circuit_of(rows + copies).check(rules=["single-fault"], repairs=False, state_budget=500).findings:
        fault = finding.text.split("'")[1]
        if finding.text.startswith("Not decided"):
            left.add(fault)
        by_fault[fault] = (finding.status, finding.subjects, finding.text, finding.witness.ends_in)
    return by_fault, left


@pytest.mark.parametrize("moved", [False, True])
@pytest.mark.parametrize("first", [0, 40])
def test_a_fault_does_to_a_machine_what_it_does_to_its_like(first, moved):
    compared = 0
    for number in range(first, first + 40):
        rows = circuit_rows(number)
        if len(rows) > 15 or not any(kind in HARMLESS for _, kind, *_ in rows):
            continue
        copies = again(rows, random.Random(number) if moved else None)
        (together, left), (each, left_of_each) = told(rows, copies, False), told(rows, copies, True)
        assert left <= left_of_each, number
        decided = (together.keys() | each.keys()) - left_of_each
        assert {f: together.get(f) for f in decided} == {f: each.get(f) for f in decided}, number
        compared += len(decided)
    print(f"\n{compared} faults that take something away compared")
    assert compared > 120


RULES = ["stop-cuts", "stop-spares", "stop-beats-start", "power-return", "release-return", "trip-return", "own-start", "overload-cuts"]


def all_told(rows):
    verdict = circuit_of(rows).check(rules=RULES, repairs=False, state_budget=2000)
    findings = [(f.rule, f.status, f.subjects, f.text, f.witness.acts, f.witness.path, f.witness.ends_in) for f in verdict.findings]
    cells = [(c.stop, c.machine, c.asked, c.found, sorted(c.modes.items())) for c in verdict.matrix]
    return findings, cells, verdict.counts, verdict.not_checked


@pytest.mark.parametrize("moved", [False, True])
@pytest.mark.parametrize("first", [0, 300, 600])
def test_a_machine_does_what_its_like_does(first, moved):
    compared = 0
    for number in range(first, first + 60):
        rows = circuit_rows(number)
        if not any(kind in HARMLESS for _, kind, *_ in rows):
            continue
        copies = again(rows, random.Random(number) if moved else None)
        together = all_told(rows + copies)
        assert together == all_told(rows + kept_apart(copies)), number
        compared += len(together[0])
    print(f"\n{compared} findings compared")
    assert compared > 200
