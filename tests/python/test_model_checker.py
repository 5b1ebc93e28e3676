"""The engine against Debian's hardware model checker, on the ideal part of circuits (ideal_model.py says what that is).

STOPSPAN_SHRUNK_CIRCUITS sets how many random relay circuits (60 when unset).
"""

import os
import time

import pytest
from campus import MISTAKES, Campus
from circuit_strategies import relay_circuits
from engine_comparison import circuit_of
from hypothesis import HealthCheck, assume, event, given, note, settings
from ideal_model import IdealModel
from model_checker import CHECKER, broken_claims
from test_shrunk_circuits import told

pytestmark = pytest.mark.skipif(CHECKER is None, reason="berkeley-abc is not installed (apt-get install berkeley-abc)")

RULES = ["stop-cuts", "stop-beats-start", "power-return", "release-return"]
START_RULES = ["trip-return", "own-start"]
WANTED = os.environ.get("STOPSPAN_SHRUNK_CIRCUITS")


def engine_verdict(rows, asked, rules):
    """(broken claims by the engine, finding texts of races and restless armatures)."""
    verdict = circuit_of(rows).check(asked=asked, rules=[*rules, "contact-race", "chatter"], repairs=False)
    races = [finding.text for finding in verdict.findings if finding.rule in ("contact-race", "chatter")]
    found = {(f.rule, *f.subjects[:2]): f.status for f in verdict.findings if f.status != "note" and f.rule in rules}
    return found, races


def without_folded(broken, cut):
    """A stop that never cuts a machine is not asked again whether it beats its start (DESIGN 5)."""
    never_cuts = {claim[1:] for claim in broken if claim[0] == "stop-cuts" and claim[1:] not in cut}
    return {claim for claim in broken if claim[0] != "stop-beats-start" or claim[1:] not in never_cuts}


@settings(max_examples=int(WANTED or 60), derandomize=WANTED is None, deadline=None, database=None,
          suppress_health_check=list(HealthCheck))
@given(rows=relay_circuits())
def test_relay_circuits_get_the_same_verdict(rows, tmp_path_factory):
    model = IdealModel(rows, steps=2 * sum(kind == "contactor" for _, kind, _, _ in rows))
    stops = {subject for rule, subject, _ in model.claims if rule == "stop-cuts"}
    asked = {(stop, machine): "cut" for stop in stops for machine in model.runs}
    ours, races = engine_verdict(rows, asked, RULES + START_RULES)
    event("races" if races else "no race")
    assume(not races)  # there the settling model does not know the order
    note(f"the circuit:\n{told(rows)}")
    broken, cut = broken_claims(model, tmp_path_factory.mktemp("model"))
    event(f"broken claims: {min(len(broken), 3)}")
    theirs = without_folded(broken, cut)
    # saying both of a folded claim hides nothing
    ours = {claim: status for claim, status in ours.items() if claim in theirs or claim not in broken}
    # both sources lost together says no more than each for itself
    theirs = {c for c in theirs if c[1] != "all sources" or not any((c[0], s, c[2]) in theirs for s in ("G1", "G2"))}
    assert ours == dict.fromkeys(theirs, "fails")


def on_campus(campus, machines=None):
    """Ideal model of a campus with the claims of the four rules, of some machines only or of all."""
    stops = {stop for stop, _ in campus.asked}
    return IdealModel(
        campus.rows, steps=2, own=campus.own, machines=machines,
        wanted=lambda rule, subject, machine: rule in RULES
        and (subject not in stops or (subject, machine) in campus.asked),
    )


def test_the_campus_gets_the_same_verdict(tmp_path):
    campus = Campus(100, {1 + 2 * place: mistake for place, mistake in enumerate(MISTAKES)})
    start = time.perf_counter()
    found, races = engine_verdict(campus.rows, campus.asked, RULES)
    engine_s, start = time.perf_counter() - start, time.perf_counter()
    model = on_campus(campus)
    model_s, start = time.perf_counter() - start, time.perf_counter()
    broken, cut = broken_claims(model, tmp_path)
    print(f"\n{len(model.claims)} claims: model {model_s:.1f} s, checker {time.perf_counter() - start:.1f} s, engine {engine_s:.3f} s")
    assert not races
    assert without_folded(broken, cut) == campus.broken
    # What hangs on the half volts that a motor on two lines feeds back is beyond an ideal model (see campus.cpp).
    assert {claim for claim in found if claim[1] != "G0:L1"} == campus.broken
    assert {claim for claim in found if claim[1] == "G0:L1"} == {("power-return", "G0:L1", "M9.4")}


def test_a_thousand_machines_get_the_same_verdict_in_samples(tmp_path):
    """The engine sees the whole campus, the checker the areas of the sample: they share the mains and the site's stops."""
    mistakes = {1 + 10 * place: MISTAKES[place % len(MISTAKES)] for place in range(10)}
    sample = ["M1.4", "M11.4", "M21.7", "M31.4", "M41.4", "M100.10"]
    campus = Campus(1000, mistakes)
    found, _ = engine_verdict(campus.rows, campus.asked, RULES)
    part = Campus(1000, mistakes, areas=[int(machine[1:].split(".")[0]) for machine in sample])
    broken, cut = broken_claims(on_campus(part, sample), tmp_path)
    expected = {claim for claim in campus.broken if claim[2] in sample}
    assert len(expected) == 1 + 12 + 5 + 1 + 2
    assert without_folded(broken, cut) == expected
    assert {claim for claim in found if claim[2] in sample and claim[1] != "G0:L1"} == expected
