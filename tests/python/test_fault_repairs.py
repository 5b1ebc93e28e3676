"""Changes that outlive a fault, made by hand and checked again, by the reference where it can."""

import pytest
from circuit_data import FOLDER
from conftest import saw, two_channels
from engine_comparison import rows_of
from reference.faults import Fault, Faults
from reference.netlist import netlist
from repairs_applied import applied, unmended

import stopspan

SECOND_CONTACTOR = "add a contactor K1B like K1, its coil beside K1's and its contacts 13-14, 1-2, 3-4, 5-6 in series behind those of K1"


def repairs(circuit: stopspan.Circuit, **how: object) -> dict[str, str]:
    """Per fault."""
    found = circuit.check(rules=["single-fault"], **how).findings
    return {finding.text.split("'")[1]: finding.repair for finding in found}


def test_a_stop_that_cuts_nothing_anyway_stands_in_the_way_of_no_repair():
    # By hand: K1 holds past S2, which therefore stops nothing, with a second contactor or without. What a weld takes away is
    # ES1, and of two contactors in series the other opens.
    circuit = saw()
    circuit.connect("K1", "13", "b")
    (cuts,) = circuit.check(asked={("S2", "Saw"): "cut"}, rules=["stop-cuts"]).findings
    assert cuts.subjects == ["S2", "Saw"]
    verdict = circuit.check(asked={("S2", "Saw"): "cut", ("ES1", "Saw"): "cut"}, rules=["single-fault"])
    (weld,) = [finding for finding in verdict.findings if "'weld K1'" in finding.text]
    assert weld.repair == SECOND_CONTACTOR
    assert unmended(circuit, verdict) == []


def outlived(circuit: stopspan.Circuit, repair: str, fault: Fault) -> stopspan.Circuit:
    """The circuit with its repair; by the reference the fault takes nothing away and all that held before still does."""
    made = applied(circuit, repair)
    before, after = (Faults(netlist(rows_of(each))) for each in (circuit, made))
    assert before.lost(fault) and after.lost(fault) == {}
    # A stop that cuts the machine at last spares it no more; nobody asked it to.
    unhurt = {key for key, status in before.healthy.status.items() if status == "holds" and key[0] != "stop-spares"}
    assert all(after.healthy.status[key] == "holds" for key in unhurt if key in after.healthy.status)
    return made


COIL = {"coil_voltage_v": 230.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}
START = {"role": "start"}


def drill(*control: tuple[str, str, dict[str, str], dict[str, object]]) -> stopspan.Circuit:
    """A one-phase drill behind the pole of K1; its control is fed from a."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L", "2": "a"}, rating_a=6.0)
    for name, kind, ends, parameters in control:
        circuit.add(name, kind, ends | ({"1": "L", "2": "m"} if name == "K1" else {}), **parameters)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"}, machine="Drill")
    return circuit


ES1 = ("ES1", "emergency-stop", {"11": "a", "12": "b"}, {})
K1 = ("K1", "contactor", {"A1": "c", "A2": "N", "13": "b", "14": "c"}, COIL)


def held_pedal() -> stopspan.Circuit:
    return drill(ES1, ("S1", "pedal", {"13": "b", "14": "c"}, START), ("K1", "contactor", {"A1": "c", "A2": "N"}, COIL))


def started_through_feedback() -> stopspan.Circuit:
    """A reset key starts K1 only with K1 and K2 at rest: the coil is two contacts away."""
    both = {"A1": "e", "A2": "N"}
    return drill(
        ES1,
        ("S1", "key-switch", {"13": "b", "14": "c"}, {"role": "reset"}),
        ("K1", "contactor", both | {"13": "b", "14": "f", "21": "c", "22": "d"}, COIL),
        ("K2", "contactor", both | {"13": "f", "14": "e", "21": "d", "22": "e"}, COIL),
    )


def changeover_start() -> stopspan.Circuit:
    """S1's break contact stands in the line of a lamp."""
    return drill(
        ES1,
        ("S1", "push-button", {"13": "b", "14": "c", "21": "b", "22": "p"}, START),
        ("P1", "lamp", {"1": "p", "2": "N"}, {"voltage_v": 230.0, "current_a": 0.01}),
        K1,
    )


