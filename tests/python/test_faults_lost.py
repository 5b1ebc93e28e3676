"""What single faults take away, on small circuits worked out by hand."""

import pytest
from conftest import saw, two_channels
from engine_comparison import circuit_of, rows_of
from reference.faults import Fault, Faults
from reference.netlist import netlist
from repairs_applied import applied, still_lost

import stopspan


def machine(circuit, coil):
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add(
        "K1", "contactor", {"A1": coil, "A2": "N", "1": "L1", "2": "m"},
        coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70,
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})


def told(circuit):
    return {f.text.split("'")[1]: f.text for f in circuit.check(rules=["single-fault"], repairs=False).findings}


def test_a_link_whose_wire_comes_off_parts_the_nets_it_joined():
    """The link bridges S1; once it is off, S1 let go starts what the selector has left on."""
    circuit = stopspan.Circuit()
    machine(circuit, "n2")
    circuit.add("W1", "link", {"1": "L1", "2": "n1"})
    circuit.add("S1", "push-button", {"11": "L1", "12": "n1"}, role="stop")
    circuit.add("S2", "selector", {"13": "n1", "14": "n2"}, machine="M1")
    assert "M1 starts with no start given" in told(circuit)["break W1:2"]


def test_a_stop_whose_blocks_come_off_is_lost_where_the_machine_only_perhaps_runs():
    """The coil in has 1984 + 6308j ohm. Past S2 (10 kiloohm) it keeps 0.49 of its volts and perhaps holds; past S1 (25
    kiloohm) 0.24, and again perhaps; past both 0.18, and drops: S1 stops what runs with no hand on S2."""
    circuit = stopspan.Circuit()
    machine(circuit, "n2")
    circuit.add("S1", "push-button", {"11": "L1", "12": "n1"}, role="stop")
    circuit.add("R1", "resistor", {"1": "L1", "2": "n1"}, resistance_ohm=25000)
    circuit.add("S2", "push-button", {"13": "n1", "14": "n2"}, role="start")
    circuit.add("R2", "resistor", {"1": "n1", "2": "n2"}, resistance_ohm=10000)
    asked = {str(f.rule): str(f.status) for f in circuit.check(rules=["stop-cuts", "stop-beats-start"]).findings}
    assert asked == {"stop-beats-start": "maybe"}
    assert "M1 may no longer be stopped by S1" in told(circuit)["detach S1"]


def test_a_stop_that_acts_on_nothing_is_none_to_lose():
    """S1 is in no circuit of M1, which runs only while S2 is held: stop-beats-start tells that, no fault."""
    circuit = stopspan.Circuit()
    machine(circuit, "n2")
    circuit.add("S1", "push-button", {"11": "L1", "12": "n1"}, role="stop")
    circuit.add("P1", "lamp", {"1": "n1", "2": "N"})
    circuit.add("S2", "push-button", {"13": "L1", "14": "n2"}, role="start")
    [beaten] = circuit.check(rules=["stop-cuts", "stop-beats-start"], repairs=False).findings
    assert (beaten.rule, beaten.status, beaten.subjects) == ("stop-beats-start", "fails", ["S1", "M1"])
    assert "no longer be stopped" not in told(circuit)["jam S2"]
    assert "no longer stopped" not in told(circuit)["jam S2"]


def held_to_run(coil_v, welded=()):
    """Two contactors in series that run the machine as long as S1 is held; a welded one is a link in the reference."""
    coil = {"coil_voltage_v": coil_v, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}
    power = {"K1": {"1": "L1", "2": "m"}, "K2": {"1": "m", "2": "n"}}
    return [
        ("G1", "mains-1ph", {"L": "L1", "N": "N"}, {}),
        ("F1", "fuse", {"1": "L1", "2": "c1"}, {"rating_a": 6.0}),
        ("ES1", "emergency-stop", {"11": "c1", "12": "c2"}, {}),
        ("S1", "push-button", {"13": "c2", "14": "c3"}, {"role": "start"}),
        *[(k, "link", ends, {}) if k in welded else (k, "contactor", {"A1": "c3", "A2": "N"} | ends, coil) for k, ends in power.items()],
        ("M1", "motor-1ph", {"L": "n", "N": "N"}, {"power_kw": 0.75}),
    ]


