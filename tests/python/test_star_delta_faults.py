"""What faults do to star-delta starters, against the second implementation: every fault, in every reachable state."""

import pytest
from engine_comparison import circuit_of
from fault_comparison import fault_differences

COIL = {"coil_voltage_v": 230.0, "coil_current": "AC", "hold_va": 8.0, "inrush_va": 70.0}


def starter(interlocks="both", **changed):
    """Line K1, star K2, delta K3 and the timer K4, all from L1 behind ES1; `changed` gives a device other parameters or nets."""
    mechanical = interlocks in ("both", "mechanical")
    star_rung, delta_rung = ("s2", "d2") if interlocks in ("both", "contacts") else ("s1", "d1")
    rows = {
        "G1": ("mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"}, {}),
        "ES1": ("emergency-stop", {"11": "L1", "12": "c1"}, {}),
        "S1": ("push-button", {"13": "c1", "14": "c2"}, {"role": "start"}),
        "K1": ("contactor", {"A1": "c2", "A2": "N", "13": "c1", "14": "c2"}, COIL),
        "K2": ("contactor", {"A1": star_rung, "A2": "N", "11": "d1", "12": "d2"}, COIL | ({"interlocked_with": "K3"} if mechanical else {})),
        "K3": ("contactor", {"A1": delta_rung, "A2": "N", "11": "s1", "12": "s2"}, COIL | ({"interlocked_with": "K2"} if mechanical else {})),
        "K4": ("timer", {"A1": "c2", "A2": "N", "15": "c2", "16": "s1", "17": "c2", "18": "d1"}, COIL | {"delay": "on", "delay_s": 6.0}),
        "M1": ("motor-6lead", {t: t.lower() for t in ("U1", "V1", "W1", "U2", "V2", "W2")}, {"power_kw": 4.0, "voltage_v": 400.0}),
    }
    power = {
        "K1": zip("123456", ("L1", "u1", "L2", "v1", "L3", "w1")),
        "K2": zip("123456", ("u2", "y", "v2", "y", "w2", "y")),
        "K3": zip("123456", ("u1", "w2", "v1", "u2", "w1", "v2")),
    }
    for name, ends in power.items():
        rows[name][1].update(ends)
    for name, (nets, parameters) in changed.items():
        kind, before, known = rows.get(name, ({"R": "resistor", "E": "load"}.get(name[0]), {}, {}))
        rows[name] = (kind, before | nets, known | parameters)
    return [(name, *row) for name, row in rows.items()]


def behind_an_isolator(**added):
    """The neutral is opened, too: what its wire leaves hanging there when it comes off is fed by what else hangs on it."""
    lines = {"L1": "l1", "L2": "l2", "L3": "l3", "N": "n"}
    rows = starter(G1=(lines, {}), **added)
    isolator = zip("12345678", ("l1", "L1", "l2", "L2", "l3", "L3", "n", "N"))
    return [*rows, ("Q1", "isolator", dict(isolator), {})]


CASES = {
    "with both interlocks": starter(),
    "with contacts alone": starter("contacts"),
    "with levers alone": starter("mechanical"),
    "whose delta never comes in": starter(K3=({}, {"coil_voltage_v": 500.0})),
    # The motor then starts when the timer runs out: a stop that acts no more does not take that start back.
    "whose star never comes in": starter(K2=({}, {"coil_voltage_v": 500.0})),
    "whose star perhaps comes in": starter(K2=({}, {"coil_voltage_v": 330.0})),
    "behind an isolator": behind_an_isolator(),
    "behind an isolator, a load on its line": behind_an_isolator(E1=({"1": "L1", "2": "N"}, {"voltage_v": 230.0, "current_a": 1.0})),
    "behind an isolator, a load on another line": behind_an_isolator(E1=({"1": "L2", "2": "N"}, {"voltage_v": 230.0, "current_a": 0.03})),
    "with a resistor across the stop": starter(R1=({"1": "L1", "2": "c1"}, {"resistance_ohm": 2000.0})),
}


@pytest.mark.parametrize("rows", CASES.values(), ids=CASES)
def test_both_say_alike_what_each_fault_does_to_a_star_delta_starter(rows):
    different, many, taking, _ = fault_differences(rows, healthy_limit=2000, limit=20000)
    assert different == []
    assert many > 40 and taking > 5


def test_a_coil_that_stands_between_two_lines_by_its_own_holding_contact_stays_in():
    # By hand: S1 and the holding contact stand on L2, past ES1, so ES1 stops nothing. An earth fault at the coils' line c2 is a
    # short of L2 once S1 is pressed, and at rest does nothing.
    circuit = circuit_of(starter(S1=({"13": "L2"}, {}), K1=({"13": "L2"}, {})))
    verdict = circuit.check(asked={("ES1", "M1"): "cut"}, rules=["stop-cuts", "earth-fault"], repairs=False)
    assert [(f.rule, f.subjects, f.witness.acts) for f in verdict.findings if f.status == "fails"] == [
        ("stop-cuts", ["ES1", "M1"], ["tap S1", "latch ES1"])
    ]