def two_starts_in_one() -> stopspan.Circuit:
    """Each of two blocks of S1 brings in a contactor of its own."""
    second = {"A1": "d", "A2": "N", "13": "b", "14": "d", "1": "L", "2": "n"}
    circuit = drill(
        ES1, ("S1", "push-button", {"13": "b", "14": "c", "23": "b", "24": "d"}, START), K1, ("K2", "contactor", second, COIL)
    )
    circuit.add("M2", "motor-1ph", {"L": "n", "N": "N"}, machine="Pump")
    return circuit


def started_past_its_stop() -> stopspan.Circuit:
    """S1 is wired from ahead of ES1: what it feeds ES1 does not open."""
    return drill(ES1, ("S1", "push-button", {"13": "a", "14": "c"}, START), K1)


def stopped_behind_its_start() -> stopspan.Circuit:
    """ES1 stands between the button and the coil."""
    return drill(
        ("S1", "push-button", {"13": "a", "14": "b"}, START),
        ("ES1", "emergency-stop", {"11": "b", "12": "c"}, {}),
        ("K1", "contactor", {"A1": "c", "A2": "N", "13": "a", "14": "b"}, COIL),
    )


HELD = "and beside that through its own contact 13-14"


@pytest.mark.parametrize(
    ("circuit", "by_hand"),
    [
        (held_pedal, f"fed from b through a break contact S1:21-22 {HELD}, and its contact 23-24 in series behind S1:14 (net c)"),
        (
            started_through_feedback,
            f"fed from b through a break contact S1:21-22 {HELD}, and its contact 23-24 in series behind S1:14 (net c)",
        ),
        (changeover_start, f"fed from b through a break contact S1:31-32 {HELD}, and its contact 23-24 in series behind S1:14 (net c)"),
        (
            two_starts_in_one,
            f"fed from b through a break contact S1:31-32 {HELD}, and its contact 23-24 in series behind S1:14 (net c), and its "
            "contact 33-34 in series behind S1:24 (net d)",
        ),
        # Always fed, the relay must fall by what the button brought in: else the jammed button holds K1.
        (
            started_past_its_stop,
            f"fed from a through a break contact S1:21-22 {HELD} in series with a break contact K1:21-22, and its contact 23-24 in "
            "series behind S1:14 (net c)",
        ),
        # Pressed with ES1 latched the button brings in nothing, so only ES1 itself can let the relay fall.
        (
            stopped_behind_its_start,
            f"fed from a through a break contact S1:21-22 {HELD} in series with a break contact ES1:21-22, and its contact 23-24 in "
            "series behind S1:14 (net b)",
        ),
    ],
)
def test_a_start_device_that_jams_gets_a_relay_that_waits_until_it_was_let_go(circuit, by_hand):
    # By hand: the relay is in while the device is let go, and stays in while it is used. With the device jammed the stop
    # lets the relay fall, and no break contact brings it in again.
    repair = repairs(circuit())["jam S1"]
    assert repair.startswith("add a relay K1A with a coil like K1's, ") and repair.endswith(by_hand)
    replay = outlived(circuit(), repair, Fault("jam", ("S1",))).replay()
    replay.act("hold S1")
    assert replay.state("Drill") == "runs"
    replay.act("latch ES1; unlatch ES1")
    assert replay.state("Drill") == "stopped"


def test_a_test_button_gets_no_start_relay():
    # It is there to start nothing, so there is no start to wait for.
    circuit = drill(ES1, ("S1", "push-button", {"13": "b", "14": "c"}, {"role": "test"}), K1)
    assert "relay" not in repairs(circuit)["jam S1"]


def in_line_starter() -> stopspan.Circuit:
    """S1 bridges the pole of K1, which holds itself by it; the trip of F2 stands in the line of the coil."""
    return drill(
        ("S1", "push-button", {"13": "a", "14": "t"}, START),
        ("F2", "overload", {"1": "t", "2": "m", "95": "t", "96": "f"}, {"reset": "manual", "setting_a": 4.0}),
        ("K", "contactor", {"A1": "f", "A2": "N", "1": "a", "2": "t"}, COIL),
    )


