"""A standing check says after every change what a check of the whole says, whatever was changed."""

import random

import pytest

import stopspan
from campus import MISTAKES, Campus
from conftest import REPOSITORY, saw
from engine_comparison import circuit_of
from random_comparison import circuit_rows

BY_PART = [
    "stop-cuts", "stop-spares", "stop-beats-start", "power-return", "release-return", "trip-return", "own-start",
    "overload-cuts", "interlock-holds", "isolator-clears", "coil-volts", "earthed-side", "contact-race", "chatter",
]
FOUR = ["stop-cuts", "stop-beats-start", "power-return", "release-return"]
MAINS = ("L1", "L2", "L3", "N")
NAMING = ("interlocked_with", "machine")  # parameters that hold names


def side_by_side(seed, many=3):
    """Random circuits on the nets of one mains, each for itself otherwise."""
    rng = random.Random(seed)
    rows = [("G1", "mains-3ph", {net: net for net in MAINS}, {})]
    for part in range(many):
        for name, kind, terminals, parameters in circuit_rows(rng.randrange(4000)):
            if name == "G1":
                continue
            nets = {t: net if net in (*MAINS, "PE") else f"{net}.{part}" for t, net in terminals.items()}
            own = {key: f"{value}.{part}" if key in NAMING else value for key, value in parameters.items()}
            rows.append((f"{name}.{part}", kind, nets, own))
    return rows


def random_change(rng, circuit):
    """(verb, arguments) of a change, now and then one that is refused."""
    devices = circuit.devices
    device = rng.choice(devices)
    nets = circuit.nets
    near = list(device.terminals.values())
    for other in rng.sample(devices, min(4, len(devices))):
        if set(other.terminals.values()) & set(near):
            near += other.terminals.values()
    what = rng.random()
    if what < 0.75:
        net = rng.choice(near) if rng.random() < 0.6 else rng.choice(nets) if rng.random() < 0.85 else f"x{rng.randrange(9)}"
        return "connect", (device.designation, rng.choice(list(device.terminals)), net)
    if what < 0.8:
        return "remove", (device.designation,)
    if what < 0.86:
        return "add", (f"A{rng.randrange(99)}", "relay", {"A1": rng.choice(nets), "A2": rng.choice(nets)})
    if what < 0.92:
        return "add", (f"E{rng.randrange(99)}", "lamp", {"1": rng.choice(nets), "2": rng.choice(nets)})
    if what < 0.96 and device.parameters:
        name = rng.choice(list(device.parameters))
        return "set_parameter", (device.designation, name, rng.choice([1, 24, 230, "stop", "start", True, "DC"]))
    return rng.choice([("connect", (device.designation, "99", "x")), ("remove", ("nothing",)), ("connect", ("K0", "1", " "))])


def moved_and_back(rng, devices):
    """A wire that a person could put on the wrong terminal, and the same put right again."""
    while True:
        device = rng.choice([each for each in devices if each.kind != "mains-3ph"])
        terminal, net = rng.choice([each for each in device.terminals.items() if each[1] not in MAINS])
        near = {to for each in devices for to in each.terminals.values() if net in each.terminals.values()}
        if others := sorted(near - {net, *MAINS}):
            yield "connect", (device.designation, terminal, rng.choice(others))
            yield "connect", (device.designation, terminal, net)


def follow(circuit, rng, changes, gently=False, **options):
    """Changes a standing check and a circuit alike; returns how many changes asked only a part of the machines."""
    gentle = moved_and_back(rng, circuit.devices) if gently else None
    standing = stopspan.StandingCheck(circuit, **options)
    all_of_it = standing.decided
    in_part = 0
    for _ in range(changes):
        verb, arguments = next(gentle) if gentle else random_change(rng, circuit)
        values = {"coil_voltage_v": 230} if arguments[1:2] == ("relay",) else {}
        before, verdict = standing.circuit, standing.verdict.to_json()
        changed = standing.circuit
        try:
            getattr(changed, verb)(*arguments, **values)
            expected = changed.check(**{"repairs": False} | options).to_json()
        except stopspan.ModelError as refused:
            with pytest.raises(stopspan.ModelError) as raised:
                getattr(standing, verb)(*arguments, **values)
            assert str(raised.value) == str(refused)
            assert standing.circuit == before and standing.verdict.to_json() == verdict
            continue
        was = standing.verdict
        comparison = getattr(standing, verb)(*arguments, **values)
        assert standing.circuit == changed, (verb, arguments)
        assert standing.verdict.to_json() == expected, (verb, arguments)
        assert comparison.sentences == stopspan.compare(was, standing.verdict).sentences, (verb, arguments)
        circuit = changed
        in_part += verb == "connect" and 0 < standing.decided < all_of_it
    return in_part


