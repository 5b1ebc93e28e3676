"""sizes(): from the circuit as wired and the description, with every input and its origin; hand-worked and by other means."""

import itertools
import json
import math
import pathlib

import numpy
import pytest
import scipy.integrate
import scipy.optimize
import stopspan
from circuit_strategies import circuits
from engine_comparison import circuit_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stopspan import cli

DATA = pathlib.Path(__file__).parents[1] / "data"
UNITLESS = {"poles in series", "control devices outside", "category", "diagnostic coverage", "performance level"}


def direct_starter(fuse_a=20.0, cable=None, overload=None, motor=None, contactor=None, mains=None):
    """A motor behind three fuses, contactor, overload and cable; start and stop buttons at 230 V."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"}, **(mains or {}))
    for pole in (1, 2, 3):
        circuit.add(f"F{pole}", "fuse", {"1": f"L{pole}", "2": f"a{pole}"}, rating_a=fuse_a, fuse_type="gG")
    circuit.add("F9", "fuse", {"1": "L1", "2": "c1"}, rating_a=2, fuse_type="gG")
    poles = {"1": "a1", "2": "b1", "3": "a2", "4": "b2", "5": "a3", "6": "b3"}
    circuit.add(
        "K1", "contactor", poles | {"13": "c3", "14": "c4", "A1": "c4", "A2": "N"},
        coil_voltage_v=230, coil_current="AC", hold_va=8, inrush_va=70, **(contactor or {}),
    )  # fmt: skip
    circuit.add(
        "F4", "overload", {"1": "b1", "2": "d1", "3": "b2", "4": "d2", "5": "b3", "6": "d3", "95": "c1", "96": "c2"},
        **({"setting_a": 8.5, "trip_class": "10"} | (overload or {})),
    )  # fmt: skip
    circuit.add("S1", "push-button", {"11": "c2", "12": "c3"}, role="stop")
    circuit.add("S2", "push-button", {"13": "c3", "14": "c4"}, role="start")
    ends = ("d1", "d2", "d3")
    if cable is not None:
        ends = ("e1", "e2", "e3")
        cores = {f"{n}.{end}": f"{'de'[end - 1]}{n}" for n in (1, 2, 3) for end in (1, 2)}
        circuit.add("W1", "cable", cores, **cable)
    circuit.add(
        "M1", "motor-3ph", dict(zip("UVW", ends)), **({"power_kw": 4, "voltage_v": 400, "machine": "Saw"} | (motor or {}))
    )
    return circuit


def value(sizes, subject, quantity):
    found = sizes.find(subject, quantity)
    assert found is not None, (subject, quantity, [v.quantity for v in sizes.values if v.subject == subject])
    return found


# ---- motors


def test_the_rated_current_comes_from_the_plate_then_the_power_balance_then_the_table():
    plate = value(direct_starter(motor={"current_a": 8.2}).sizes(), "M1", "rated current")
    assert plate.value == 8.2 and [i.origin for i in plate.inputs] == ["plate"]
    balance = value(direct_starter(motor={"efficiency": 0.83, "power_factor": 0.82}).sizes(), "M1", "rated current")
    assert balance.value == pytest.approx(4000 / (math.sqrt(3) * 400 * 0.83 * 0.82))
    table = value(direct_starter().sizes(), "M1", "rated current")
    assert table.value == pytest.approx(8.5) and "table" in [i.origin for i in table.inputs]
    assert "between" in value(direct_starter(motor={"power_kw": 3.7}).sizes(), "M1", "rated current").formula


def test_a_motor_of_which_nothing_is_known_is_named_and_nothing_is_sized_for_it():
    empty = stopspan.Circuit()
    empty.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    empty.add("M1", "motor-3ph", {"U": "L1", "V": "L2", "W": "L3"})
    sizes = empty.sizes()
    assert sizes.values == [] and [(u.subject, u.parameter) for u in sizes.unknown] == [("M1", "power_kw")]


def test_what_nobody_said_of_the_start_is_assumed_and_named():
    sizes = direct_starter().sizes()
    start = value(sizes, "M1", "starting current")
    assert start.value == pytest.approx(6 * 8.5) and start.inputs[1].origin == "assumed"
    assert {u.parameter for u in sizes.unknown if u.subject == "M1"} >= {"starting_current_ratio", "starting_time_s"}
    said = direct_starter(motor={"starting_current_ratio": 7.0, "starting_time_s": 2.0}).sizes()
    assert value(said, "M1", "starting current").value == pytest.approx(59.5)
    assert not [u for u in said.unknown if u.parameter.startswith("starting")]


# ---- what stands behind what


def star_delta(delta_from_line, overload="line"):
    """A motor of six leads; the delta contactor fed from the line, or from behind the line contactor."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    lines = ("L1", "L2", "L3")
    ends = ("u1", "v1", "w1")

    def contactor(name, one, other):
        terminals = {}
        for pole, (a, b) in enumerate(zip(one, other)):
            terminals |= {str(2 * pole + 1): a, str(2 * pole + 2): b}
        circuit.add(name, "contactor", terminals | {"A1": f"{name}a", "A2": "N"}, coil_voltage_v=230)

    behind = ("b1", "b2", "b3")
    if overload == "line":
        contactor("K1", lines, behind)
        circuit.add("F1", "overload", {"1": "b1", "2": "u1", "3": "b2", "4": "v1", "5": "b3", "6": "w1"})
    else:
        contactor("K1", lines, ends)
    contactor("K2", lines if delta_from_line else ends, ("w2", "u2", "v2"))
    contactor("K3", ("u2", "v2", "w2"), ("star", "star", "star"))
    motor = {f"{a}{n}": f"{a.lower()}{n}" for a in "UVW" for n in (1, 2)}
    circuit.add("M1", "motor-6lead", motor, power_kw=15, voltage_v=400)
    return circuit


def test_star_delta_shares_follow_from_where_each_contactor_stands():
    # 29.3 A; delta contactor from the line: both carry the phase current. D15 of the wiring manuals: 16.9 to 17.0 A,
    # 9.67 to 9.77 A in the star point.
    split = star_delta(delta_from_line=True).sizes()
    assert value(split, "K1", "rated current AC-3").value == pytest.approx(29.3 / math.sqrt(3))
    assert value(split, "K2", "rated current AC-3").value == pytest.approx(29.3 / math.sqrt(3))
    assert value(split, "K3", "rated current AC-3").value == pytest.approx(29.3 / 3)
    assert value(split, "F1", "overload setting").value == pytest.approx(29.3 / math.sqrt(3))
    # From behind the line contactor that one carries both.
    joined = star_delta(delta_from_line=False).sizes()
    assert value(joined, "K1", "rated current AC-3").value == pytest.approx(29.3)
    assert value(joined, "K2", "rated current AC-3").value == pytest.approx(29.3 / math.sqrt(3))
    assert value(joined, "F1", "overload setting").value == pytest.approx(29.3)
    assert "1.73" in value(joined, "F1", "overload setting").remark