def test_a_second_overload_counts_whose_trip_cuts_from_every_state_the_machine_runs_in():
    # By hand: with S1 let go the drill runs past K's pole alone, and either trip opens its coil. That no structure shows,
    # as S1 held runs the drill with the trip open, which no overload is asked about.
    circuit = in_line_starter()
    assert repairs(circuit)["blind F2"] == "add an overload F2B like F2, its contacts 1-2, 95-96 in series behind those of F2"
    made = applied(circuit, repairs(circuit)["blind F2"])
    claims = Faults(netlist(rows_of(made)))
    assert [claims.healthy.status["overload-cuts", trip, "Drill"] for trip in ("F2", "F2B")] == ["holds", "holds"]
    assert "blind F2" not in repairs(made) and "blind F2B" not in repairs(made)
    made.connect("F2B", "96", "x")
    made.connect("F2B", "95", "x")
    made.connect("F2", "96", "f")
    assert "blind F2" in repairs(made)


@pytest.mark.parametrize(
    ("fault", "by_hand"),
    [
        # With K welded KB opens.
        ("weld K", "add a contactor KB like K, its coil beside K's and its contacts 1-2 in series behind those of K"),
        # With S1 jammed the trip lets K fall, and KA is out since K came in: as S1 is never let go it stays out.
        (
            "jam S1",
            "add a contactor KA with a coil like K's, fed from a through a break contact S1:21-22 and beside that through its own "
            "contact 13-14 in series with a break contact K:11-12, and its pole 1-2 in series behind S1:14 (net t)",
        ),
    ],
)
def test_a_repair_counts_whose_machine_runs_through_one_pole_more_than_past_its_start_button(fault, by_hand):
    # By hand: the button is the nearest way from a to t, and what stands in series makes the other way one contact longer.
    circuit = in_line_starter()
    assert repairs(circuit)[fault] == by_hand
    verb, what = fault.split()
    replay = outlived(circuit, by_hand, Fault(verb, (what,))).replay()
    replay.act("tap S1")
    assert replay.state("Drill") == "runs"
    replay.act("trip F2")
    assert replay.state("Drill") == "stopped"


def test_of_two_faults_one_may_be_left_out_where_an_exclusion_is_for_it():
    # By hand, ISO 13849-2 tables D.4, D.8: shorts and what a positively opening emergency stop does may be left out under
    # conditions, a contactor that welds may not.
    circuit = two_channels()
    asked = {("ES1", "Saw"): "cut"}
    verdict = circuit.check(asked=asked, rules=["hidden-fault"])
    found = {frozenset(f.text.split("'")[1::2]): f for f in verdict.findings}
    welds = found[frozenset({"weld K1", "weld K2"})]
    assert welds.repair == "" and "Usual in the trade, not proven for this circuit: to let the first fault show" in welds.text
    both = {pair: f for pair, f in found.items() if all(fault.startswith("bridge") for fault in pair)}
    assert both and all("shorts-in-enclosure" in f.repair for f in both.values())
    assert unmended(circuit, verdict) == []
    rest = circuit.check(asked=asked, rules=["hidden-fault"], fault_exclusions=["shorts-in-enclosure", "shorts-in-protected-cables"])
    (stop,) = [f for f in rest.findings if f.text.count("'detach ES1:") == 2]
    assert stop.repair == "meet the condition of the fault exclusion emergency-stop-mechanics and name it"
    assert [f.text.split("'")[1::2] for f in rest.findings if not f.repair] == [["weld K1", "weld K2"]]


def test_a_start_button_that_carries_the_motor_gets_a_contactor_with_a_pole_behind_it():
    # By hand: S1 bridges the pole of K, so what stands behind S1 carries what the drill draws. Fed from b the contactor is in
    # while S1 is let go, falls with ES1, and is brought in by no S1 that jams.
    circuit = drill(
        ES1, ("S1", "push-button", {"13": "b", "14": "m"}, START), ("K", "contactor", {"A1": "m", "A2": "N", "1": "b", "2": "m"}, COIL)
    )
    repair = repairs(circuit)["jam S1"]
    assert repair == (
        "add a contactor KA with a coil like K's, fed from b through a break contact S1:21-22 and beside that through its own contact "
        "13-14, and its pole 1-2 in series behind S1:14 (net m)"
    )
    replay = outlived(circuit, repair, Fault("jam", ("S1",))).replay()
    replay.act("tap S1")
    assert replay.state("Drill") == "runs"


