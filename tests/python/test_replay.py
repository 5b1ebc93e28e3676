import copy

import pytest

import stopspan


def test_a_tap_starts_and_an_emergency_stop_cuts(circuit):
    replay = circuit.replay()
    assert replay.state("M1") == replay.state("Saw") == "stopped"
    settled = replay.tap("S1")
    assert settled.running == ["Saw"]
    assert settled.armatures == ["K1"]
    assert set(settled.live) == {"L1", "L2", "L3", "a", "b", "c", "d", "u", "v", "w"}
    assert settled.maybe == []
    assert replay.state("K1") == "on"
    assert replay.mode("M1") in ("run", "forward")
    settled = replay.latch("ES1")
    assert settled.running == [] and settled.armatures == []
    assert replay.live("a") and not replay.live("b")
    replay.unlatch("ES1")
    assert replay.state("M1") == "stopped"


def test_an_old_state_does_not_change_with_later_acts(circuit):
    replay = circuit.replay()
    before = replay.tap("S1")
    replay.latch("ES1")
    assert before.running == ["Saw"]


def test_hold_and_free_are_two_acts(circuit):
    circuit.connect("K1", "14", "c")  # no holding contact left
    replay = circuit.replay()
    assert replay.hold("S1").running == ["Saw"]
    assert replay.free("S1").running == []


def test_one_lost_pole_and_a_lost_source(circuit):
    replay = circuit.replay()
    replay.tap("S1")
    replay.lose("G1", "L3")  # the control circuit hangs on L1
    assert replay.mode("M1") == "single-phasing"
    assert replay.state("M1") == "runs"
    replay.restore("G1", pole="L3")
    assert replay.mode("M1") in ("run", "forward")
    assert replay.lose("G1").running == []
    assert replay.restore("G1").running == []


def test_fuses_blow_and_are_replaced(circuit):
    replay = circuit.replay()
    replay.tap("S1")
    assert replay.state("F1") == "intact"
    assert replay.blow("F1").running == []
    assert replay.state("F1") == "blown"
    replay.replace("F1")
    assert replay.tap("S1").running == ["Saw"]