def test_a_star_delta_start_takes_a_third():
    start = value(star_delta(delta_from_line=True).sizes(), "M1", "starting current")
    assert start.value == pytest.approx(2 * 29.3)
    assert value(star_delta(delta_from_line=True).sizes(), "M1", "fuse ahead of the motor").value == 32  # handbook


def test_reversing_and_jogging_ask_for_ac_4_and_what_stands_ahead_does_not():
    shop = stopspan.load(DATA / "installations" / "reversing-and-star-delta.xml")
    sizes = shop.sizes()
    categories = {v.subject: v.quantity[-4:] for v in sizes.values if v.quantity.startswith("rated current AC")}
    circuit = shop.circuit()
    reversing = {d.designation for d in circuit.devices if d.kind == "contactor" and "interlocked_with" in d.parameters}
    assert "AC-4" in categories.values() and "AC-3" in categories.values()
    assert {name for name, category in categories.items() if category == "AC-4"} <= reversing
    jog = direct_starter()
    jog.add("S3", "push-button", {"13": "c3", "14": "c4"}, role="jog", machine="Saw")
    assert value(jog.sizes(), "K1", "rated current AC-4").value == pytest.approx(8.5)


def test_a_zone_contactor_carries_the_sum_and_breaks_the_largest_start():
    shop = stopspan.load(DATA / "installations" / "zone-contactor.xml")
    sizes = shop.sizes()
    motors = {v.subject: v.value for v in sizes.values if v.quantity == "rated current"}
    starts = {v.subject: v.value for v in sizes.values if v.quantity == "starting current"}
    found = [
        v for v in sizes.values if v.quantity == "rated current AC-3" and any(i.name == "more at the largest start" for i in v.inputs)
    ]
    assert found
    for each in found:
        behind = [i.source for i in each.inputs if i.name == "rated current"]
        running = sum(motors[m] for m in behind)
        more = max(starts[m] - motors[m] for m in behind)
        assert each.value == pytest.approx(max(running, (running + more) / 8))


def test_a_start_button_in_line_is_held_against_its_rating():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("S1", "push-button", {"13": "L", "14": "m"}, role="start", rating_a=10)
    circuit.add("K1", "contactor", {"1": "L", "2": "m", "A1": "m", "A2": "N"}, coil_voltage_v=230)
    circuit.add("F1", "overload", {"1": "m", "2": "p", "3": "p", "4": "q", "5": "q", "6": "r"}, setting_a=9.2)
    circuit.add("M1", "motor-1ph", {"L": "r", "N": "N"}, power_kw=1.1, voltage_v=230)
    sizes = circuit.sizes()
    button = value(sizes, "S1", "motor current through its contact")
    assert button.fit == "fits" and button.value == pytest.approx(8.8 * 240 / 230)
    poles = value(sizes, "F1", "poles in series")
    assert (poles.fit, poles.as_wired) == ("fits", 3)
    circuit.set_parameter("M1", "power_kw", 1.5)
    assert value(circuit.sizes(), "S1", "motor current through its contact").fit == "does not fit"


def test_one_pole_of_three_does_not_fit_one_phase():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("F1", "overload", {"1": "L", "2": "m", "3": "x", "4": "y"}, setting_a=9.2)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"}, power_kw=1.1, voltage_v=230)
    assert value(circuit.sizes(), "F1", "poles in series").fit == "does not fit"


# ---- overloads


@pytest.mark.parametrize(("setting", "fit"), [(8.5, "fits"), (8.8, "fits"), (9.3, "does not fit"), (7.5, "does not fit")])
def test_a_setting_is_compared_with_the_motor_current(setting, fit):
    plate = {"current_a": 8.5}
    assert value(direct_starter(overload={"setting_a": setting}, motor=plate).sizes(), "F4", "overload setting").fit == fit


def test_a_typical_current_is_no_plate_so_a_setting_near_it_is_not_called_wrong():
    near = value(direct_starter(overload={"setting_a": 9.3}).sizes(), "F4", "overload setting")
    assert near.fit == "fits" and "read the current on the plate" in near.remark
    assert value(direct_starter(overload={"setting_a": 10.0}).sizes(), "F4", "overload setting").fit == "does not fit"


def test_a_range_that_does_not_reach_does_not_fit():
    ranged = {"lowest_setting_a": 2.5, "highest_setting_a": 6.0, "setting_a": 6.0}
    size = value(direct_starter(overload=ranged).sizes(), "F4", "overload setting")
    assert size.fit == "does not fit" and "another range" in size.remark


def test_a_heavy_start_asks_for_a_higher_class_with_the_reason_for_each_lower_one():
    size = value(direct_starter(motor={"starting_time_s": 8.0}).sizes(), "F4", "trip class")
    assert size.choice == "class 30" and [r.candidate for r in size.rejected] == ["class 10A", "class 10", "class 20"]
    assert size.fit == "does not fit"  # class 10 is wired
    for rejected, name in zip(size.rejected, ("10A", "10", "20")):
        fastest = stopspan.Overload(setting_a=8.5, trip_class=name, position="fastest").trip_time_s(51)
        assert f"{fastest:.1f} s" in rejected.reason and fastest < 8


@pytest.mark.parametrize("trip_class", ["5", "10A", "10", "20", "30", "5E", "10E", "20E", "30E"])
@pytest.mark.parametrize("position", ["fastest", "middle", "slowest"])
@pytest.mark.parametrize("multiple", [1.2, 1.5, 3.0, 7.2])
def test_the_thermal_model_agrees_with_an_ode_solver(trip_class, position, multiple):
    model = stopspan.Overload(setting_a=10, trip_class=trip_class, position=position)
    power = multiple**2

    def slope(_, heat):
        flow = (heat[0] - heat[1]) / model.resistance
        return [(power - flow) / model.heater_s, (flow - heat[1]) / model.bimetal_s]

    def trips(_, heat):
        return heat[1] - model.trip_point

    trips.terminal = True
    solved = scipy.integrate.solve_ivp(
        slope, (0, 50 * model.bimetal_s), [0, 0], events=trips, rtol=1e-9, atol=1e-11, method="LSODA"
    )
    assert model.trip_time_s(10 * multiple) == pytest.approx(solved.t_events[0][0], rel=1e-5)