def saw_stopped_in_its_return() -> stopspan.Circuit:
    """ES1 stands between the coil and the earthed neutral: a coil more would stand behind it, too."""
    circuit = saw()
    circuit.set_parameter("K1", "hold_va", 8.0)
    circuit.set_parameter("K1", "inrush_va", 70.0)
    circuit.connect("S2", "11", "a")
    circuit.connect("K1", "A2", "g")
    circuit.connect("ES1", "11", "g")
    circuit.connect("ES1", "12", "N")
    return circuit


def test_what_is_wrong_anyway_is_mended_first_where_it_stands_in_the_way():
    # By hand: a second contactor opens where K1 is welded; with its coil at K1's, ES1 would be in the return of both. Moved
    # ahead of K1's coil, ES1 stands ahead of both.
    circuit = saw_stopped_in_its_return()
    verdict = circuit.check()
    (side,) = [f for f in verdict.findings if f.rule == "earthed-side"]
    (weld,) = [f for f in verdict.findings if "'weld K1'" in f.text]
    assert side.repair and weld.repair == f"first {side.repair}; then {SECOND_CONTACTOR}"
    made = outlived(circuit, weld.repair, Fault("weld", ("K1",)))
    assert not [f for f in made.check().findings if f.rule == "earthed-side"]
    assert unmended(circuit, verdict) == []


def test_what_mends_something_else_may_be_all_that_a_fault_needs():
    # By hand: K1:23 stands on the rail behind F1, and K2 feeds the lamp at its other end from another supply. With the wire
    # at F1:2 off, that feeds K1 from the other supply; a lamp with a supply of its own does not.
    verdict = stopspan.load(FOLDER / "contact-joins-two-supplies.csv").check()
    (wire,) = [f for f in verdict.findings if "'break F1:2'" in f.text]
    assert wire.repair in {f.repair for f in verdict.findings if f.rule == "one-origin" and f.status == "fails"}


