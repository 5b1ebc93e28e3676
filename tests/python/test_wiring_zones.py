"""Zones that overlap, nest and act through one another, with isolators of board, area and machine: every claim decided.

Four machines in two bays, one kind of starter beside plain direct ones, each pair of links. What must come out is what
was asked for: the wiring is right, so every claim holds and none may be left undecided. Of each kind of starter some
pairs of links are tried, in turn; all of them where STOPSPAN_EVERY_WIRING is set.
"""

import itertools
import os

import pytest
from conftest import left_open

import stopspan

SAME = ("same-supply", 230)
STARTERS = [
    ("one-phase-in-line", SAME),
    ("one-phase-one-pole", SAME),
    ("one-phase-two-pole", ("transformer", 110)),
    ("direct", SAME),
    ("direct", ("dc-supply", 24)),
    ("reversing", ("transformer", 24)),
    ("star-delta", SAME),
    ("star-delta", ("dc-supply", 24)),
    ("two-speed", ("transformer", 230)),
    ("drive", ("dc-supply", 24)),
]
# Each link meets a series chain, the one that joins rungs, and a chain a zone relay.
LINKS = [
    ("series-chain", "zone-relay"),
    ("zone-relay", "series-chain"),
    ("zone-contactor", "series-chain"),
    ("contact-blocks", "series-chain"),
    ("stop-relay", "series-chain"),
]
ZONES = ("overlapping", "site over isolated areas")
# Faults are searched for one by one where the structure does not prove what starts a machine: looked at in fewer cases.
FAULT_RULES = ("earth-fault", "single-fault", "hidden-fault")
EVERY = bool(os.environ.get("STOPSPAN_EVERY_WIRING"))


def cases(many):
    """So many pairs of links in turn for each kind of starter in each kind of zones, or all."""
    return [
        pytest.param(zones, starter, *control, *links, id=f"{zones.replace(' ', '-')}-{starter}-{control[0]}-{'-and-'.join(links)}")
        for place, (zones, (starter, control)) in enumerate(itertools.product(ZONES, STARTERS))
        for turn, links in enumerate(LINKS)
        if EVERY or (place + turn + 2) % len(LINKS) < many
    ]


def works(zones, starter, control, control_v, first, second) -> stopspan.Installation:
    shop = stopspan.Installation("Works")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1", isolator="Q100")
    site = {} if zones == "overlapping" else {"isolator": "Q90", "isolator_at_m": (1, 1)}
    shop.add_area("Site", outline_m=[(0, 0), (40, 0), (40, 20), (0, 20)], board="D1", **site)
    for bay, left_m in ((1, 1), (2, 21)):
        own = {"isolator": f"Q9{bay}", "isolator_at_m": (left_m + 1, 2)} if zones == "site over isolated areas" else {}
        corners = [(left_m, 1), (left_m + 18, 1), (left_m + 18, 19), (left_m, 19)]
        shop.add_area(f"Bay {bay}", outline_m=corners, within="Site", board="D1", **own)
    shop.add_load("E1", area="Site", at_m=(20, 10))
    for number, (bay, x_m) in enumerate([("Bay 1", 3), ("Bay 1", 8), ("Bay 2", 23), ("Bay 2", 28)], 1):
        tried = number in (1, 3)  # the others are plain
        volts = 230 if tried and starter.startswith("one-phase") else 400
        how = {"starter": starter, "control": control, "control_voltage_v": control_v} if tried else {}
        motors = [stopspan.Motor(f"M{number}", 0.37, volts)]
        shop.add_machine(f"Mill {number}", area=bay, at_m=(x_m, 3), motors=motors, isolator=f"Q{number}", **how)
    for name, area, x_m in [("ES1", "Bay 1", 2), ("ES2", "Bay 2", 22), ("ES3", "Site", 20), ("ES4", "Bay 1", 5)]:
        shop.add_stop(name, area=area, at_m=(x_m, 1.5))
    resets = {link: f"S90{number}" for number, link in enumerate((first, second), 1) if link in ("zone-relay", "zone-contactor", "stop-relay")}
    if zones == "overlapping":
        spans = [{"machines": ["Mill 1", "Mill 2", "Mill 3"]}, {"machines": ["Mill 3", "Mill 4"]}]
    else:
        spans = [{"areas": ["Bay 1"]}, {"areas": ["Bay 2"]}]
    shop.add_zone("Z1", link=first, devices=["ES1", "ES4"], reset=resets.get(first, ""), **spans[0])
    shop.add_zone("Z2", link=second, devices=["ES2"], reset=resets.get(second, ""), **spans[1])
    if zones != "overlapping":
        shop.add_zone("Z0", link=first, devices=["ES3"], zones=["Z1", "Z2"])
    return shop