@settings(max_examples=60, deadline=None)
@given(
    steps=st.lists(st.tuples(st.floats(0.1, 60), st.floats(0, 40)), min_size=1, max_size=6),
    more=st.floats(1.0, 1.5),
)
def test_more_current_never_trips_later(steps, more):
    model = stopspan.Overload(setting_a=10, trip_class="10")
    one, other = model.replay(steps), model.replay([(t, more * a) for t, a in steps])
    if one.trip_s is not None:
        assert other.trip_s is not None and other.trip_s <= one.trip_s * (1 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(steps=st.lists(st.tuples(st.floats(0.5, 30), st.floats(0, 60)), min_size=1, max_size=4))
def test_a_replayed_profile_agrees_with_an_ode_solver(steps):
    model = stopspan.Overload(setting_a=10, trip_class="20")
    replay = model.replay(steps)
    heat = numpy.zeros(2)
    time = 0.0
    for seconds, current in steps:
        power = (current / 10) ** 2

        def slope(_, h, power=power):
            flow = (h[0] - h[1]) / model.resistance
            return [(power - flow) / model.heater_s, (flow - h[1]) / model.bimetal_s]

        solved = scipy.integrate.solve_ivp(slope, (0, seconds), heat, rtol=1e-9, atol=1e-11, dense_output=True)
        highest = max(solved.sol(t)[1] for t in numpy.linspace(0, seconds, 400))
        if replay.trip_s is not None and replay.trip_s <= time + seconds:
            assert solved.sol(replay.trip_s - time)[1] == pytest.approx(model.trip_point, rel=1e-5)
            return
        assert highest < model.trip_point * (1 + 1e-6)
        heat = solved.y[:, -1]
        time += seconds
        last = [p for p in replay.points if math.isclose(p.time_s, time, rel_tol=1e-12)][0]
        assert last.bimetal == pytest.approx(heat[1], rel=1e-5, abs=1e-9)
    assert replay.trip_s is None


def test_a_warm_relay_trips_sooner_and_a_tripped_one_cools():
    model = stopspan.Overload(setting_a=8.5)
    assert model.trip_time_s(51, after_long_at_a=8.5) < model.trip_time_s(51)
    stalled = model.replay([(600, 8.5), (60, 51)], after_long_at_a=8.5)
    assert 600 < stalled.trip_s < stalled.reset_s
    with pytest.raises(stopspan.ModelError, match="no trip class '7'; known: 5, 10A"):
        stopspan.Overload(setting_a=1, trip_class="7")


# ---- cables and protection


def test_a_fuse_that_melts_while_the_motor_starts_does_not_fit():
    size = value(direct_starter(fuse_a=10).sizes(), "F1", "rated current of the protection")
    assert (size.value, size.fit) == (20, "does not fit")
    assert [r.candidate for r in size.rejected] == ["gG 2 A", "gG 4 A", "gG 6 A", "gG 10 A", "gG 16 A"]
    assert value(direct_starter(fuse_a=20).sizes(), "F1", "rated current of the protection").fit == "fits"


def test_a_breaker_must_hold_the_peak_of_the_start():
    circuit = direct_starter(fuse_a=16)
    for name in ("F1", "F2", "F3"):
        circuit.set_parameter(name, "fuse_type", "C")
    size = value(circuit.sizes(), "F1", "rated current of the protection")
    # 51 A x sqrt2 = 72.1 A must lie below 5 In: 16 A. 51 A is 3.2 In, by 1/I^2 1 s at 2.55 In gives 0.64 s: not enough
    # for 5 s; at 51 / 32 = 1.59 In it is 2.6 s, at 51 / 50 = 1.02 In it never trips.
    assert size.value == 50 and size.fit == "does not fit"


def test_cable_figures_by_hand():
    sizes = direct_starter(cable={"length_m": 40, "csa_mm2": 2.5, "method": "C"}, mains={"impedance_ohm": 0.5}).sizes()
    r70 = 7.41 * 304.5 / 254.5 / 1000  # ohm/m
    sine = math.sqrt(1 - 0.82**2)
    drop = math.sqrt(3) * 8.5 * 40 * (r70 * 0.82 + 0.08e-3 * sine)
    supply = 230 * math.sqrt(3)
    assert value(sizes, "W1", "voltage drop, running").value == pytest.approx(100 * drop / supply)
    start = math.sqrt(3) * 51 * 40 * (r70 * 0.45 + 0.08e-3 * math.sqrt(1 - 0.45**2))
    assert value(sizes, "W1", "voltage drop, starting").value == pytest.approx(100 * start / supply)
    loop = 0.5 + 2 * 40 * r70
    assert value(sizes, "W1", "fault loop").value == pytest.approx(loop)
    assert value(sizes, "W1", "earth-fault current").value == pytest.approx(0.95 * 230 / loop)
    assert value(sizes, "W1", "ampacity").value == 21
    assert value(sizes, "W1", "cable size").fit == "fits"
    assert not [u for u in sizes.unknown if u.subject in ("G1", "W1")]


def test_a_cable_too_long_for_its_fuse_says_what_fails():
    size = value(direct_starter(cable={"length_m": 400, "csa_mm2": 1.5}).sizes(), "W1", "cable size")
    assert size.fit == "does not fit" and "drops" in size.remark and "does not clear" in size.remark
    assert size.value > 1.5 and all(r.reason for r in size.rejected)


def cable_size(length, **options):
    sizes = direct_starter(cable={"length_m": length, "csa_mm2": 2.5}).sizes(**options)
    chosen = value(sizes, "W1", "cable size").value
    return math.inf if chosen == 0 else chosen, sizes


@settings(max_examples=40, deadline=None)
@given(length=st.floats(1, 400), factor=st.floats(1, 3))
def test_a_longer_cable_drops_more_and_is_never_thinner(length, factor):
    short, of_short = cable_size(length)
    long, of_long = cable_size(length * factor)
    assert long >= short
    for quantity in ("voltage drop, running", "voltage drop, starting", "fault loop"):
        assert value(of_long, "W1", quantity).value >= value(of_short, "W1", quantity).value * (1 - 1e-12)
    assert value(of_long, "W1", "earth-fault current").value <= value(of_short, "W1", "earth-fault current").value * (1 + 1e-12)


@settings(max_examples=40, deadline=None)
@given(ambient=st.floats(-10, 60), warmer=st.floats(0, 40))
def test_warmer_surroundings_never_ask_for_a_thinner_cable(ambient, warmer):
    cool, of_cool = cable_size(50, ambient_c=ambient)
    warm, of_warm = cable_size(50, ambient_c=min(60, ambient + warmer))
    assert warm >= cool
    assert value(of_warm, "W1", "ampacity").value <= value(of_cool, "W1", "ampacity").value


@settings(max_examples=40, deadline=None)
@given(power=st.floats(0.06, 90), factor=st.floats(1, 2))
def test_a_larger_motor_never_has_smaller_parts(power, factor):
    def parts(kilowatts):
        circuit = direct_starter(motor={"power_kw": kilowatts})
        circuit.remove("F4")
        sizes = circuit.sizes()
        return [
            value(sizes, "M1", "rated current").value,
            value(sizes, "K1", "rated current AC-3").value,
            value(sizes, "F1", "rated current of the protection").value,
            value(sizes, "M1", "cable size").value or math.inf,
        ] if sizes.find("M1", "cable size") else [value(sizes, "M1", "rated current").value]

    small, large = parts(power), parts(power * factor)
    if len(small) == len(large):
        assert all(a <= b * (1 + 1e-9) for a, b in zip(small, large))


# ---- control


def transformer_circuit(contactors=1, interlocked=False, **transformer):
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add(
        "T1", "transformer", {"p1": "L", "p2": "N", "s1": "s1", "s2": "s2"},
        primary_v=230, secondary_v=24, earthed_pole="s2", **transformer,
    )  # fmt: skip
    circuit.add("F1", "fuse", {"1": "s1", "2": "r"}, rating_a=2, fuse_type="gG")
    for n in range(1, contactors + 1):
        circuit.add(f"S{n}", "push-button", {"13": "r", "14": f"t{n}"}, role="start")
        between = f"x{n}" if interlocked else f"t{n}"
        contacts = {"21": f"t{3 - n}", "22": f"x{3 - n}"} if interlocked else {}
        circuit.add(
            f"K{n}", "contactor", {"A1": between, "A2": "s2", "13": "r", "14": f"t{n}"} | contacts,
            coil_voltage_v=24, coil_current="AC", hold_va=10, inrush_va=80,
        )  # fmt: skip
    return circuit


def test_the_sealed_load_is_of_what_can_be_in_at_once():
    both = value(transformer_circuit(2).sizes(), "T1", "sealed load")
    assert both.value == 20 and "states searched" in [i.name for i in both.inputs]
    # Each coil through a break contact of the other: never both sealed.
    one = value(transformer_circuit(2, interlocked=True).sizes(), "T1", "sealed load")
    assert one.value == 10
    unsearched = value(transformer_circuit(2, interlocked=True).sizes(state_budget=1), "T1", "sealed load")
    assert unsearched.value == 20 and "Not searched" in unsearched.remark


def test_a_transformer_is_sized_by_its_momentary_load():
    sizes = transformer_circuit(2).sizes()
    # One sealed (10 VA at 0.3), the other pulling in (80 VA at 0.75), or both pulling in as power returns with both
    # buttons held: 160 VA at 0.75.
    momentary = value(sizes, "T1", "momentary load")
    assert momentary.value == pytest.approx(160)
    assert value(sizes, "T1", "rated power").value == 160  # 100 VA gives 150 VA for a moment, 160 VA gives 270
    assert value(transformer_circuit(2, rating_va=100.0).sizes(), "T1", "rated power").fit == "does not fit"
    rated = transformer_circuit(2, rating_va=160.0).sizes()
    assert value(rated, "T1", "rated power").fit == "fits"
    assert value(rated, "T1", "dip while coils pull in").value == pytest.approx(5 * 160 / 270)
    assert value(rated, "F1", "rated current of the control fuse").value == 6  # up to 160 VA / 24 V = 6.67 A


@settings(max_examples=40, deadline=None)
@given(hold=st.floats(1, 100), inrush=st.floats(1, 600), more=st.floats(1, 3))
def test_a_thirstier_coil_never_has_a_smaller_transformer(hold, inrush, more):
    def rated(times):
        circuit = transformer_circuit()
        circuit.set_parameter("K1", "hold_va", hold * times)
        circuit.set_parameter("K1", "inrush_va", inrush * times)
        sizes = circuit.sizes()
        return value(sizes, "T1", "momentary load").value, value(sizes, "T1", "rated power").value or math.inf

    assert all(small <= large for small, large in zip(rated(1), rated(more)))


def test_the_search_agrees_with_trying_every_act():
    """The largest sealed load by replaying every sequence of up to four acts, instead of exploring states."""
    acts = [f"{verb} S{n}" for n in (1, 2) for verb in ("tap", "hold", "free")] + ["lose G1", "restore G1"]
    for interlocked in (False, True):
        circuit = transformer_circuit(2, interlocked=interlocked)
        most = 0.0
        for sequence in itertools.product(acts, repeat=4):
            replay = circuit.replay()
            try:
                for act in sequence:
                    replay.act(act)
            except stopspan.ModelError:  # what is not held cannot be let go
                continue
            # With both buttons held when power returns either may come in, so each is a maybe: never both of them.
            most = max(most, sum(10.0 for k in ("K1", "K2") if replay.state(k) == "on"))
        assert value(circuit.sizes(), "T1", "sealed load").value == most


def test_a_coil_for_another_voltage_does_not_fit_its_supply():
    circuit = transformer_circuit()
    assert value(circuit.sizes(), "K1", "coil voltage against its supply").fit == "fits"
    circuit.set_parameter("K1", "coil_voltage_v", 48)
    assert value(circuit.sizes(), "K1", "coil voltage against its supply").fit == "does not fit"
    circuit.set_parameter("K1", "coil_voltage_v", 24)
    circuit.set_parameter("K1", "coil_current", "DC")
    wrong = value(circuit.sizes(), "K1", "coil voltage against its supply")
    assert wrong.fit == "does not fit" and "direct current on alternating" in wrong.remark


def loop(length, csa=1.0, **coil):
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("W1", "cable", {"1.1": "L", "1.2": "a", "2.1": "b", "2.2": "c"}, length_m=length, csa_mm2=csa)
    circuit.add("S1", "push-button", {"11": "a", "12": "b"}, role="stop")
    circuit.add(
        "K1", "contactor", {"A1": "c", "A2": "N"},
        **({"coil_voltage_v": 230, "coil_current": "AC", "hold_va": 4.5, "inrush_va": 70} | coil),
    )  # fmt: skip
    return circuit


def test_a_stop_loop_by_hand():
    sizes = loop(300).sizes()
    resistance = 2 * 300 / 58
    drop = resistance * 70 / 230 * 0.75
    assert value(sizes, "K1", "volts at pull-in").value == pytest.approx(100 * (230 - drop) / 230)
    reactance_ratio = 230**2 / 4.5 * 2 * math.pi * 50 * 0.3e-6 * 0.3  # XL / XC, 300 m at 0.3 uF/km
    left = value(sizes, "K1", "volts left after a stop")
    assert left.value == pytest.approx(100 * reactance_ratio / (1 - reactance_ratio))
    assert left.fit == "does not fit" and f"{1000 / 0.09:.0f} ohm" in left.remark
    assert value(sizes, "K1", "longest loop by capacitance").value == pytest.approx(
        1000 * 0.2 / 1.2 * 4.5e6 / (2 * math.pi * 50 * 230**2) / 0.3
    )
    assert value(loop(100).sizes(), "K1", "volts left after a stop").fit == "fits"


@settings(max_examples=40, deadline=None)
@given(length=st.floats(1, 3000), factor=st.floats(1, 4))
def test_a_longer_loop_leaves_less_to_pull_in_and_more_after_a_stop(length, factor):
    short, long = loop(length).sizes(), loop(length * factor).sizes()
    assert value(long, "K1", "volts at pull-in").value <= value(short, "K1", "volts at pull-in").value + 1e-9
    assert value(long, "K1", "volts left after a stop").value >= value(short, "K1", "volts left after a stop").value - 1e-9


def test_contacts_are_held_against_their_rating_code():
    circuit = loop(10)
    circuit.set_parameter("S1", "contact_rating", "D300")
    size = value(circuit.sizes(), "S1", "control current AC-15")
    assert size.fit == "fits" and size.value == pytest.approx(4.5 / 230)
    circuit.set_parameter("K1", "inrush_va", 600)
    assert value(circuit.sizes(), "S1", "control current AC-15").fit == "does not fit"


def test_a_transformer_may_be_left_out_for_one_starter_and_two_devices():
    def said(circuit):
        return value(circuit.sizes(), "Saw", "control devices outside")

    circuit = direct_starter(motor={"power_kw": 2.2})
    assert (said(circuit).value, said(circuit).choice) == (2, "no transformer is needed")
    circuit.set_parameter("M1", "power_kw", 4)
    assert "not by the older" in said(circuit).choice
    circuit.connect("S1", "12", "c9")
    circuit.add("S3", "push-button", {"11": "c9", "12": "c3"}, role="stop")
    assert (said(circuit).value, said(circuit).choice) == (3, "a transformer is asked for")


def test_the_voltage_drop_agrees_with_phasors():
    """The formula takes the part of the drop along the load's voltage; exactly it is the loss of magnitude."""
    sizes = direct_starter(
        cable={"length_m": 60, "csa_mm2": 2.5}, motor={"current_a": 8.5, "power_factor": 0.82}
    ).sizes()  # fmt: skip
    current = 8.5 * (0.82 - 1j * math.sqrt(1 - 0.82**2))
    impedance = 60 / 1000 * (7.41 * 304.5 / 254.5 + 0.08j)
    load = scipy.optimize.brentq(lambda volts: abs(volts + impedance * current) - 230, 100, 230)
    assert value(sizes, "W1", "voltage drop, running").value == pytest.approx(100 * (230 - load) / 230, rel=0.01)


def test_a_cable_that_motors_share_is_sized_for_all_and_counts_in_the_drop_of_each():
    def works(shared_m):
        circuit = stopspan.Circuit()
        circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"}, impedance_ohm=0.4)
        cores = {f"{n}.{end}": f"{'Lr'[end - 1]}{n}" for n in (1, 2, 3) for end in (1, 2)}
        circuit.add("W9", "cable", cores, length_m=shared_m, csa_mm2=6, method="E")
        for m in (1, 2):
            own = {f"{n}.{end}": f"r{n}" if end == 1 else f"m{m}{n}" for n in (1, 2, 3) for end in (1, 2)}
            circuit.add(f"W{m}", "cable", own, length_m=20, csa_mm2=2.5, method="E")
            ends = {t: f"m{m}{n}" for n, t in enumerate("UVW", start=1)}
            circuit.add(f"M{m}", "motor-3ph", ends, current_a=10, power_factor=0.85, power_kw=5)
        return circuit.sizes()

    sizes = works(30)
    shared = value(sizes, "W9", "cable size")
    assert (shared.value, shared.as_wired, shared.fit) == (2.5, 6, "fits")  # 20 A: 1.5 mm2 carries 16.1, 2.5 carries 22
    sine = math.sqrt(1 - 0.85**2)

    def drop(amperes, metres, ohm_per_km):
        return math.sqrt(3) * amperes * metres / 1000 * (ohm_per_km * 304.5 / 254.5 * 0.85 + 0.08 * sine)

    expected = 100 * (drop(20, 30, 3.08) + drop(10, 20, 7.41)) / (230 * math.sqrt(3))
    assert value(sizes, "W1", "voltage drop, running").value == pytest.approx(expected)
    assert value(sizes, "W1", "fault loop").value == pytest.approx(
        0.4 + 2 * 304.5 / 254.5 / 1000 * (30 * 3.08 + 20 * 7.41)
    )
    assert value(works(60), "W1", "voltage drop, running").value > expected


def test_two_speeds_and_the_capacitor():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    for name, ends in (("K1", ("u1", "v1", "w1")), ("K2", ("u2", "v2", "w2"))):
        poles = {str(2 * i + 1): f"L{i + 1}" for i in range(3)} | {str(2 * i + 2): end for i, end in enumerate(ends)}
        circuit.add(name, "contactor", poles | {"A1": "L1", "A2": "N"}, coil_voltage_v=230)
    circuit.add("K3", "contactor", {"1": "u1", "2": "v1", "3": "v1", "4": "w1", "A1": "L1", "A2": "N"}, coil_voltage_v=230)
    motor = {f"{a}{n}": f"{a.lower()}{n}" for a in "UVW" for n in (1, 2)}
    circuit.add("M1", "motor-2speed", motor, current_a=12, slow_current_a=9)
    circuit.add("M2", "motor-1ph", {"L": "L1", "N": "N"}, current_a=4, capacitor_uf=25, voltage_v=230)
    sizes = circuit.sizes()
    assert value(sizes, "K1", "rated current AC-3").value == 9
    assert value(sizes, "K2", "rated current AC-3").value == 12
    assert value(sizes, "K3", "rated current AC-3").value == 6  # of the fast speed half
    assert value(sizes, "M2", "capacitor current").value == pytest.approx(2 * math.pi * 50 * 25e-6 * 230)


def test_a_motor_entered_as_found_has_the_plate_of_the_description():
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1")
    shop.add_area("Room", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)])
    shop.add_board("D1", supply="G1")
    shop.feed("Room", "D1")
    shop.add_machine("Saw", area="Room", motors=[stopspan.Motor("M1", 3, current_a=6.1)], starter="as-found")
    shop.recorded.add("M1", "motor-3ph", {"U": "D1:L1", "V": "D1:L2", "W": "D1:L3"}, machine="Saw")
    assert value(shop.sizes(), "M1", "rated current").value == 6.1