def shorted(*links):
    """L1 to a rail r through fuses of one rating, and links or fuses from there on to what is joined by S1."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("G2", "dc-supply", {"ac1": "L1", "ac2": "N", "P": "p", "M": "m"}, voltage_v=24, earthed_pole="M")
    for name, kind, a, b in links:
        circuit.add(name, kind, {"1": a, "2": b}, **({"rating_a": 2} if kind == "fuse" else {}))
    circuit.add("S1", "push-button", {"13": "s", "14": "m"}, role="start")
    replay = circuit.replay()
    replay.hold("S1")
    states = {name: replay.state(name) for name, kind, *_ in links if kind == "fuse"}
    return replay.state("G1"), {name for name, state in states.items() if state == "blown"}


def test_a_short_opens_the_fuses_in_its_path_and_no_others():
    """To the earthed pole of another supply; DESIGN 4.2: equal fuses in one short open together."""
    assert shorted(("F1", "fuse", "L1", "s")) == ("healthy", {"F1"})
    assert shorted(("F1", "fuse", "L1", "r"), ("F2", "fuse", "r", "s")) == ("healthy", {"F1", "F2"})
    # In a ring that the short passes by, bridged, or behind the short: no current.
    assert shorted(("F1", "fuse", "L1", "r"), ("F2", "fuse", "L1", "r"), ("F3", "fuse", "L1", "s")) == ("healthy", {"F3"})
    assert shorted(("F1", "fuse", "L1", "r"), ("W1", "link", "L1", "r"), ("F3", "fuse", "r", "s")) == ("healthy", {"F3"})
    assert shorted(("F1", "fuse", "L1", "s"), ("F2", "fuse", "s", "t")) == ("healthy", {"F1"})
    # The rail fed twice feeds the short by both.
    assert shorted(("F1", "fuse", "L1", "s"), ("F2", "fuse", "L1", "s")) == ("healthy", {"F1", "F2"})
    assert shorted(("F1", "fuse", "L1", "s"), ("W1", "link", "L1", "s")) == ("lost", set())


def test_faults_weld_bridge_and_fresh(circuit):
    replay = circuit.replay()
    replay.tap("S1")
    replay.weld("K1")
    assert replay.latch("ES1").running == ["Saw"]
    assert replay.fresh().running == []
    assert replay.state("ES1") != "latched"
    replay.bridge("c", "d")
    assert replay.state("M1") == "runs"


def test_acts_as_text_are_the_same_acts(circuit):
    by_text, by_method = circuit.replay(), circuit.replay()
    last = by_text.act("tap S1; latch ES1; unlatch ES1; tap S1")
    by_method.tap("S1")
    by_method.latch("ES1")
    by_method.unlatch("ES1")
    assert repr(by_method.tap("S1")) == repr(last) == "<running: Saw; in: K1>"


def test_every_word_of_the_vocabulary_has_a_method():
    words = """tap hold free latch unlatch turn lose restore open close trip cool reset blow replace elapse earth
    bridge break_ weld jam detach blind fresh""".split()
    assert [word for word in words if not callable(getattr(stopspan.Replay, word, None))] == []


def test_a_coil_inside_its_band_is_maybe():
    # 12 W DC coil, 24 V, behind 20 ohm: coil 24^2/12 = 48 ohm, ratio 48/68 = 0.706, between 0.60 and 0.85.
    circuit = stopspan.Circuit()
    circuit.add("G1", "dc-supply", {"P": "P", "M": "M"}, voltage_v=24)
    circuit.add("S1", "selector", {"13": "P", "14": "a"})
    circuit.add("R1", "resistor", {"1": "a", "2": "b"}, resistance_ohm=20)
    circuit.add("K1", "relay", {"A1": "b", "A2": "M"}, coil_voltage_v=24, coil_current="DC", hold_w=12)
    replay = circuit.replay()
    settled = replay.turn("S1", "on")
    assert settled.maybe == ["K1"]
    assert replay.state("K1") == "maybe"
    assert replay.coil_ratio("K1") == pytest.approx(48 / 68)
    assert replay.turn("S1").maybe == []  # off again: certainly dropped


def test_a_replay_knows_nothing_of_later_changes_and_copies_part_ways(circuit):
    replay = circuit.replay()
    circuit.remove("S1")
    twin = copy.copy(replay)
    assert replay.tap("S1").running == ["Saw"]
    assert twin.state("M1") == "stopped"


def test_a_floating_supply_that_a_load_ties_to_the_mains_is_live():
    # No current can flow back, so both its poles stand at the mains' 230 V to earth (by hand).
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("G5", "dc-supply", {"P": "P", "M": "M", "ac1": "L1", "ac2": "N"}, voltage_v=24)
    assert not circuit.replay().live("P") and not circuit.replay().live("M")
    circuit.add("R1", "resistor", {"1": "L1", "2": "M"}, resistance_ohm=500)
    assert circuit.replay().live("P") and circuit.replay().live("M")


def test_one_block_that_comes_off_leaves_the_others_to_open(circuit):
    circuit.connect("S1", "13", "x")
    circuit.add("ES2", "emergency-stop", {"11": "c", "12": "y", "21": "y", "22": "x"})
    circuit.connect("K1", "13", "x")
    replay = circuit.replay()
    replay.tap("S1")
    replay.detach("ES2", "11")
    assert replay.state("Saw") == "runs" and replay.latch("ES2").running == []
    replay.act("unlatch ES2; tap S1; detach ES2:21")
    assert replay.latch("ES2").running == ["Saw"]
    with pytest.raises(stopspan.ModelError, match="ES2 has no contact that begins at '12'"):
        replay.detach("ES2", "12")


def test_a_contactor_between_two_others_that_its_levers_lock_stays_out_while_one_of_them_is_in():
    """DESIGN 4.3: a pair with a mechanical interlock is never in together; K1 is one of two pairs."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    for k, partner in ((1, {}), (2, {"interlocked_with": "K1"}), (3, {"interlocked_with": "K1"})):
        circuit.add(f"S{k}", "selector", {"13": "L", "14": f"a{k}"}, role="select")
        circuit.add(f"K{k}", "contactor", {"A1": f"a{k}", "A2": "N", "1": "L", "2": f"m{k}"}, coil_voltage_v=230, **partner)
    for other in "23":
        replay = circuit.replay()
        replay.act(f"turn S{other}; turn S1")
        assert (replay.state(f"K{other}"), replay.state("K1")) == ("on", "off")
        replay.act(f"turn S{other}")
        assert (replay.state(f"K{other}"), replay.state("K1")) == ("off", "on")
        replay.act("turn S2; turn S3")
        assert (replay.state("K2"), replay.state("K3")) == ("off", "off")
