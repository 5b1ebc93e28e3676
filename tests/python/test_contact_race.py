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


def locked_out(blockers, stops=40, role="start", kind="push-button", overloads=False):
    """Machines behind stop devices in a row, each with break contacts of the contactors that lock it out."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    rail = "L"
    for n in range(stops):
        circuit.add(f"ES{n}", "emergency-stop", {"11": rail, "12": f"r{n}"})
        rail = f"r{n}"
    contacts = {n: {"1": "L", "2": f"m{n}", "A2": "N"} for n in blockers}
    for n, others in blockers.items():
        circuit.add(f"S{n}", kind, {"13": rail, "14": f"c{n}"}, role=role)
        if kind == "push-button":
            contacts[n] |= {"13": rail, "14": f"c{n}"}
        net = f"c{n}"
        if overloads:
            circuit.add(f"F{n}", "overload", {"1": f"m{n}", "2": f"t{n}", "95": net, "96": f"f{n}"}, setting_a=5.0)
            net = f"f{n}"
        for other in others:
            place = 20 + 10 * sum(terminal.endswith("1") for terminal in contacts[other])
            contacts[other] |= {f"{place + 1}": net, f"{place + 2}": f"c{n}-{other}"}
            net = f"c{n}-{other}"
        contacts[n]["A1"] = net
        circuit.add(f"M{n}", "motor-1ph", {"L": f"t{n}" if overloads else f"m{n}", "N": "N"})
    for n in blockers:
        circuit.add(f"K{n}", "contactor", contacts[n], **AC_COIL)
    return circuit


EACH = {n: [other for other in range(12) if other != n] for n in range(12)}
NEIGHBOURS = {n: [(n - 1) % 12, (n + 1) % 12] for n in range(12)}


def pairs(blockers):
    return {frozenset((f"K{n}", f"K{other}")) for n, others in blockers.items() for other in others}


@pytest.mark.parametrize("overloads", [False, True])
@pytest.mark.parametrize("blockers", [EACH, NEIGHBOURS], ids=["each other", "neighbours"])
def test_twelve_that_lock_each_other_out_behind_forty_stops(blockers, overloads):
    circuit = locked_out(blockers, overloads=overloads)
    found = circuit.check(rules=["contact-race", "chatter"], threads=1).findings
    # Both starts held as the supply returns: of each two that lock each other out the faster one comes in.
    assert {(f.rule, f.status, frozenset(f.subjects)) for f in found} == {
        ("contact-race", "note", pair) for pair in pairs(blockers)
    }
    assert len(found) == len(pairs(blockers)) == (66 if blockers is EACH else 12)
    for one in (found[0], found[-1]):
        assert [outcomes(circuit, one.witness.acts, name) for name in one.subjects] == ["maybe", "maybe"]


@pytest.mark.parametrize("missing", [None, 7])
def test_one_interlock_contact_less_of_a_ring_that_blocks_one_way(missing):
    # Each locks the next one out: with an even number held either every other one is in, or the others are; and where
    # one of them is not locked out all order comes from it.
    blockers = {n: [] if n == missing else [(n - 1) % 10] for n in range(10)}
    found = locked_out(blockers).check(rules=["contact-race", "chatter"]).findings
    every = frozenset(f"K{n}" for n in range(10))
    expected = set() if missing else {("contact-race", "note", every), ("chatter", "note", every)}
    assert {(f.rule, f.status, frozenset(f.subjects)) for f in found} == expected


def test_selectors_that_stay_on_race_with_no_hand_at_all():
    circuit = locked_out({n: [other for other in range(8) if other != n] for n in range(8)}, role="select", kind="selector")
    found = circuit.check(rules=["contact-race"], threads=1).findings
    # Any two that are on as the supply returns; what is told of more of them does not stand in for these.
    assert {f.status for f in found} == {"fails"}
    two = {frozenset(f.subjects) for f in found if len(f.subjects) == 2}
    assert two == {frozenset((f"K{a}", f"K{b}")) for a in range(8) for b in range(a)}


def test_which_of_two_drops_first_once_a_line_is_lost_is_no_race():
    # By hand: L1 lost, the three-phase motor feeds half its volts back there, and what the one-phase motor and the coils draw
    # decides whether they are enough to hold. An ordinary hall; with whole mains the coils have all their volts or none.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    for n in (1, 2):
        circuit.add(f"S{n}0", "push-button", {"11": "L1", "12": f"b{n}"}, role="stop")
        circuit.add(f"S{n}1", "push-button", {"13": f"b{n}", "14": f"c{n}"}, role="start")
    nets = {"A1": "c1", "A2": "N", "13": "b1", "14": "c1", "1": "L1", "2": "u", "3": "L2", "4": "v", "5": "L3", "6": "w"}
    circuit.add("K1", "contactor", nets, **AC_COIL)
    circuit.add("M1", "motor-3ph", {"U": "u", "V": "v", "W": "w"}, power_kw=1.5, voltage_v=400)
    circuit.add("K2", "contactor", {"A1": "c2", "A2": "N", "13": "b2", "14": "c2", "1": "L1", "2": "m"}, **AC_COIL)
    circuit.add("M2", "motor-1ph", {"L": "m", "N": "N"}, power_kw=0.75, voltage_v=230)
    found = circuit.check(rules=["contact-race"]).findings
    assert {f.status for f in found} <= {"note"}
    assert all("lose G1:L1" in f.witness.acts for f in found)


def test_two_that_take_turns_behind_a_fuse_race_though_it_blows():
    # By hand: K1 and K2 are called for by one button and join two lines; which comes in first locks the other out, and both at
    # once short the mains.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L2", "2": "f"}, rating_a=10)
    circuit.add("S1", "push-button", {"13": "L3", "14": "c"}, role="start")
    for n, line in ((1, "L1"), (2, "f")):
        circuit.add(f"K{n}", "contactor", {"A1": f"d{n}", "A2": "N", "11": "c", "12": f"d{3 - n}", "1": line, "2": "m"}, **AC_COIL)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    (race,) = [f for f in circuit.check(rules=["contact-race"]).findings if f.status == "fails"]
    assert set(race.subjects) == {"K1", "K2"}
