"""What acts on a machine or load not by a contact in its feed but through another load, or by shorting a source.

The volts are worked out by hand beside each circuit.
"""

import stopspan


def mains():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    return circuit


def told(circuit, rule, **asked):
    return [f for f in circuit.check(rules=[rule], repairs=False, **asked).findings if f.status != "note"]


def with_rail_behind_resistor(circuit):
    """A stop that opens the feed of a rail and ties it to N; the feed comes through a resistor: four contacts on n2."""
    circuit.add("R1", "resistor", {"1": "n0", "2": "n1"}, resistance_ohm=100)
    circuit.add("S1", "push-button", {"11": "n1", "12": "n2", "23": "n2", "24": "N"}, role="stop")
    return circuit


def test_an_isolator_that_feeds_a_coil_through_a_resistor_stops_a_machine_that_is_not_behind_it():
    circuit = mains()
    circuit.add("Q1", "isolator", {"1": "L1", "2": "n0"})
    with_rail_behind_resistor(circuit)
    circuit.add("S2", "push-button", {"13": "n2", "14": "n3"}, role="start")
    # 230^2/70 = 756 ohm at power factor 0.75 and 100 ohm ahead: 0.91 of 230 V, it pulls in
    circuit.add(
        "K1", "contactor", {"A1": "n3", "A2": "N", "13": "n2", "14": "n3", "1": "L1", "2": "m"},
        coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70,
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    replay = circuit.replay()
    assert (replay.act("tap S2"), replay.state("M1"))[1] == "runs"
    assert (replay.act("open Q1"), replay.state("M1"))[1] == "stopped"
    [finding] = told(circuit, "isolator-clears")
    assert (finding.status, finding.subjects) == ("fails", ["Q1", "M1"])
    assert finding.witness.acts[-1] == "open Q1"


def test_a_stop_cuts_a_kept_load_whose_rail_is_fed_through_a_resistor():
    circuit = mains()
    circuit.add("F1", "fuse", {"1": "L1", "2": "n0"})
    with_rail_behind_resistor(circuit)
    circuit.add("S3", "selector", {"13": "n2", "14": "n3"})
    circuit.add("S4", "push-button", {"13": "n2", "14": "n4"})
    circuit.add("P1", "lamp", {"1": "n4", "2": "N"})
    # 230 V / 0.02 A = 11.5 kiloohm and 100 ohm ahead: 0.99 of 230 V, on; tied to N: off
    circuit.add("E1", "load", {"1": "n3", "2": "N"}, current_a=0.02, kept=True)
    [finding] = told(circuit, "stop-spares")
    assert (finding.status, finding.subjects) == ("fails", ["S1", "E1"])


def test_what_a_stop_leaves_through_a_leak_is_no_keeping():
    """A stop bridged by a leak leaves 230 V * 230 / (230 + 11500) = 4.5 V on the load: off, though not dead."""
    circuit = mains()
    circuit.add("S1", "push-button", {"11": "L1", "12": "n1"}, role="stop")
    circuit.add("R1", "resistor", {"1": "L1", "2": "n1"}, resistance_ohm=11500)
    circuit.add("S2", "push-button", {"13": "n1", "14": "n2"}, role="start")
    # 299 V on 230 V: in its band, it may hold or drop by itself, and the load with it
    circuit.add(
        "K1", "contactor", {"A1": "n2", "A2": "N", "13": "n1", "14": "n2", "1": "L1", "2": "m"},
        coil_voltage_v=299, coil_current="AC", hold_va=8, inrush_va=70,
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    circuit.add("E1", "load", {"1": "n2", "2": "N"}, current_a=1, kept=True)
    [finding] = [f for f in told(circuit, "stop-spares") if "E1" in f.subjects]
    assert (finding.status, finding.subjects) == ("fails", ["S1", "E1"])


def test_a_timer_that_is_always_fed_shorts_its_source_once_it_has_run_out():
    circuit = mains()
    circuit.add("K1", "timer", {"A1": "L1", "A2": "N", "17": "L1", "18": "N"}, coil_voltage_v=230, coil_current="AC", delay="on", delay_s=5)
    circuit.add("S1", "selector", {"13": "L1", "14": "m"})
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    for lamp in range(14):  # a large circuit is cut into parts
        circuit.add(f"S{lamp + 10}", "selector", {"13": "L1", "14": f"p{lamp}"})
        circuit.add(f"P{lamp}", "lamp", {"1": f"p{lamp}", "2": "N"})
    [short] = told(circuit, "interlock-holds")
    assert (short.status, short.subjects, short.witness.acts) == ("fails", ["K1"], ["elapse K1"])


def test_no_contactor_is_blamed_for_a_short_that_stands_without_it():
    circuit = mains()
    circuit.add("F1", "fuse", {"1": "L1", "2": "n1"}, rating_a=2)
    circuit.add("S1", "push-button", {"11": "n1", "12": "N"}, role="stop")  # shorts the fuse's load side at rest
    circuit.add("S2", "push-button", {"13": "n1", "14": "n2"}, role="start")
    circuit.add(
        "K1", "contactor", {"A1": "n2", "A2": "N", "13": "n1", "14": "n2", "1": "n1", "2": "m"},
        coil_voltage_v=230, coil_current="AC",
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    [finding] = told(circuit, "interlock-holds")
    assert (finding.status, finding.subjects) == ("fails", ["M1"])
    assert finding.witness.acts == []


def test_a_contact_between_the_poles_of_a_supply_counts_where_its_armature_does():
    """62.4 V on 48 V is 0.77, K1 may pull in; then it shorts 60 W / 48 V = 1.25 A, collapses and drops it again."""
    circuit = mains()
    circuit.add("G5", "dc-supply", {"P": "P", "M": "M", "ac1": "L1", "ac2": "N"}, voltage_v=48, power_w=60)
    circuit.add("S1", "selector", {"13": "P", "14": "n1"})
    circuit.add(
        "K1", "contactor", {"A1": "n1", "A2": "M", "13": "P", "14": "M", "1": "L1", "2": "m"},
        coil_voltage_v=62.4, coil_current="DC", hold_w=2,
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    replay = circuit.replay()
    replay.act("turn S1 on")
    assert replay.state("M1") == "stopped"
    assert told(circuit, "power-return") == []
    [finding] = told(circuit, "interlock-holds")
    assert (finding.status, finding.subjects) == ("fails", ["M1"])


def test_what_a_lost_line_perhaps_leaves_in_is_perhaps_started_by_its_return():
    """Two coils on two lines with an emergency stop in their common neutral: latched, they stand in series.

    On 400 V each has 0.87 of its volts and stays in. With a line lost they share 230 V: half, in the band in which a
    coil stays or drops. The machine on the lost line stands; it runs when the line is back if its contactor stayed.
    """
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    for number, line in (("1", "L1"), ("2", "L2")):
        a, b, c, m = (letter + number for letter in "abcm")
        circuit.add(f"F{number}2", "fuse", {"1": line, "2": a}, rating_a=2)
        circuit.add(f"S{number}0", "push-button", {"11": a, "12": b}, role="stop")
        circuit.add(f"S{number}1", "push-button", {"13": b, "14": c}, role="start")
        circuit.add(
            f"K{number}", "contactor", {"A1": c, "A2": "g", "13": b, "14": c, "1": line, "2": m},
            coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70,
        )
        circuit.add(f"M{number}", "motor-1ph", {"L": m, "N": "N"})
    circuit.add("ES1", "emergency-stop", {"11": "g", "12": "N"})
    found = told(circuit, "power-return")
    assert [(f.status, f.subjects) for f in found] == [("maybe", ["G1:L1", "M1"]), ("maybe", ["G1:L2", "M2"])]
    replay = circuit.replay()
    replay.act("; ".join(found[0].witness.acts))
    assert replay.state("M1") == "maybe"


def held_through_a_leak(circuit, rail, coil):
    """A self-holding contactor on a rail; while it is in its coil has 230^2/8 = 6612 ohm at power factor 0.3."""
    circuit.add(f"S{coil}1", "push-button", {"13": rail, "14": f"c{coil}"}, role="start")
    circuit.add(
        f"K{coil}", "contactor", {"A1": f"c{coil}", "A2": "N", "13": rail, "14": f"c{coil}", "1": "L1", "2": f"m{coil}"},
        coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70,
    )
    circuit.add(f"M{coil}", "motor-1ph", {"L": f"m{coil}", "N": "N"})


def test_a_coil_keeps_what_leaks_into_its_rail_through_a_neighbours_contact():
    circuit = mains()
    circuit.add("S1", "push-button", {"11": "L1", "12": "n1"}, role="stop")
    held_through_a_leak(circuit, "n1", 1)
    held_through_a_leak(circuit, "n1", 2)
    circuit.add("S3", "selector", {"11": "n1", "12": "n5"})
    # 1984 + 10000 ohm and 6308 ohm across are 13543 ohm: 0.49 of 230 V are left while S1 is open
    circuit.add("R1", "resistor", {"1": "L1", "2": "n5"}, resistance_ohm=10000)
    found = {f.subjects[0]: (str(f.status), f.text) for f in told(circuit, "coil-volts")}
    left = "keeps 49 % of its rated voltage when its circuit is open: it need not drop out."
    assert found == {name: ("fails", f"The coil of {name} {left}") for name in ("K1", "K2")}


def test_a_closing_coil_that_stands_straight_on_its_transformer_is_judged_as_the_tripping_coil_behind_a_button_is():
    circuit = mains()
    circuit.add("T1", "transformer", {"p1": "L1", "p2": "N", "s1": "a", "s2": "b"}, secondary_v=24)
    circuit.add("S1", "push-button", {"13": "a", "14": "c"}, role="stop")
    # 24 V on coils for 30 V: 80 %
    circuit.add("K1", "latched-contactor", {"C1": "a", "C2": "b", "E1": "c", "E2": "b", "1": "L1", "2": "m"}, coil_voltage_v=30, coil_current="AC")
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    for second in range(12):  # a large circuit is cut into parts
        circuit.add(f"P{second}", "lamp", {"1": "L1", "2": f"p{second}"})
        circuit.add(f"S{second + 10}", "selector", {"13": f"p{second}", "14": "N"})
    little = "The coil of K1 gets 80 % of its rated voltage to pull in; below 85 % it need not, and chatters."
    assert [(f.status, f.text) for f in told(circuit, "coil-volts")] == 2 * [("fails", little)]


def test_a_wire_that_comes_off_is_found_though_it_feeds_a_rail_through_a_resistor():
    """Without R1 the rail n1 is fed only where S1, pressed, takes it from L1: then pressing the stop starts the machine."""
    circuit = mains()
    circuit.add("R1", "resistor", {"1": "L1", "2": "n0"}, resistance_ohm=10)
    circuit.add("S1", "push-button", {"11": "n0", "12": "n1", "23": "n1", "24": "L1"}, role="stop")
    circuit.add("S2", "selector", {"13": "n1", "14": "n2"}, machine="M1")
    circuit.add("S3", "push-button", {"13": "n1", "14": "n3"})
    circuit.add("P1", "lamp", {"1": "n3", "2": "N"})
    circuit.add(
        "K1", "contactor", {"A1": "n2", "A2": "N", "1": "L1", "2": "m"},
        coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70,
    )
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    found = {f.text.split("'")[1]: f.text for f in circuit.check(rules=["single-fault"], repairs=False).findings}
    assert "M1 starts with no start given" in found["break R1:2"]


def test_a_stop_let_go_starts_what_a_leak_across_it_does_not_in_a_circuit_too_large_to_be_tried_whole():
    circuit = mains()
    circuit.add("S1", "push-button", {"11": "L1", "12": "n1"}, role="stop")
    # Out, the 299 V coil has 299^2/40 = 2235 ohm at power factor 0.75: behind 1985 ohm 0.44 of 299 V, never in; behind
    # S1 0.77, perhaps in; once in, 11175 ohm at 0.3 keep 0.72 of it behind the leak and perhaps hold.
    circuit.add("R1", "resistor", {"1": "L1", "2": "n1"}, resistance_ohm=1985)
    circuit.add(
        "K1", "contactor", {"A1": "n2", "A2": "N", "1": "L1", "2": "m"},
        coil_voltage_v=299, coil_current="AC", hold_va=8, inrush_va=40,
    )
    circuit.add("W1", "link", {"1": "n1", "2": "n2"})
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    for k in range(1, 15):  # lamps of a tenth of a milliampere
        circuit.add(f"F{k}", "fuse", {"1": "n1", "2": f"p{k}"}, rating_a=2)
        circuit.add(f"P{k}", "lamp", {"1": f"p{k}", "2": "N"}, current_a=0.0001)
    [finding] = told(circuit, "release-return")
    assert (finding.status, finding.subjects) == ("maybe", ["S1", "M1"])


COIL = {"coil_voltage_v": 230, "coil_current": "AC", "hold_va": 8, "inrush_va": 70}


def two_isolators(first, second):
    """Two three-phase starters, each control behind Q2, whose isolators share the lines of both motors."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    for name, lines in (("Q1", first), ("Q2", second)):
        poles = {"1": "L1", "3": "L2", "5": "L3"} | dict(zip("246", lines, strict=True))
        circuit.add(name, "isolator", poles)
    for k, load in ((1, "u"), (2, "v")):
        circuit.add(f"S{k}0", "push-button", {"11": "v1", "12": f"c{k}"}, role="stop")
        circuit.add(f"S{k}1", "push-button", {"13": f"c{k}", "14": f"d{k}"}, role="start")
        motor = {"1": f"{load}1", "2": f"m{k}1", "3": f"{load}2", "4": f"m{k}2", "5": f"{load}3", "6": f"m{k}3"}
        circuit.add(f"K{k}", "contactor", {"A1": f"d{k}", "A2": "N", "13": f"c{k}", "14": f"d{k}"} | motor, **COIL)
        circuit.add(f"M{k}", "motor-3ph", dict(zip("UVW", (f"m{k}1", f"m{k}2", f"m{k}3"), strict=True)))
    return circuit


def test_a_stop_takes_away_what_a_motor_fed_to_a_neighbours_control():
    """With Q2 open M2 gives the line v1, which both controls live from, L2 through its windings: 0.99 of 230 V. S20 lets K2
    drop, and K1 with it."""
    circuit = two_isolators(("u1", "v2", "u3"), ("v1", "u2", "v3"))
    replay = circuit.replay()
    for act in ("tap S11", "tap S21", "open Q2"):
        replay.act(act)
    assert (replay.state("K1"), replay.state("K2"), replay.state("M1")) == ("on", "on", "runs")
    assert (replay.act("hold S20"), replay.state("K1"))[1] == "off"
    verdict = circuit.check(asked={("S20", "M1"): "keep"}, rules=["stop-spares"], repairs=False)
    [finding] = verdict.findings
    assert (finding.status, finding.subjects) == ("fails", ["S20", "M1"])
    assert {(c.stop, c.machine): str(c.found) for c in verdict.matrix}["S20", "M1"] == "maybe"
    apart = two_isolators(("u1", "u2", "u3"), ("v1", "v2", "v3")).check(asked={("S20", "M1"): "keep"}, rules=["stop-spares"])
    assert apart.findings == [] and apart.counts == {"stop-spares": {"holds": 1}}


def test_a_motor_line_on_the_control_side_of_the_stop_leaves_the_coil_half_its_volts():
    """The first pole of K1 hangs behind S0. With S0 pressed the windings lead the middle of L2 and L3 there, half of 230 V: a
    motor of 1 kW (assumed) has 102 ohm a winding, 154 in all beside 6612 ohm of the coil that is in, so 0.49 are left."""
    for first_pole, left in (("c", ["The coil of K1 keeps 49 % of its rated voltage when its circuit is open: it need not drop out."]),
                             ("L1", [])):
        circuit = stopspan.Circuit()
        circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
        circuit.add("S0", "push-button", {"11": "L1", "12": "c"}, role="stop")
        circuit.add("S1", "push-button", {"13": "c", "14": "d"}, role="start")
        poles = {"1": first_pole, "2": "m1", "3": "L2", "4": "m2", "5": "L3", "6": "m3"}
        circuit.add("K1", "contactor", {"A1": "d", "A2": "N", "13": "c", "14": "d"} | poles, **COIL)
        circuit.add("M1", "motor-3ph", {"U": "m1", "V": "m2", "W": "m3"})
        assert [f.text for f in told(circuit, "coil-volts")] == left


def test_a_start_in_one_rung_brings_in_the_coil_of_another_over_a_common_return_that_is_open():
    """Both coils return over ES1. With it open and S11 held they stand in series between L2 and L1: 200 V each, 0.87, or
    less once one of them is in. S21 bridges the holding contact of K2, so S11 is not M2's start."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    circuit.add("S11", "push-button", {"13": "L2", "14": "d1"}, role="start")
    circuit.add("K1", "contactor", {"A1": "d1", "A2": "g", "13": "L2", "14": "d1", "1": "L1", "2": "m1"}, **COIL)
    circuit.add("F2", "fuse", {"1": "L1", "2": "a2"}, rating_a=2)
    circuit.add("S20", "push-button", {"11": "a2", "12": "b2"}, role="stop")
    circuit.add("S21", "push-button", {"13": "b2", "14": "a2"}, role="start")
    circuit.add("K2", "contactor", {"A1": "a2", "A2": "g", "13": "b2", "14": "a2", "1": "L2", "2": "m2"}, **COIL)
    circuit.add("ES1", "emergency-stop", {"11": "g", "12": "N"})
    for k in (1, 2):
        circuit.add(f"M{k}", "motor-1ph", {"L": f"m{k}", "N": "N"})
    replay = circuit.replay()
    replay.act("latch ES1")
    assert replay.state("M2") == "stopped"
    assert (replay.act("hold S11"), replay.state("M2"))[1] == "maybe"
    [finding] = told(circuit, "own-start")
    assert (finding.status, finding.subjects) == ("maybe", ["S11", "M2"])


def test_where_a_motor_feeds_a_whole_hall_back_coils_are_told_as_not_decided():
    """One line of one motor stands ahead of the hall's isolator: with that open its windings feed the hall. Sixty starters
    hang together there."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    circuit.add("Q0", "isolator", {"1": "L1", "2": "u1", "3": "L2", "4": "u2", "5": "L3", "6": "u3"})
    for k in range(60):
        circuit.add(f"S{k}0", "push-button", {"11": "u1", "12": f"c{k}"}, role="stop")
        circuit.add(f"S{k}1", "push-button", {"13": f"c{k}", "14": f"d{k}"}, role="start")
        lines = {"1": "u1", "2": f"a{k}", "3": "u2" if k else "L2", "4": f"b{k}", "5": "u3", "6": f"e{k}"}
        circuit.add(f"K{k}", "contactor", {"A1": f"d{k}", "A2": "N", "13": f"c{k}", "14": f"d{k}"} | lines, **COIL)
        circuit.add(f"M{k}", "motor-3ph", {"U": f"a{k}", "V": f"b{k}", "W": f"e{k}"})
    found = told(circuit, "coil-volts")
    assert [str(f.status) for f in found] == 60 * ["undecided"]
    assert "hangs together with 182 things with positions" in found[0].text  # 60 starters of three, Q0 and G1


def test_a_coil_on_the_line_behind_a_neighbours_contactor_has_the_full_volts_of_the_line():
    circuit = two_isolators(("u1", "u2", "u3"), ("v1", "v2", "v3"))
    for k in range(60):
        circuit.add(f"S{k + 100}", "push-button", {"13": "m11", "14": f"p{k}"}, role="test")
        circuit.add(f"P{k}", "lamp", {"1": f"p{k}", "2": "N"})
    circuit.add("K9", "contactor", {"A1": "m11", "A2": "N", "1": "L1", "2": "m9"}, **COIL)
    circuit.add("M9", "motor-1ph", {"L": "m9", "N": "N"})
    assert told(circuit, "coil-volts") == []