@pytest.mark.parametrize(("coil_v", "lost"), [(230.0, "fails"), (350.0, "maybe")], ids=["runs while held", "perhaps runs"])
def test_a_fault_hides_at_a_machine_that_runs_only_while_its_start_is_held(coil_v, lost):
    verdict = circuit_of(held_to_run(coil_v)).check(asked={("ES1", "M1"): "cut"}, rules=["hidden-fault"], repairs=False)
    [both] = verdict.findings
    assert {"K1", "K2", "ES1", "M1"} == set(both.subjects)
    assert ("may no longer" in both.text) == (lost == "maybe")
    for one, other in (("K1", "K2"), ("K2", "K1")):
        taken = Faults(netlist(held_to_run(coil_v, welded=[one]))).lost(Fault("weld", (other,)))
        assert taken["stop", "ES1", "M1"] == lost
    alone = Faults(netlist(held_to_run(coil_v)))
    assert [alone.lost(Fault("weld", (k,))) for k in ("K1", "K2")] == [{}, {}]


def test_a_start_relay_lets_a_start_that_jams_start_nothing_says_the_reference():
    circuit = saw()
    circuit.set_parameter("K1", "hold_va", 8.0)
    circuit.set_parameter("K1", "inrush_va", 70.0)
    verdict = circuit.check(rules=["single-fault"])
    [jam] = [f for f in verdict.findings if "'jam S1'" in f.text]
    assert jam.repair.startswith("add a relay K1A ")
    assert still_lost(circuit, jam, {("ES1", "Saw"): "cut"}) == []
    before, after = (Faults(netlist(rows_of(each))) for each in (circuit, applied(circuit, jam.repair)))
    assert before.lost(Fault("jam", ("S1",))) == {("start", "", "Saw"): "fails"}
    assert after.lost(Fault("jam", ("S1",))) == {}
    unhurt = {key for key, status in before.healthy.status.items() if status == "holds"}
    assert all(after.healthy.status[key] == "holds" for key in unhurt if key in after.healthy.status)


def test_a_fault_that_no_small_change_removes_says_what_is_usual():
    """An actuator takes all its blocks with it, so no block more mends ES1 in two rows; S1 gets a relay with two contacts."""
    found = {f.text.split("'")[1]: f for f in two_channels().check(rules=["single-fault"]).findings}
    assert "in series behind S1:14 (net d1), and its contact 33-34 in series behind S1:24 (net d2)" in found["jam S1"].repair
    assert all(f.repair or "No small change was found that removes this." in f.text for f in found.values() if "bridge" not in f.text)