# ---- the whole


def test_an_installation_takes_lengths_from_the_plan_and_from_what_is_said():
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1")
    shop.add_area("Room", floor="ground", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)])
    shop.add_board("D1", supply="G1", area="Room", at_m=(1, 1))
    shop.feed("Room", "D1")
    plate = stopspan.Motor("M1", 4, current_a=8.1, starting_current_ratio=6.5, starting_time_s=1)
    shop.add_machine("Lathe", area="Room", at_m=(13, 8), motors=[plate], run_down_s=4)
    sizes = shop.sizes()
    assert value(sizes, "M1", "rated current").value == 8.1
    length = next(i for i in value(sizes, "Lathe", "cable size to the machine").inputs if i.name == "cable length")
    assert (length.value, length.origin) == (12 + 7 + 4, "plan")
    length = next(i for i in value(sizes, "M1", "cable size").inputs if i.name == "cable length")
    assert (length.value, length.origin) == (4, "assumed")  # up and down at the machine, where its starter stands
    assert value(sizes, "Lathe", "stopping time").value == pytest.approx(4.1)
    said = stopspan.Installation("Shed")
    said.add_supply("G1")
    said.add_area("Room", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)])
    said.add_board("D1", supply="G1")
    said.feed("Room", "D1")
    said.add_machine(
        "Lathe", area="Room", motors=[plate], cable_length_m=33, cable_method="E", cable_grouping=4, ambient_c=50
    )
    inputs = {i.name: i.value for i in value(said.sizes(), "Lathe", "cable size to the machine").inputs}
    assert inputs["cable length"] == 33 and inputs["ambient"] == 50 and inputs["grouped circuits"] == 4
    assert value(said.sizes(), "M1", "ampacity").value == pytest.approx(16.1 * 0.82 * 0.77)