@pytest.mark.parametrize(("zones", "starter", "control", "control_v", "first", "second"), cases(2))
def test_every_claim_is_decided_and_holds(zones, starter, control, control_v, first, second):
    rules = [rule.id for rule in stopspan.rules() if rule.id not in FAULT_RULES]
    verdict = works(zones, starter, control, control_v, first, second).check(rules=rules, repairs=False)
    bad = [(f.rule, f.status, f.subjects, f.text) for f in verdict.findings if f.status != "note"]
    assert not bad and verdict.ok
    cut = {(cell.stop, cell.machine) for cell in verdict.matrix if cell.asked == "cut" and cell.stop.startswith("ES")}
    first_span, second_span = ("123", "34") if zones == "overlapping" else ("12", "34")
    wanted = {(stop, f"Mill {m}") for stop, span in [("ES1", first_span), ("ES4", first_span), ("ES2", second_span)] for m in span}
    if zones != "overlapping":
        wanted |= {("ES3", f"Mill {m}") for m in "1234"}
    assert cut == wanted
    assert all(cell.found == "cuts" for cell in verdict.matrix if cell.asked == "cut")


# By hand: with a stop acted, or before a start, what runs a mill hangs on the neutral alone, and wherever its wire comes
# off the main isolator nothing drives a current through what hangs on one conductor: what comes from the other lines through
# a motor comes in by a contactor that joins its first line to its own pole. Many faults that each take a while.
FAULTS_DECIDED = [
    *(("overlapping", "one-phase-in-line", SAME, *links) for links in (LINKS if EVERY else LINKS[::2])),
    ("overlapping", "one-phase-one-pole", SAME, "zone-contactor", "series-chain"),
    ("overlapping", "star-delta", ("dc-supply", 24), "stop-relay", "series-chain"),
    *([("overlapping", "star-delta", SAME, "zone-contactor", "series-chain")] if EVERY else []),
    ("site over isolated areas", "one-phase-in-line", SAME, "stop-relay", "series-chain"),
    ("site over isolated areas", "star-delta", SAME, "series-chain", "zone-relay"),
]


@pytest.mark.parametrize(("zones", "starter", "control", "first", "second"), FAULTS_DECIDED)
def test_what_each_fault_does_is_decided(zones, starter, control, first, second):
    verdict = works(zones, starter, *control, first, second).check(rules=list(FAULT_RULES), repairs=False)
    assert not left_open(verdict, starts_of_two_faults=False)
    assert not any("'break Q100:8'" in f.text for f in verdict.findings)


# Motors feed back into the lines that all mills share, so each hangs on all others.
@pytest.mark.parametrize("control", [SAME, ("transformer", 230)], ids=lambda control: control[0])
@pytest.mark.parametrize("link", ["series-chain", "zone-contactor", "stop-relay"])
def test_what_each_fault_does_is_decided_of_two_kinds_of_starter_behind_one_link(link, control):
    shop = stopspan.Installation("Milling hall")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1", isolator="Q100")
    shop.add_area("Hall", outline_m=[(0, 0), (60, 0), (60, 20), (0, 20)], board="D1")
    for number, starter in enumerate(["direct", "star-delta"] * 3, 1):
        motors = [stopspan.Motor(f"M{number}", 4, 400)]
        how = {"starter": starter, "control": control[0], "control_voltage_v": control[1], "isolator": f"Q{number}"}
        shop.add_machine(f"Mill {number}", area="Hall", at_m=(3 * number, 3), motors=motors, **how)
    shop.add_stop("ES1", area="Hall", at_m=(10, 1.5))
    shop.add_zone("Z1", link=link, devices=["ES1"], reset="" if link == "series-chain" else "S900", areas=["Hall"])
    verdict = shop.check(rules=list(FAULT_RULES), repairs=False)
    assert not left_open(verdict, starts_of_two_faults=False)


@pytest.mark.parametrize("zones", ZONES)
@pytest.mark.parametrize(("starter", "control"), [case for case in STARTERS if case != ("star-delta", SAME)])
def test_no_earth_fault_takes_a_stop_away(zones, starter, control):
    shop = works(zones, starter, *control, "series-chain", "zone-relay")
    assert shop.check(rules=["earth-fault"], repairs=False).ok


@pytest.mark.parametrize(("zones", "starter", "control", "control_v", "first", "second"), cases(1))
def test_what_a_stop_spares_is_decided_for_every_machine(zones, starter, control, control_v, first, second):
    circuit = works(zones, starter, control, control_v, first, second).circuit()
    every = {(stop, machine): "keep" for stop in ("ES1", "ES2", "ES4") for machine in circuit.machines}
    findings = circuit.check(asked=every, rules=["stop-spares"], repairs=False).findings
    found = {(f.status, *f.subjects) for f in findings if f.status != "note"}
    first_span, second_span = ("123", "34") if zones == "overlapping" else ("12", "34")
    spans = [("ES1", first_span), ("ES4", first_span), ("ES2", second_span)]
    assert found == {("fails", stop, f"Mill {m}") for stop, span in spans for m in span}
