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
