"""Zones linked by a stop relay: what the wiring does act by act, with faults too, and how it stands against a target."""

import random

import pytest
from reference.netlist import netlist
from reference.replay import Replay
from test_arrangements import shed

import stopspan


def test_every_claim_is_decided_and_holds_with_one_and_two_channels_and_both_resets():
    for channels in (1, 2):
        for automatic in (False, True):
            verdict = shed("stop-relay", channels=channels, automatic_reset=automatic).check(repairs=False)
            assert verdict.ok, verdict.report()


@pytest.mark.parametrize("link", ["zone-relay", "zone-contactor", "stop-relay"])
def test_with_an_automatic_reset_a_zone_is_ready_when_its_stops_are_released_and_nothing_starts(link):
    shop = shed(link, automatic_reset=True)
    circuit = shop.circuit()
    assert not [device for device in circuit.devices if device.parameters.get("role") == "reset"]
    replay = circuit.replay()
    replay.act("tap S1.2")
    assert replay.state("M1") == "runs"
    for act in ("latch ES1", "unlatch ES1", "lose G1", "restore G1"):
        replay.act(act)
        assert replay.state("M1") == "stopped"
    replay.act("tap S1.2")
    assert replay.state("M1") == "runs"
    assert shop.check(repairs=False).ok


def after(acts: str, **how) -> stopspan.Replay:
    replay = shed("stop-relay", reset="S9", **how).circuit().replay()
    for act in acts.split("; "):
        replay.act(act)
    return replay


RUNNING = "tap S9; tap S1.2"


@pytest.mark.parametrize("contactor", ["Q01.1", "Q01.2"])
def test_a_welded_contactor_does_not_keep_the_machine_and_keeps_the_reset_from_working(contactor):
    replay = after(f"{RUNNING}; weld {contactor}; latch ES1")
    assert replay.state("M1") == "stopped" and replay.state(contactor) == "on"
    replay = after(f"{RUNNING}; weld {contactor}; latch ES1; unlatch ES1; tap S9; tap S1.2")
    assert replay.state("K01.1") == "off" and replay.state("M1") == "stopped"


def test_a_short_across_one_channel_does_not_lose_the_stop_and_the_next_reset_shows_it():
    for short in ("bridge Z1.2 Z1.4", "bridge Z1.5 Z1.7"):
        assert after(f"{RUNNING}; {short}; latch ES2").state("M1") == "stopped"
        assert after(f"{RUNNING}; {short}; latch ES2; unlatch ES2; tap S9").state("K01.1") == "off"
    assert after(f"{RUNNING}; bridge Z1.2 Z1.4; latch ES2", channels=1).state("M1") == "runs"


def test_a_reset_held_or_jammed_does_not_bring_it_in():
    assert after("hold S9").state("K01.1") == "on"  # pressed with all closed
    assert after("latch ES1; hold S9; unlatch ES1").state("K01.1") == "off"
    assert after("latch ES1; hold S9; unlatch ES1; free S9; tap S9").state("K01.1") == "on"


def test_a_channel_that_is_declared_and_not_wired_never_closes_and_one_beyond_is_not_watched():
    circuit = shed("stop-relay", reset="S9").circuit()
    circuit.remove("ES2")
    circuit.add("ES2", "emergency-stop", {"11": "Z1.3", "12": "Z1.4"})
    for channels, state in ((2, "off"), (1, "on")):
        trial = stopspan.Circuit()
        for device in circuit.devices:
            terminals, parameters = dict(device.terminals), dict(device.parameters)
            if device.kind == "stop-relay":
                parameters["channels"] = channels
            trial.add(device.designation, device.kind, terminals, **parameters)
        replay = trial.replay()
        replay.act("tap S9")
        assert replay.state("K01.1") == state


