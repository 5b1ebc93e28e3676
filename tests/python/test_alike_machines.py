"""What is found of a machine, healthy or with faults, alone and in pairs, is told of those wired alike: compared with
judging each.

A random circuit stands twice on the same mains, the second alike or with one wire moved. Once a rating that moves no
contact is given in one of them alone, so that nothing is known to be alike.
"""

import random
import re
from collections import Counter

import pytest
from engine_comparison import circuit_of
from random_comparison import circuit_rows

MAINS = {"mains-1ph", "mains-3ph"}
HARMLESS = {"push-button": "rating_a", "emergency-stop": "rating_a", "contactor": "ac3_rating_a"}


def by_two(rows):
    """With a second contact behind the break contact of every button: a short across one of them shows nowhere."""
    wired = []
    for name, kind, terminals, parameters in rows:
        if kind in ("push-button", "emergency-stop") and {"11", "12"} <= terminals.keys() and "21" not in terminals:
            terminals = terminals | {"12": f"{name}.mid", "21": f"{name}.mid", "22": terminals["12"]}
        wired.append((name, kind, terminals, parameters))
    return wired


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


OF_FAULTS = ["earth-fault", "single-fault", "hidden-fault"]
EARTHED = re.compile(r"earth faults? (?:on a floating supply )?at ([^ ;]+)(?: and ([^ ;]+))?")


def told(rows, copies, apart):
    """By rule and faults what is told, and what is not decided: more where each machine is judged for itself."""
    if apart:
        copies = kept_apart(copies)
    by_fault, left = {}, set()
    for finding in circuit_of(rows + copies).check(rules=OF_FAULTS, repairs=False, state_budget=500).findings:
        if finding.text.startswith(("Of two earth faults", "Of the pairs of faults")):
            left.add((finding.rule, *finding.subjects))
            continue
        earthed = EARTHED.search(finding.text) if finding.rule == "earth-fault" else None
        faults = (finding.rule, *(earthed.groups() if earthed else finding.text.split("'")[1:4:2]))
        if " decided what " in finding.text:
            left.add(faults)
        by_fault[faults] = (finding.status, finding.subjects, finding.text, finding.witness.ends_in)
    return by_fault, left


@pytest.mark.parametrize("moved", [False, True])
@pytest.mark.parametrize("wired", [list, by_two])
def test_faults_do_to_a_machine_what_they_do_to_its_like(wired, moved):
    compared = Counter()
    for number in range(24 if wired is list else 14):
        rows = wired(circuit_rows(number))
        if len(rows) > 15 or not any(kind in HARMLESS for _, kind, *_ in rows):
            continue
        copies = again(rows, random.Random(number) if moved else None)
        (together, left), (each, left_of_each) = told(rows, copies, False), told(rows, copies, True)
        assert left <= left_of_each, number
        decided = (together.keys() | each.keys()) - left_of_each
        assert {f: together.get(f) for f in decided} == {f: each.get(f) for f in decided}, number
        compared.update(rule for rule, *_ in decided)
    print(f"\nfindings compared: {dict(compared)}")
    assert compared["single-fault"] > 150 and compared["earth-fault"] > 10 and compared["hidden-fault"] > 3


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
