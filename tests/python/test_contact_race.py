"""Races that contacts alone do not show: through a leak, a mechanical interlock, a fed-back line, a dwelling contact."""

import pytest

import stopspan

COIL = {"coil_voltage_v": 24.0, "coil_current": "DC", "hold_w": 3.0}  # 192 ohm
AC_COIL = {"coil_voltage_v": 230.0, "coil_current": "AC"}


def bench(others=0):
    """24 V supply M earthed, mains; `others` more machines make the circuit too large to be tried as a whole."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("G5", "dc-supply", {"P": "P", "M": "M"}, voltage_v=24.0, earthed_pole="M")
    for n in range(100, 100 + others):
        self_holding(circuit, n, "P")
    return circuit


def self_holding(circuit, n, rail):
    circuit.add(f"S{n}", "push-button", {"13": rail, "14": f"c{n}"}, role="start")
    nets = {"A1": f"c{n}", "A2": "M", "13": rail, "14": f"c{n}", "1": "L", "2": f"m{n}"}
    circuit.add(f"K{n}", "contactor", nets, **COIL)
    circuit.add(f"M{n}", "motor-1ph", {"L": f"m{n}", "N": "N"})


def races(circuit):
    return [f for f in circuit.check(rules=["contact-race"]).findings if f.status != "note"]


def outcomes(circuit, acts, name):
    """What a device may come to after these acts."""
    replay = circuit.replay()
    for act in acts:
        replay.act(act)
    return replay.state(name)


@pytest.mark.parametrize("others", [0, 8])
@pytest.mark.parametrize(
    "leak_ohm, race",
    [
        # Both in: 96 ohm behind the leak, one in: 192 ohm; a DC coil must drop below 0.10 of its volts.
        (1200.0, True),  # both: 96/1296 = 0.07, both must drop; one: 192/1392 = 0.14, it stays: the slower one
        (2000.0, False),  # one: 192/2192 = 0.09 must drop too
        (600.0, False),  # both: 96/696 = 0.14, none must drop
    ],
)
def test_coils_that_share_a_leak_past_a_stop(others, leak_ohm, race):
    circuit = bench(others)
    circuit.add("S9", "emergency-stop", {"11": "P", "12": "r"})
    circuit.add("R9", "resistor", {"1": "P", "2": "r"}, resistance_ohm=leak_ohm)
    self_holding(circuit, 1, "r")
    self_holding(circuit, 2, "r")
    found = races(circuit)
    assert [(f.status, set(f.subjects)) for f in found] == ([("fails", {"K1", "K2"})] if race else [])
    if race:
        acts = list(found[0].witness.acts)
        assert acts[-1] == "latch S9"
        assert "maybe" in {outcomes(circuit, acts, "K1"), outcomes(circuit, acts, "K2")}


@pytest.mark.parametrize("others", [0, 8])
def test_two_that_only_a_mechanical_interlock_keeps_apart(others):
    circuit = bench(others)
    circuit.add("S1", "selector", {"13": "P", "14": "c1"})
    circuit.add("S2", "selector", {"13": "P", "14": "c2"})
    circuit.add("K1", "contactor", {"A1": "c1", "A2": "M", "1": "L", "2": "m"}, interlocked_with="K2", **COIL)
    circuit.add("K2", "contactor", {"A1": "c2", "A2": "M", "3": "L", "4": "m"}, **COIL)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    [found] = races(circuit)
    assert found.status == "fails" and set(found.subjects) == {"K1", "K2"}
    assert outcomes(circuit, found.witness.acts, "K1") == outcomes(circuit, found.witness.acts, "K2") == "maybe"


def test_a_timer_that_a_dwelling_contact_starts_again():
    circuit = bench()
    # One of the two blocks always feeds it, save while the contact dwells.
    circuit.add("S1", "key-switch", {"11": "L", "12": "c", "23": "L", "24": "c"}, role="stop", action="maintained")
    circuit.add("K1", "timer", {"A1": "c", "A2": "N", "47": "L", "48": "m", "13": "L", "14": "d"}, delay="on", **AC_COIL)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    [found] = races(circuit)
    assert found.status == "fails" and set(found.subjects) == {"S1", "K1"}
    acts = list(found.witness.acts)
    assert acts[-1].endswith(" slow")
    assert outcomes(circuit, acts, "M1") == "stopped"
    assert outcomes(circuit, [*acts[:-1], acts[-1].removesuffix(" slow")], "M1") == "runs"


def test_a_fuse_that_blows_unless_a_contact_dwells():
    circuit = bench()
    circuit.add("F1", "fuse", {"1": "L", "2": "r"}, rating_a=2.0)
    # Let go, the break block shorts what K1 still feeds; where it dwells K1 has dropped before.
    circuit.add("S1", "push-button", {"13": "r", "14": "c", "21": "y", "22": "N"}, role="start")
    circuit.add("K1", "contactor", {"A1": "c", "A2": "N", "13": "r", "14": "y", "1": "L", "2": "m"}, **AC_COIL)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    [found] = races(circuit)
    assert found.status == "fails" and set(found.subjects) == {"S1", "F1"}
    assert outcomes(circuit, ["hold S1", "free S1 slow"], "F1") == "intact"
    assert outcomes(circuit, ["hold S1", "free S1"], "F1") == "blown"


def test_half_the_volts_fed_back_into_a_lost_line_are_no_race():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {name: name for name in ("L1", "L2", "L3", "N")})
    for n in (1, 2):
        circuit.add(f"S{n}", "push-button", {"13": "L1", "14": f"c{n}"}, role="start")
        nets = {"A1": f"c{n}", "A2": "N", "13": "L1", "14": f"c{n}"}
        nets |= {str(t): net for i in (1, 2, 3) for t, net in ((2 * i - 1, f"L{i}"), (2 * i, f"m{n}{i}"))}
        circuit.add(f"K{n}", "contactor", nets, **AC_COIL)
        circuit.add(f"M{n}", "motor-3ph", {u: f"m{n}{i}" for i, u in ((1, "U"), (2, "V"), (3, "W"))}, power_kw=1.0)
    assert races(circuit) == []  # half the volts of a phase reach the coils: above 0.20, below 0.75, nothing must drop