def lost_stops(shop: stopspan.Installation, rule: str, **how) -> set:
    """First words of the faults that fail against the target by a lost emergency stop."""
    findings = shop.check(rules=[rule], repairs=False, **how).findings
    return {f.text.split("'")[1] for f in findings if f.status != "note" and {"ES1", "ES2"} & set(f.subjects)}


def test_two_channels_and_two_contactors_stand_against_single_faults_and_a_chain_does_not():
    # By hand: every row, contactor and short has its twin; what both rows share are the actuators, which may be left
    # out where they are to IEC 60947-5-5 with direct opening action.
    two = shed("stop-relay", target="single-fault")
    assert lost_stops(two, "single-fault") == {"jam ES1", "jam ES2"}
    assert not lost_stops(two, "single-fault", fault_exclusions=["emergency-stop-mechanics"])
    chain = lost_stops(shed("series-chain", target="single-fault"), "single-fault", fault_exclusions=["emergency-stop-mechanics"])
    assert {"weld Q1.1", "weld Q2.1", "bridge Z1.1 Z1.2"} <= chain


def test_forty_stops_in_two_channels_are_decided():
    # One of two machines runs and stops by each of forty devices: told apart that would be 2 to the 40 positions.
    shop = shed("stop-relay")
    shop.add_area("Yard", outline_m=[(20, 0), (70, 0), (70, 6), (20, 6)], board="D1")
    shop.add_machine("Saw", area="Yard", at_m=(30, 2), motors=[stopspan.Motor("M3", 1.5)])
    stops = [f"ES{number}" for number in range(10, 50)]
    for number, stop in enumerate(stops):
        shop.add_stop(stop, area="Yard", at_m=(21 + number, 3))
    shop.add_zone("Z2", link="stop-relay", devices=stops, machines=["Saw"])
    verdict = shop.check(rules=["stop-cuts", "stop-spares", "contact-race", "chatter", "own-start"], repairs=False)
    assert verdict.ok, verdict.report()
    assert {cell.found for cell in verdict.matrix if cell.stop in stops and cell.machine == "Saw"} == {"cuts"}


@pytest.mark.parametrize("automatic", [False, True])
@pytest.mark.parametrize("channels", [1, 2])
def test_the_independent_reference_replays_it_alike(channels, automatic):
    shop = shed("stop-relay", channels=channels, automatic_reset=automatic, **({} if automatic else {"reset": "S9"}))
    circuit = shop.circuit()
    # A device in one channel only, so that channels differ.
    circuit.add("B1", "guard-switch", {"11": "Z1.4", "12": "own"})
    relay = circuit["K01.1"]
    circuit.remove("K01.1")
    circuit.add("K01.1", "stop-relay", dict(relay.terminals) | {"S12": "own"}, **dict(relay.parameters))
    rows = [(d.designation, d.kind, dict(d.terminals), dict(d.parameters)) for d in circuit.devices]
    acts = ["latch ES1", "unlatch ES1", "latch ES2", "unlatch ES2", "turn B1 on", "turn B1 off", "tap S1.2", "tap S2.2",
            "tap S1.1", "lose G1", "restore G1", "blow F01.1", "replace F01.1", "trip F1.1", "reset F1.1"]
    acts += [] if automatic else ["tap S9", "hold S9", "free S9"] * 2
    faults = ["weld Q01.1", "weld Q1.1", "bridge Z1.2 Z1.3", "bridge Z1.2 own", "bridge Z1.8 Z1.9"]
    seen = ("K01.1", "Q01.1", "Q01.2", "Q1.1", "Q2.1", "M1", "M2")
    dice = random.Random(channels * 2 + automatic)
    for _ in range(25):
        engine, reference = circuit.replay(), Replay(netlist(rows))
        done = []
        fault_at = dice.randrange(24)
        for number in range(16):
            act = dice.choice(faults) if number == fault_at else dice.choice(acts)
            done.append(act)
            engine.act(act)
            reference.act(act)
            assert {n: engine.state(n) for n in seen} == {n: reference.state(n) for n in seen}, "; ".join(done)