@pytest.mark.parametrize("seed", range(12))
def test_random_changes_side_by_side(seed):
    circuit = circuit_of(side_by_side(seed))
    follow(circuit, random.Random(seed), 12, rules=BY_PART, state_budget=300)


# Small ones with many changes that are decided in part; any others will do.
QUICK = [9, 12, 26, 39, 43, 65, 79, 88, 97, 99, 125, 131, 181, 214, 262, 389, 405, 425, 468, 470]


def test_random_changes_decided_in_part():
    options = {"rules": BY_PART, "state_budget": 60}
    in_part = [follow(circuit_of(side_by_side(seed, 4)), random.Random(seed), 6, **options) for seed in QUICK]
    assert sum(in_part) >= 20, in_part


@pytest.mark.parametrize("rules", [["one-origin", "stop-time"], ["earth-fault"], ["single-fault"], ["hidden-fault"]], ids="+".join)
def test_rules_that_look_beyond_single_machines(rules):
    """What a stop device, whose contacts stand in many parts, is told of, and what faults do."""
    options = {"rules": ["stop-cuts", *rules], "state_budget": 60}
    in_part = [
        follow(circuit_of(side_by_side(seed, 4)), random.Random(seed), 6, gently=seed % 2 == 0, **options)
        for seed in QUICK[::3]
    ]
    assert sum(in_part) >= 3, in_part


def test_every_rule_on_the_campus():
    site = campus(30, mistakes=False)
    options = {"asked": site.asked, "target": "single-fault", "state_budget": 2000}
    assert follow(circuit_of(site.rows), random.Random(2), 10, gently=True, **options) >= 4


def campus(machines, mistakes):
    """With one mistake in each of the first areas, of every kind in turn."""
    return Campus(machines, dict(enumerate(MISTAKES, 1)) if mistakes else {})


@pytest.mark.parametrize("machines", [50, 300], ids=["every cell", "only cells that matter"])
@pytest.mark.parametrize("mistakes", [False, True], ids=["all right", "with mistakes"])
def test_random_changes_on_the_campus(machines, mistakes):
    site = campus(machines, mistakes)
    rng = random.Random(machines + mistakes)
    options = {"asked": site.asked, "rules": FOUR, "state_budget": 2000}
    assert follow(circuit_of(site.rows), rng, 10, gently=True, **options) >= 4  # a short asks all


def test_changes_of_the_demo(monkeypatch):
    monkeypatch.syspath_prepend(REPOSITORY / "examples")
    import demo

    circuit = demo.describe().circuit()
    assert follow(circuit, random.Random(1), 6, gently=True, rules=FOUR, state_budget=300) >= 1


def test_every_rule_after_random_changes():
    for seed in range(3):
        follow(circuit_of(side_by_side(seed + 50, many=1)), random.Random(seed), 4, state_budget=300, repairs=True)


def test_faults_repairs_and_waivers_are_those_of_a_check():
    rng = random.Random(5)
    follow(saw(), rng, 4, rules=["stop-cuts", "single-fault"], target="single-fault", repairs=True)
    follow(circuit_of(side_by_side(7)), rng, 4, rules=FOUR, state_budget=300, repairs=True)
    waiver = stopspan.Waiver(rule="stop-cuts", subjects=["S2", "Saw"], reason="guarded", name="A. Fitter", date="2026-11-26")
    standing = stopspan.StandingCheck(saw(), waivers=[waiver], rules=["stop-cuts"])
    standing.connect("K1", "13", "b")
    [finding] = [each for each in standing.verdict.findings if each.rule == "stop-cuts"]
    assert finding.status == "waived"


def test_what_a_moved_wire_changes_is_said():
    standing = stopspan.StandingCheck(saw(), rules=["stop-cuts"])
    assert standing.verdict.ok
    comparison = standing.connect("K1", "13", "b")
    assert comparison.changed and comparison.sentences == [
        "Before, all that was checked held; now not all holds.",
        "S2 no longer cuts Saw, though asked to.",
    ]
    assert standing.circuit["K1"].terminals["13"] == "b" and not standing.verdict.ok
    assert repr(standing) == "<StandingCheck: 7 devices, not all holds>"
    assert not standing.set_parameter("K1", "coil_voltage_v", 230).changed


def test_the_circuit_it_was_made_from_and_verdicts_taken_stay_as_they_were():
    circuit = saw()
    standing = stopspan.StandingCheck(circuit, rules=["stop-cuts"])
    verdict, taken = standing.verdict, standing.circuit
    standing.remove("ES1")
    assert "ES1" in circuit and "ES1" in taken and verdict.ok and "ES1" not in standing.circuit
    taken.remove("F1")
    assert "F1" in standing.circuit