def fed(currents=(21, 12), one_phase=(), loads=(), length_m=None):
    """Machines of a three-phase board D2 behind D1, and one-phase ones and kept loads of D2 on its lines by turns."""
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1")
    shop.add_area("Room", outline_m=[(0, 0), (90, 0), (90, 9), (0, 9)])
    shop.add_board("D1", supply="G1")
    shop.add_board("D2", fed_from="D1", area="Room", at_m=(1, 1))
    shop.feed("Room", "D2")
    for i, current_a in enumerate((*currents, *one_phase), 1):
        volts = 400 if i <= len(currents) else 230
        motor = stopspan.Motor(f"M{i}", current_a / 2 if volts == 400 else current_a / 8, volts, current_a=current_a)
        starter = {} if volts == 400 else {"starter": "one-phase-two-pole"}
        shop.add_machine(f"Machine {i}", area="Room", motors=[motor], cable_length_m=length_m, **starter)
    for i, current_a in enumerate(loads, 1):
        shop.add_load(f"E{i}", area="Room", at_m=(11, 4), current_a=current_a)
    return shop


def test_feeds_carry_the_sum_on_their_fullest_line():
    # IEC 60204-1 table 6, B2, 40 degC: 1.5 mm2 13.1 A, 4 mm2 23 A, 6 mm2 30 A, 10 mm2 40 A, 16 mm2 54 A.
    sizes = fed().sizes()
    assert value(sizes, "Machine 1", "cable size to the machine").value == 4
    assert value(sizes, "Machine 2", "cable size to the machine").value == 1.5
    for board in ("D1", "D2"):
        size = value(sizes, board, "cable size to the board")
        assert size.value == 10  # 21 + 12 = 33 A
        assert [i.value for i in size.inputs if i.name == "most on one line"] == [33]
        assert size.rejected[-1].candidate == "6 mm2" and "30 A" in size.rejected[-1].reason
        assert size.source and size.formula
    # One-phase machines of 8 A lie on one line each: one of them or three ask for 41 A, four for 49 A.
    for count, sum_a, csa in ((1, 41, 16), (3, 41, 16), (4, 49, 16)):
        size = value(fed(one_phase=(8,) * count).sizes(), "D2", "cable size to the board")
        assert [i.value for i in size.inputs if i.name == "most on one line"] == [pytest.approx(sum_a)]
        assert size.value == csa
    size = value(fed(loads=(8,)).sizes(), "D1", "cable size to the board")
    assert [i.value for i in size.inputs if i.name == "most on one line"] == [41]