def delayed(rest):
    """S1 starts M1 over K1, and 5 s later, by the timer KT beside K1, M2."""
    circuit = stopspan.Circuit()
    coil = {"coil_voltage_v": 230.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L1", "2": "a"}, rating_a=6)
    circuit.add("ES1", "emergency-stop", {"11": "a", "12": "b"})
    circuit.add("S1", "push-button", {"13": "b", "14": "c"}, role="start")
    circuit.add("K1", "contactor", {"A1": "c", "A2": "N", "13": "b", "14": "c", "1": "L1", "2": "m1"}, **coil)
    circuit.add("KT", "timer", {"A1": "c", "A2": "N"} | rest, delay="on", delay_s=5.0, **coil)
    circuit.add("K2", "contactor", {"A1": "d", "A2": "N", "1": "L1", "2": "m2"}, **coil)
    for number in (1, 2):
        circuit.add(f"M{number}", "motor-1ph", {"L": f"m{number}", "N": "N"})
    return circuit


def test_what_a_timer_starts_was_started_by_somebody_unless_a_fault_brings_the_timer_in():
    # By hand: with K1 welded its holding contact brings KT in as soon as ES1 is let go, and M2 runs 5 s later. A wire off
    # only keeps something from coming in: what KT starts then somebody started. A short from a to d runs M2 at once.
    circuit = delayed({"17": "c", "18": "d"})
    verdict = circuit.check(rules=["single-fault", "earth-fault"], repairs=False)
    assert not [f for f in verdict.findings if "ot decided" in f.text]
    of_m2 = {f.text.split("'")[1]: f for f in verdict.findings if f.rule == "single-fault" and "M2" in f.subjects and "start" in f.text}
    assert not [fault for fault in of_m2 if fault.startswith("break")]
    assert {"weld K1", "bridge a d", "bridge c d"} <= of_m2.keys()
    replay = circuit.replay()
    for act in ("tap S1", "weld K1", "latch ES1", "unlatch ES1"):
        replay.act(act)
    assert (replay.state("M2"), replay.state("KT")) == ("stopped", "on")
    replay.act("elapse KT")
    assert replay.state("M2") == "runs"


@pytest.mark.parametrize("fault", ["weld K1", "break KT:17", "break K1:13", "break S1:14", "bridge b c", "bridge c d", "jam S1"])
def test_with_a_timer_both_say_the_same_of_faults(fault):
    circuit = delayed({"17": "c", "18": "d"})
    verb, *what = fault.split()
    told_of = {f.text.split("'")[1]: f.text for f in circuit.check(rules=["single-fault"], repairs=False).findings}
    nets = {f"{d.designation}:{terminal}": net for d in circuit.devices for terminal, net in d.terminals.items()}
    taken = Faults(netlist(rows_of(circuit))).lost(Fault(verb, tuple(what), nets.get(what[0]) if verb == "break" else None))
    starts = {machine for rule, _, machine in taken if rule == "start"}
    text = told_of.get(fault, "")
    assert {m for part in text.split(";") for m in ("M1", "M2") if m in part and "start" in part and "given" in part} == starts


def test_conductors_that_touch_start_a_machine_whose_coil_hangs_on_a_neighbours_line():
    """The coil of K1 hangs on the line m2 of M2, for M1 to run with it. Nearer than its own stops and start is the pole of
    K2 to a source; a short past the stops starts M1, and M2, whose line it feeds, all the same."""
    circuit = stopspan.Circuit()
    coil = {"coil_voltage_v": 230, "coil_current": "AC", "hold_va": 8, "inrush_va": 70}
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("F2", "fuse", {"1": "L1", "2": "a"}, rating_a=2)
    circuit.add("S0", "push-button", {"11": "a", "12": "d"}, role="stop")
    circuit.add("S1", "push-button", {"13": "d", "14": "m2"}, role="start")
    circuit.add("K1", "contactor", {"A1": "m2", "A2": "N", "13": "d", "14": "m2", "1": "L1", "2": "m1"}, **coil)
    circuit.add("S2", "selector", {"13": "m2", "14": "f"}, machine="M2")
    circuit.add("K2", "contactor", {"A1": "f", "A2": "N", "1": "L1", "2": "m2"}, **coil)
    for k in (1, 2):
        circuit.add(f"M{k}", "motor-1ph", {"L": f"m{k}", "N": "N"})
    replay = circuit.replay()
    replay.act("bridge a m2")
    assert (replay.state("M1"), replay.state("M2")) == ("runs", "runs")
    assert "M1, M2 start with no start given" in told(circuit)["bridge a m2"]


def test_a_line_that_another_supply_feeds_is_not_off_when_its_own_is_lost():
    """G2 feeds L1 through F1, so M1 runs on when G1 is lost, and does not start when it comes back; no wire off changes that."""
    circuit = stopspan.Circuit()
    coil = {"coil_voltage_v": 230, "coil_current": "AC", "hold_va": 8, "inrush_va": 70}
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("G2", "mains-1ph", {"L": "a", "N": "N9"})
    circuit.add("F1", "fuse", {"1": "L1", "2": "a"}, rating_a=10)
    circuit.add("S0", "push-button", {"11": "a", "12": "d"}, role="stop")
    circuit.add("S1", "push-button", {"13": "d", "14": "e"}, role="start")
    circuit.add("K1", "contactor", {"A1": "e", "A2": "N", "13": "d", "14": "e", "1": "L1", "2": "m"}, **coil)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    replay = circuit.replay()
    for act in ("tap S1", "break S1:14", "lose G1"):
        replay.act(act)
    assert replay.state("M1") == "runs"
    assert "break S1:14" not in told(circuit)


def test_what_a_held_stop_keeps_ready_is_a_note_with_a_fault_too():
    """At rest the stop gives the tripping coil its volts. Held, with S1 pressed meanwhile, it lets K1 in; that comes back with
    the supply while S0 is still held, as it does without a fault."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("S1", "push-button", {"13": "L1", "14": "c"}, role="start")
    circuit.add("S0", "push-button", {"11": "L1", "12": "t"}, role="stop")
    circuit.add(
        "K1", "latched-contactor", {"C1": "c", "C2": "N", "E1": "t", "E2": "N", "1": "L1", "2": "m"},
        coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70,
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    assert [f for f in circuit.check(rules=["power-return"], repairs=False).findings if f.status != "note"] == []
    assert "break S1:14" not in told(circuit)


def test_conductors_that_touch_start_a_machine_whose_coil_stands_where_one_of_its_own_poles_ends():
    # By hand: K2's contact a-b stands in K1's coil circuit, which ends at e, and K1 holds itself by its second pole there.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L", "2": "a"}, rating_a=2)
    circuit.add("S1", "push-button", {"13": "a", "14": "c"}, role="start")
    circuit.add("K2", "relay", {"A1": "c", "A2": "N", "13": "a", "14": "b"}, coil_voltage_v=230)
    circuit.add("ES1", "emergency-stop", {"11": "b", "12": "e"})
    circuit.add("K1", "contactor", {"A1": "e", "A2": "N", "1": "L", "2": "m", "3": "L", "4": "e"}, coil_voltage_v=230)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    assert "M1 starts with no start given" in told(circuit)["bridge a b"]


def test_a_trip_that_never_stopped_the_motor_past_a_held_button_is_none_to_lose():
    # By hand: in line, with the trip contact bypassed, S1 feeds M1 whether F2 trips or not, and only while it is held.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("S1", "push-button", {"13": "L", "14": "t"}, role="start")
    circuit.add("F2", "overload", {"1": "t", "2": "m", "95": "t", "96": "t"})
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    assert "blind F2" not in told(circuit)


def test_a_fault_counts_in_a_way_that_is_longer_than_the_nearest_feed():
    # By hand: from a to t it is one pole past K and two contacts past S1 and K2, which is in for good. With S1 jammed the
    # motor runs past the trip of F2, and again as soon as G1 is back.
    circuit = stopspan.Circuit()
    coil = {"coil_voltage_v": 230.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L", "2": "a"}, rating_a=10.0)
    circuit.add("S1", "push-button", {"13": "a", "14": "s"}, role="start")
    circuit.add("K2", "contactor", {"A1": "a", "A2": "N", "1": "s", "2": "t"}, **coil)
    circuit.add("K1", "contactor", {"A1": "f", "A2": "N", "1": "a", "2": "t"}, **coil)
    circuit.add("F2", "overload", {"1": "t", "2": "m", "95": "t", "96": "f"}, reset="manual", setting_a=4.0)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    taken = Faults(netlist(rows_of(circuit))).lost(Fault("jam", ("S1",)))
    assert taken == {("start", "", "M1"): "fails", ("trip", "F2", "M1"): "fails"}
    (text,) = [f.text for f in circuit.check(rules=["single-fault"], repairs=False).findings if "'jam S1'" in f.text]
    assert "M1 is no longer stopped by the trip of F2, and starts with no start given" in text


def two_hands(jammed=()):
    """S1 and S2 in series run the machine while both are held; one that has jammed is a link in the reference."""
    return [
        ("G1", "mains-1ph", {"L": "L1", "N": "N"}, {}),
        ("ES1", "emergency-stop", {"11": "L1", "12": "c1"}, {}),
        *[
            (s, "link", {"1": a, "2": b}, {}) if s in jammed else (s, "push-button", {"13": a, "14": b}, {"role": "start"})
            for s, a, b in (("S1", "c1", "c2"), ("S2", "c2", "c3"))
        ],
        ("K1", "contactor", {"A1": "c3", "A2": "N", "1": "L1", "2": "m"}, {"coil_voltage_v": 230.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}),
        ("M1", "motor-1ph", {"L": "m", "N": "N"}, {"power_kw": 0.75}),
    ]


def test_a_start_that_jams_hides_behind_another_and_then_that_one_starts_the_machine():
    # By hand: with S1 jammed S2 runs the machine alone and stops it; with S2 jammed as well ES1 let go starts it.
    verdict = circuit_of(two_hands()).check(rules=["hidden-fault"], target="accumulated-faults", repairs=False)
    (both,) = [f for f in verdict.findings if f.text.count("'jam S") == 2]
    assert both.status == "fails" and both.text.startswith("The fault 'jam S1' shows nowhere; with 'jam S2' as well M1 starts with no start given.")
    for one, other in (("S1", "S2"), ("S2", "S1")):
        alone = Faults(netlist(two_hands())).lost(Fault("jam", (other,)))
        assert not any(status == "fails" for (what, *_), status in alone.items() if what == "stop")
        assert Faults(netlist(two_hands(jammed=[one]))).lost(Fault("jam", (other,)))["start", "", "M1"] == "fails"


def test_a_second_fault_that_would_show_by_itself_comes_after_the_hidden_one():
    # By hand: a short across ES1's first channel hides, as the second still opens. S1's first block off, K1 stays out and the
    # saw does not start: that shows at once, so the short that would bring K1 in later is no second fault.
    verdict = two_channels().check(rules=["hidden-fault"], repairs=False)
    told = [f.text for f in verdict.findings]
    assert any("'weld K1' shows nowhere; with 'bridge b2 d2' as well Saw starts" in text for text in told)
    assert not any("detach S1:13" in text for text in told)


def test_a_short_in_one_channel_of_a_stop_relay_shows_once_the_stop_was_used():
    # By hand: with S11-S12 shorted K1 falls out by its second channel, and does not come in again until both have opened.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("ES1", "emergency-stop", {"11": "s11", "12": "s12", "21": "s21", "22": "s22"})
    channels = {"S11": "s11", "S12": "s12", "S21": "s21", "S22": "s22", "S33": "r1", "S34": "r2"}
    circuit.add("K1", "stop-relay", {"A1": "L1", "A2": "N", "13": "L1", "14": "k", "23": "m", "24": "n"} | channels, channels=2, coil_voltage_v=230, coil_current="AC")
    circuit.add("S9", "push-button", {"13": "r1", "14": "r2"}, role="reset")
    circuit.add("K2", "contactor", {"A1": "k", "A2": "N", "1": "L1", "2": "m"}, coil_voltage_v=230, coil_current="AC")
    circuit.add("M1", "motor-1ph", {"L": "n", "N": "N"}, machine="Saw")
    replay = circuit.replay()
    replay.act("tap S9")
    assert replay.state("Saw") == "runs"
    replay.act("bridge s11 s12; latch ES1; unlatch ES1; tap S9")
    assert replay.state("Saw") == "stopped"
    told = [f.text for f in circuit.check(rules=["hidden-fault"], repairs=False).findings]
    assert any(text.startswith("The fault 'bridge s11 s12' shows only once ES1 was used; with 'bridge s21 s22' as well") for text in told)
