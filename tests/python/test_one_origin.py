"""Nets fed from two sources, by hand."""

import stopspan


def two_supplies(**contacts: str) -> stopspan.Circuit:
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    circuit.add("G2", "mains-1ph", {"L": "L2", "N": "N"})
    circuit.add("S1", "push-button", {"13": "L1", "14": "a"}, role="start")
    wired = {"A1": "a", "A2": "N", "1": "L1", "2": "m"} | contacts
    circuit.add("K1", "contactor", wired, coil_voltage_v=230)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    return circuit


def joined(circuit: stopspan.Circuit) -> list[tuple[str, list[str], list[str]]]:
    findings = circuit.check(rules=["one-origin"], repairs=False).findings
    return [(f.status, sorted(f.subjects), f.witness.acts) for f in findings if f.status != "note"]


def test_a_contact_straight_between_two_poles_joins_them_when_it_closes():
    circuit = two_supplies(**{"43": "L1", "44": "L2"})
    assert joined(circuit) == [("fails", ["G1:L", "G2:L"], ["hold S1"])]


def test_one_that_nothing_ever_closes_joins_nothing():
    circuit = two_supplies()
    circuit.add("K2", "relay", {"A1": "b", "A2": "N", "13": "L1", "14": "L2"}, coil_voltage_v=230)
    assert joined(circuit) == []


def test_a_hand_device_between_two_poles_joins_them():
    circuit = two_supplies()
    circuit.add("S2", "selector", {"13": "L1", "14": "L2"})
    assert joined(circuit) == [("fails", ["G1:L", "G2:L"], ["turn S2 on"])]


def test_two_transformers_side_by_side_feed_each_other():
    # By hand: with one primary off, its secondary is fed by the other and the primary stands at mains voltage.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    for number in "12":
        circuit.add(f"Q{number}", "isolator", {"1": "L", "2": f"a{number}", "3": "N", "4": f"b{number}"})
        wired = {"p1": f"a{number}", "p2": f"b{number}", "s1": "x", "s2": "y" if number == "1" else "z"}
        circuit.add(f"T{number}", "transformer", wired, secondary_v=24)
    circuit.add("H1", "lamp", {"1": "x", "2": "y"})
    assert joined(circuit) == []  # a shared return
    circuit.connect("T2", "s2", "y")
    assert joined(circuit) == [("fails", ["T1:s1, T2:s1", "T1:s2, T2:s2"], [])]