def test_a_long_feed_is_thicker_by_its_drop():
    # 12 A over 200 m of 1.5 mm2: sqrt3 12 0.2 (12.1 1.1965 0.8 + 0.08 0.6) = 48.3 V, 12 % of 400 V. With IEC 60228:
    # 2.5 mm2 7.4 %, 4 mm2 4.6 %, and 5 % is allowed. It starts at 6 x 12 A and 0.45: 4 mm2 drops
    # sqrt3 72 0.2 (4.61 1.1965 0.45 + 0.08 0.89) = 63.7 V, 16 % of 398 V where 15 % is allowed.
    size = value(fed(currents=(12,), length_m=200).sizes(), "Machine 1", "cable size to the machine")
    assert size.value == 6
    assert "drops 12.1 % running, 5 % allowed" in next(r.reason for r in size.rejected if r.candidate == "1.5 mm2")
    assert [r.reason for r in size.rejected if r.candidate == "4 mm2"] == ["drops 16 % starting, 15 % allowed"]


def two_boards():
    """D2 is fed by 50 m from D1, and both have a place."""
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1", impedance_ohm=0.3)
    shop.add_area("Room", outline_m=[(0, 0), (90, 0), (90, 9), (0, 9)])
    shop.add_board("D1", supply="G1", area="Room", at_m=(1, 1))
    shop.add_board("D2", fed_from="D1", area="Room", at_m=(41, 7))
    shop.feed("Room", "D2")
    return shop


