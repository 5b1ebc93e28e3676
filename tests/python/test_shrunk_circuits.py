"""The engine against the reference on circuits that hypothesis draws, shrunk to a smallest disagreement.

STOPSPAN_SHRUNK_CIRCUITS sets how many (300 when unset: then they are the same at every run, else new ones).
"""

import os

from circuit_strategies import circuits
from engine_comparison import differences, replay_difference
from hypothesis import HealthCheck, event, given, note, settings
from hypothesis import strategies as st
from reference.claims import Claims
from reference.explore import TooLarge
from reference.netlist import netlist

WANTED = os.environ.get("STOPSPAN_SHRUNK_CIRCUITS")
MOST_STATES = 400  # of one circuit; larger ones are left out to keep the run short
thorough = settings(
    max_examples=int(WANTED or 300), derandomize=WANTED is None, deadline=None, database=None,
    suppress_health_check=list(HealthCheck),
)


def told(rows):
    """The rows as they would be typed, so that a disagreement can be copied into a test."""
    return "".join(f"    {row!r},\n" for row in rows)


@thorough
@given(rows=circuits())
def test_both_decide_every_claim_alike(rows):
    note(f"the circuit:\n{told(rows)}")
    try:
        claims = Claims(netlist(rows), MOST_STATES)
    except TooLarge:
        event("too large")
        return
    event("restless" if claims.restless else "searched whole")
    assert differences(rows, claims) == {}


@thorough
@given(rows=circuits(), rng=st.randoms(use_true_random=False))
def test_random_acts_lead_both_to_the_same_states(rows, rng):
    note(f"the circuit:\n{told(rows)}")
    assert replay_difference(rows, rng, acts=12) is None