def slow_drill(earthed: bool) -> stopspan.Circuit:
    """Drill whose start waits for a timer, of which a second row could have no contact; its control has a supply of its own."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("T1", "transformer", {"p1": "L", "p2": "N", "s1": "s", "s2": "m"}, secondary_v=24.0, **({"earthed_pole": "s2"} if earthed else {}))
    coil = {"coil_voltage_v": 24.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}
    circuit.add("F1", "fuse", {"1": "s", "2": "a"}, rating_a=2.0)
    circuit.add("ES1", "emergency-stop", {"11": "a", "12": "b"})
    circuit.add("K2", "timer", {"A1": "a", "A2": "m", "17": "b", "18": "c"}, delay="on", delay_s=5.0, **coil)
    circuit.add("S1", "push-button", {"13": "c", "14": "d"}, role="start")
    circuit.add("K1", "contactor", {"A1": "d", "A2": "m", "13": "c", "14": "d", "1": "L", "2": "u"}, **coil)
    circuit.add("M1", "motor-1ph", {"L": "u", "N": "N"}, machine="Drill")
    return circuit


SHIELD = (
    "meet the conditions of the fault exclusions shorts-in-enclosure, shorts-in-protected-cables and name them, with a shield of "
    "its own joined to earth for a or b (tried: what touches it is earthed, and that takes nothing away)"
)


def test_a_shield_is_told_where_what_it_earths_takes_nothing_away():
    # By hand: one pole is earthed, so an earth fault of a or of b blows F1 and the drill stops.
    circuit = slow_drill(earthed=True)
    found = {f.text.split("'")[1]: f for f in circuit.check(rules=["single-fault"]).findings}
    assert found["bridge a b"].repair == SHIELD
    alone = Faults(netlist(rows_of(circuit)))
    assert alone.lost(Fault("bridge", ("a", "b"))) == {("stop", "ES1", "Drill"): "fails"}
    assert alone.lost(Fault("earth", ("a",))) == alone.lost(Fault("earth", ("b",))) == {}
    for both in ("earth a; earth b", "earth b; earth a"):
        replay = circuit.replay()
        replay.act(f"elapse K2; tap S1; {both}")
        assert (replay.state("Drill"), replay.state("F1")) == ("stopped", "blown")


def test_no_shield_is_told_where_two_earth_faults_join_what_it_keeps_apart():
    # By hand: no pole is earthed, and a and b touch by way of the shield.
    circuit = slow_drill(earthed=False)
    found = {f.text.split("'")[1]: f for f in circuit.check(rules=["single-fault"]).findings}
    assert found["bridge a b"].repair == SHIELD.split(", with a shield")[0]
    replay = circuit.replay()
    replay.act("elapse K2; tap S1; earth a; earth b; latch ES1")
    assert replay.state("Drill") == "runs"


ES1_AHEAD_OF_S0 = "move the contact ES1:11-12 to stand in series ahead of S0:11 (net b), and join e and f where it stood"


@pytest.mark.parametrize("end", ["KT:15", "KT:16", "KY:A1"])
def test_a_stop_that_leaves_the_line_in_is_moved_ahead_of_it_where_the_timer_would_start_what_a_wire_off_stopped(end):
    # By hand: ES1 let go brings the timer in again, and past the wire that is off it starts the motor in delta. Ahead of S0,
    # ES1 takes the line with it, and nothing but S1 brings the timer in.
    circuit = stopspan.load(FOLDER / "T05.csv").circuit()
    as_it_is = circuit.replay()
    as_it_is.act(f"tap S1; break {end}; latch ES1; unlatch ES1")
    assert as_it_is.state("M1") == "stopped"
    as_it_is.act("elapse KT")
    assert as_it_is.state("M1") == "runs"
    assert repairs(circuit)[f"break {end}"] == ES1_AHEAD_OF_S0
    made = applied(circuit, ES1_AHEAD_OF_S0)
    assert not {"break KT:15", "break KT:16", "break KY:A1"} & repairs(made, repairs=False).keys()
    replay = made.replay()
    replay.act("tap S1; elapse KT")
    assert (replay.state("KD"), replay.state("M1")) == ("on", "runs")
    replay.act(f"latch ES1; break {end}; unlatch ES1")
    assert [replay.state(each) for each in ("KM1", "KT", "M1")] == ["off", "off", "stopped"]


def test_what_mends_something_else_is_asked_for_where_only_faults_were_asked_about():
    # By hand: a lamp with a supply of its own; and where a capacitor across S0 keeps K1 in, it would keep a start relay in, too.
    circuit = stopspan.load(FOLDER / "contact-joins-two-supplies.csv").circuit()
    (joins,) = {f.repair for f in circuit.check(rules=["one-origin"]).findings if f.status == "fails"}
    assert joins and repairs(circuit)["break F1:2"] == joins
    circuit = stopspan.load(FOLDER / "T21.csv").circuit()
    (holds,) = {f.repair for f in circuit.check(rules=["stop-cuts"]).findings if f.status == "fails"}
    repair = repairs(circuit)["jam S1"]
    assert repair.startswith(f"first {holds}; then add a relay K1A with a coil like K1's, fed from d through a break contact S1:21-22 {HELD}")
    replay = outlived(circuit, repair, Fault("jam", ("S1",))).replay()
    replay.act("tap S1")
    assert replay.state("M1") == "runs"
    replay.act("hold S0; free S0")
    assert replay.state("M1") == "stopped"


def test_a_conductor_is_thick_enough_for_the_second_contactor_before_that_is_added():
    # By hand, T22: two coils of 6.17 + 5.44j ohm beside each other have 0.81 of their volts behind 1.225 ohm, and 0.90 behind
    # 0.6125 ohm; it takes 0.85. The start relay is in before K1 comes in, and 1.225 ohm will do.
    circuit = stopspan.load(FOLDER / "T22.csv").circuit()
    lower = "lower the resistance of RL from 4.9 to {} ohm, of conductors by thicker or shorter ones"
    verdict = circuit.check()
    told = {f.text.split("'")[1]: f.repair for f in verdict.findings if f.rule == "single-fault"}
    assert told["weld K1"] == f"first {lower.format(0.6125)}; then {SECOND_CONTACTOR}"
    assert told["jam S1"].startswith(f"first {lower.format(1.225)}; then add a relay K1A with a coil like K1's, ")
    assert unmended(circuit, verdict) == []
    replay = applied(circuit, told["weld K1"]).replay()
    replay.act("tap S1; weld K1")
    assert replay.state("M1") == "runs"
    replay.act("latch ES1")
    assert replay.state("M1") == "stopped"