def test_drops_and_faults_go_through_all_feeds_ahead():
    shop = two_boards()
    for name, current_a in (("Press", 21), ("Saw", 12)):
        motor = stopspan.Motor(f"M-{name}", 5, current_a=current_a, starting_current_ratio=6, starting_time_s=1)
        shop.add_machine(name, area="Room", motors=[motor], cable_length_m=30)
    sizes = shop.sizes()
    # Gates of gG 40 A, IEC 60269-1 (from memory): carries 95 A for 10 s and 260 A for 0.1 s, so 157 A for 1 s by the
    # logarithms: more than 33 + 5 x 21 = 138 A. 32 A is less than 33 A.
    assert value(sizes, "D2", "fuse ahead of the cable to the board").value == 40
    # 40 + 6 + 4 m of 10 mm2, IEC 60228 1.83 ohm/km x 1.1965 at 70 degC, there and back after 0.3 ohm: 0.519 ohm. Through
    # 0.95 x 230 V / 0.519 ohm, between 190 A for 5 s and 450 A for 0.1 s: 5 x (0.1 / 5) ^ (ln 2.216 / ln 2.368) s.
    assert value(sizes, "D2", "cable size to the board").value == 10
    assert value(sizes, "D2", "earth-fault current at the end of the cable to the board").value == pytest.approx(421, rel=1e-3)
    assert value(sizes, "D2", "disconnection time of the cable to the board").value == pytest.approx(0.1352, rel=0.01)
    withstand = value(sizes, "D2", "short-circuit withstand size of the cable to the board")
    assert withstand.value == pytest.approx((421**2 * 0.1352) ** 0.5 / 115, rel=1e-3)
    # 30 m of 4 mm2 (4.61 ohm/km) more: 0.850 ohm. Of 2.5 mm2 (7.41) 1.051 ohm, so 207.9 A for 3.32 s: 3.3 mm2.
    assert value(sizes, "Press", "earth-fault current at the end of the cable to the machine").value == pytest.approx(257, rel=2e-3)
    size = value(sizes, "Press", "cable size to the machine")
    assert size.value == 4 and "a short circuit behind gG 40 A asks for 3.3" in size.rejected[-1].reason
    # Behind a fuse of 32 A or less a fault at the end of the motor's own 4 m must clear in 0.4 s, too. Of 4 mm2 all the way
    # from D2 0.894 ohm, so 244 A: gG 32 A takes 5 x (0.1 / 5) ^ (ln (244 / 150) / ln (350 / 150)) = 0.53 s; of 6 mm2 (3.08
    # ohm/km) 284 A and 0.26 s.
    size = value(sizes, "Saw", "cable size to the machine")
    assert size.value == 6
    assert size.rejected[-1].reason == "at M-Saw an earth fault of 244.4 A does not clear gG 32 A within 0.4 s"
    assert value(sizes, "Saw", "fuse ahead of the cable to the machine").value == 32  # the handbook's, as behind it
    # What the cable to D2 loses, sqrt3 33 A 0.05 km (2.19 ohm/km 0.8 + 0.08 0.6) = 5.14 V, and half of 5 % is for what hangs
    # on it: 4 mm2 would drop 3.2 %.
    assert [i.value for i in size.inputs if i.name == "lost ahead of it"] == [pytest.approx(5.14, rel=1e-3)]
    feed = value(sizes, "D2", "cable size to the board")
    assert "drops 3.2 % running, 2.5 % allowed" in next(r.reason for r in feed.rejected if r.candidate == "4 mm2")
    drop = value(sizes, "M-Press", "voltage drop, running")
    at = {i.name: i.value for i in drop.inputs}
    ohm_per_km = {2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83}  # IEC 60228
    sine = (1 - at["power factor"] ** 2) ** 0.5

    def lost_v(current_a, km, csa_mm2):
        return 3**0.5 * current_a * km * (ohm_per_km[csa_mm2] * 1.1965 * at["power factor"] + 0.08 * sine)

    by_hand = lost_v(33, 0.05, 10) + lost_v(21, 0.03, 4) + lost_v(21, 0.004, at["size"])
    assert drop.value == pytest.approx(100 * by_hand / (3**0.5 * 230), rel=0.005)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(1, 60), min_size=1, max_size=4), st.floats(1, 1.8))
def test_a_larger_load_never_has_a_thinner_feed(currents, factor):
    first, second = fed(currents=currents).sizes(), fed(currents=[each * factor for each in currents]).sizes()
    for size in first.values:
        if size.quantity.startswith("cable size to"):
            wider = value(second, size.subject, size.quantity)
            assert wider.value >= size.value > 0 or wider.value == 0  # none of the table carries it


def test_fuses_ahead_of_control_supplies_carry_their_current_and_a_transformers_inrush():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L1", "2": "a"}, fuse_type="gG", rating_a=0.5)
    circuit.add("F2", "fuse", {"1": "L2", "2": "b"}, fuse_type="gG", rating_a=2)
    circuit.add("T1", "transformer", {"p1": "a", "p2": "b", "s1": "x", "s2": "y"}, secondary_v=230, rating_va=250)
    circuit.add("F3", "fuse", {"1": "L3", "2": "d"}, fuse_type="C")
    circuit.add("G2", "dc-supply", {"ac1": "d", "ac2": "N", "P": "p", "M": "m"}, voltage_v=24, power_w=120)
    sizes = circuit.sizes()
    # 250 VA / 400 V = 0.625 A and 12.5 A as it is switched on: gG 2 A carries 6 A for 0.1 s, 4 A 14 A (IEC 60269-1, from
    # memory). 2 A as wired carries what it must for good; 0.5 A does not.
    fuses = [value(sizes, name, "rated current of the protection") for name in ("F1", "F2", "F3")]
    assert [size.value for size in fuses] == [4, 4, 2]  # 120 W / 230 V / 0.8 = 0.65 A
    assert [size.fit for size in fuses] == ["does not fit", "fits", "not compared"]


def test_an_unknown_kept_load_is_named_and_not_sized():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "G1:L1", "L2": "G1:L2", "L3": "G1:L3", "N": "G1:N"})
    circuit.add("E7", "load", {"1": "G1:L1", "2": "G1:N"}, kept=True)
    sizes = circuit.sizes()
    assert sizes.find("E7", "cable size") is None
    assert ("E7", "current_a") in {(u.subject, u.parameter) for u in sizes.unknown}


def test_what_feeds_a_board_counts_for_the_kept_loads_behind_it():
    shop = two_boards()
    shop.add_load("E1", area="Room", at_m=(80, 8), current_a=6)
    sizes = shop.sizes()
    # 50 m of 1.5 mm2 (IEC 60228: 12.1 ohm/km x 1.1965) would drop 2 x 6 A x 0.05 km x (14.48 x 0.8 + 0.08 x 0.6) = 7 V, 3 % of
    # 230 V where half of 5 % is for what hangs on it: 2.5 mm2 (7.41). That is 0.3 + 2 x 0.05 x 8.87 = 1.19 ohm up to D2.
    assert value(sizes, "D2", "cable size to the board").value == 2.5
    size = value(sizes, "E1", "cable size")
    assert {i.name: i.value for i in size.inputs}["fault loop up to its board"] == pytest.approx(1.187, rel=1e-3)
    # At unity: 5.32 V up to D2 and 2 x 6 x 0.044 x 14.48 = 7.64 V of 1.5 mm2: 5.6 %. Of 2.5 mm2 4.68 V: 4.3 %.
    assert size.value == 2.5
    assert "drops 5.6 % running, 5 % allowed" in size.rejected[-1].reason


def test_kept_loads_have_a_fuse_and_a_cable():
    sizes = fed(loads=(10, 14)).sizes()
    by_hand = {"E1": (10, 1.5), "E2": (16, 2.5)}  # gG of IEC 60269-1; B2 of table 6: 13.1 A and 17.4 A
    fuses = {s.inputs[0].value: s for s in sizes.values if s.quantity == "rated current of the protection" and len(s.inputs) == 1}
    for (load, (fuse_a, csa)), current_a in zip(by_hand.items(), (10, 14)):
        fuse = fuses[current_a]
        assert (fuse.value, fuse.as_wired, fuse.fit) == (fuse_a, fuse_a, "fits")
        assert fuse.choice == f"gG {fuse_a} A" and fuse.rejected[-1].candidate == f"gG {(6, 10)[fuse_a > 10]} A"  # of those the gates are known of
        cable = value(sizes, load, "cable size")
        assert cable.value == csa
        assert {i.name: i.value for i in cable.inputs}["cable length"] == 10 + 3 + 4  # along the axes, 2 m at either end
    assert "carries 13.1 A, 16 A wanted" in [r.reason for r in value(sizes, "E2", "cable size").rejected]


@pytest.mark.parametrize("rating_a, fit", [(0.5, "fits"), (2, "fits"), (10, "fits"), (16, "does not fit")])
def test_a_control_fuse_of_the_mains_carries_its_coils_and_protects_its_wires(rating_a, fit):
    circuit = direct_starter()
    circuit.set_parameter("F9", "rating_a", rating_a)
    size = value(circuit.sizes(), "F9", "rated current of the control fuse")
    # 70 VA / 230 V = 0.30 A as it pulls in; wires of 1 mm2 carry 10.3 A (IEC 60204-1 table 6, B1).
    assert (size.value, size.as_wired, size.fit) == (0.5, rating_a, fit)
    assert "its wires carry 10.3 A" in {r.reason for r in size.rejected}
    assert {i.name: i.value for i in size.inputs}["inrush current"] == pytest.approx(70 / 230)


@pytest.mark.parametrize("file", sorted((DATA / "installations").glob("*.xml")), ids=lambda f: f.stem)
def test_every_installation_is_sized_with_units_sources_and_named_assumptions(file):
    sizes = stopspan.load(file).sizes()
    assert sizes.values
    for size in sizes.values:
        assert size.source and size.formula and size.inputs and math.isfinite(size.value)
        assert size.unit or size.quantity in UNITLESS
        assert all(i.source and math.isfinite(i.value) for i in size.inputs)
    assert sizes.to_json() == stopspan.load(file).sizes().to_json()
    assert not [size for size in sizes.values if size.fit == "does not fit"], sizes.report()


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(rows=circuits())
def test_any_circuit_can_be_sized_and_twice_alike(rows):
    circuit = circuit_of(rows)
    sizes = circuit.sizes(state_budget=2000)
    assert all(math.isfinite(size.value) and size.source and size.formula for size in sizes.values)
    assert sizes.to_json() == circuit.sizes(state_budget=2000).to_json()


@pytest.mark.parametrize("file", sorted((DATA / "circuits").glob("*.csv")), ids=lambda f: f.stem)
def test_every_circuit_can_be_sized(file):
    sizes = stopspan.load(file).sizes()
    assert all(math.isfinite(size.value) for size in sizes.values)


def test_options_out_of_range_are_refused():
    with pytest.raises(stopspan.ModelError, match="ambient_c: give a number from -40 to 60"):
        stopspan.Circuit().sizes(ambient_c=200)
    with pytest.raises(stopspan.ModelError, match="control_csa_mm2"):
        stopspan.Circuit().sizes(control_csa_mm2=math.nan)


def test_the_command_prints_what_the_call_returns(tmp_path, capsys):
    file = DATA / "installations" / "zone-relay.xml"
    assert cli.main(["sizes", str(file), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    sizes = stopspan.load(file).sizes()
    assert [v["value"] for v in told["values"]] == [v.value for v in sizes.values]
    assert [u["parameter"] for u in told["unknown"]] == [u.parameter for u in sizes.unknown]
    assert cli.main(["sizes", str(file)]) == 0
    assert capsys.readouterr().out == sizes.report()
    table = tmp_path / "old.csv"
    direct_starter(fuse_a=6).export(table)
    assert cli.main(["sizes", str(table)]) == 1  # the fuse melts
    assert "rated current of the protection" in capsys.readouterr().out
