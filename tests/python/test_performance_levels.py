"""Performance levels of stops: categories from faults, hand-worked numbers, and a second opinion on the Markov model."""

import pathlib

import numpy
import pytest
import scipy.linalg
import stopspan
from conftest import two_channels
from stopspan import cli

DATA = pathlib.Path(__file__).parents[1] / "data"
SHORTS = ["shorts-in-enclosure", "shorts-in-protected-cables", "earth-faults-in-enclosure"]
ALL = [*SHORTS, "emergency-stop-mechanics"]


def saw(**of_parts):
    """One row: ES1, K1; `of_parts` K1=..., ES1=... are their parameters."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("F1", "fuse", {"1": "L", "2": "a"}, rating_a=6)
    circuit.add("ES1", "emergency-stop", {"11": "a", "12": "b"}, **of_parts.get("ES1", {}))
    circuit.add("S1", "push-button", {"13": "b", "14": "d"}, role="start")
    poles = {"A1": "d", "A2": "N", "13": "b", "14": "d", "1": "L", "2": "u"}
    circuit.add("K1", "contactor", poles, coil_voltage_v=230, **of_parts.get("K1", {}))
    circuit.add("M1", "motor-1ph", {"L": "u", "N": "N"}, machine="Saw")
    return circuit


def shed(link="stop-relay", stops=("ES1",), usage=True, **zone):
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Room", outline_m=[(0, 0), (8, 0), (8, 6), (0, 6)], board="D1")
    motors = [{"name": "M1", "power_kw": 3, "voltage_v": 400}]
    used = {"days_per_year": 220, "hours_per_day": 8, "cycle_time_s": 600} if usage else {}
    shop.add_machine("Lathe", area="Room", motors=motors, well_tried=True, **used)
    for stop in stops:
        shop.add_stop(stop, area="Room", operations_per_year=50 if usage else None, well_tried=True)
    if link == "stop-relay":
        zone = {"stop_relay_failures_per_h": 5e-9, "stop_relay_category": "4"} | zone
    zone = {"common_cause_score": 70, "well_tried": True} | zone
    shop.add_zone("Z1", link=link, devices=list(stops), machines=["Lathe"], **zone)
    return shop


def value(sizes, subject, quantity):
    found = sizes.find(subject, quantity)
    assert found is not None, (subject, quantity, [v.quantity for v in sizes.values if v.subject == subject])
    return found


def why_not(sizes, subject, category):
    return {each.candidate: each.reason for each in value(sizes, subject, "category").rejected}[f"category {category}"]


USED = {"K1": {"operations_per_year": 650_000.0}, "ES1": {"operations_per_year": 50_000.0}}


def test_one_channel_adds_up_its_parts_and_a_well_tried_one_is_category_1():
    # K1 1 300 000 / (0.1 x 650 000) = 20 years, ES1 100 000 / (0.1 x 50 000) = 20 years: 10 together, and
    # 1 / (8760 x 10) = 1.1416e-5 an hour; table K.1 has 1.14e-5. Level a.
    sizes = saw(**USED).sizes()
    assert value(sizes, "K1", "MTTFd").value == pytest.approx(20)
    assert value(sizes, "ES1", "MTTFd of a channel").value == pytest.approx(10)
    assert value(sizes, "ES1", "dangerous failures").value == pytest.approx(1 / 87600)
    assert value(sizes, "ES1", "performance level").choice.startswith("PL a")
    assert value(sizes, "ES1", "category").value == 0 and "well-tried" in why_not(sizes, "ES1", 1)
    assert "weld K1" in why_not(sizes, "ES1", 3)
    # A thousandth of that use: 100 years are the cap, level c by the rate; category B allows b, category 1 allows c.
    for well_tried, category, level in ((False, 0, "PL b"), (True, 1, "PL c")):
        parts = {name: {"operations_per_year": p["operations_per_year"] / 1000, "well_tried": well_tried} for name, p in USED.items()}
        sizes = saw(**parts).sizes()
        assert value(sizes, "ES1", "category").value == category
        assert value(sizes, "ES1", "dangerous failures").value == pytest.approx(1 / 876000)
        assert value(sizes, "ES1", "performance level").choice.startswith(level)
    # Under 30 years it is no category 1, under 3 nothing at all.
    tried = {name: p | {"well_tried": True} for name, p in USED.items()}
    assert "30 years" in why_not(saw(**tried).sizes(), "ES1", 1)
    worn = value(saw(K1={"operations_per_year": 1e7}, ES1={"operations_per_year": 50.0}).sizes(), "ES1", "performance level")
    assert worn.value == 0 and "3 years" in worn.remark


def test_makers_values_go_before_typical_ones():
    sizes = saw(K1={"operations_per_year": 1000.0, "b10d_cycles": 5000.0}).sizes()
    life = value(sizes, "K1", "MTTFd")
    assert life.value == pytest.approx(50) and life.inputs[0].origin == "plate" and "after 5 years" in life.remark


def test_what_nobody_said_leaves_the_level_open_and_is_named():
    sizes = shed(usage=False, well_tried=False).sizes(fault_exclusions=ALL)
    level = value(sizes, "ES1", "performance level")
    assert level.value == 0 and level.choice.startswith("not determined")
    missing = {(each.subject, each.parameter) for each in sizes.unknown}
    assert {("ES1", "operations_per_year"), ("Lathe", "days_per_year")} <= missing
    no_relay = shed(stop_relay_failures_per_h=None, stop_relay_category=None).sizes(fault_exclusions=ALL)
    assert value(no_relay, "ES1", "performance level").value == 0 and no_relay.find("ES1", "dangerous failures") is None
    assert "safety_category" in {each.parameter for each in no_relay.unknown}


def test_a_stop_that_does_not_cut_is_worth_nothing():
    circuit = saw(**USED)
    circuit.connect("K1", "13", "a")  # past ES1
    level = value(circuit.sizes(), "ES1", "performance level")
    assert level.value == 0 and "does not surely stop" in level.remark


def test_a_stop_relay_with_two_contactors_in_its_feedback_is_category_4():
    # Contactors: 50 + 365 operations a year, 31 325 years, 2500 at most; table K.1 has 9.06e-10 for that, and its relay
    # 5e-9. The emergency stop is left out.
    sizes = shed().sizes(fault_exclusions=ALL)
    assert value(sizes, "ES1", "category").value == 4
    rate = value(sizes, "ES1", "dangerous failures")
    assert 5e-9 + 9.06e-10 <= rate.value < 5e-9 + 9.3e-10
    assert value(sizes, "ES1", "performance level").choice.startswith("PL e")


def test_every_condition_that_is_missing_takes_the_category_away():
    assert "one fault takes" in why_not(shed().sizes(fault_exclusions=SHORTS), "ES1", 3)  # it jams
    # A short of two conductors alone takes nothing away, but of one across the feedback nobody knows.
    assert "shows nowhere" in why_not(shed().sizes(fault_exclusions=["emergency-stop-mechanics"]), "ES1", 4)
    assert "under 65" in why_not(shed(common_cause_score=64).sizes(fault_exclusions=ALL), "ES1", 3)
    unsaid = shed(common_cause_score=None).sizes(fault_exclusions=ALL)
    assert "nobody said" in why_not(unsaid, "ES1", 3) and ("Z1", "common_cause_score") in {
        (each.subject, each.parameter) for each in unsaid.unknown
    }
    assert value(shed(common_cause_score=None).sizes(fault_exclusions=ALL, common_cause_score=65), "ES1", "category").value == 4
    assert value(shed(stop_relay_category="2").sizes(fault_exclusions=ALL), "ES1", "category").value == 2
    for link in ("series-chain", "contact-blocks", "zone-relay", "zone-contactor"):
        sizes = shed(link).sizes(fault_exclusions=ALL)
        assert value(sizes, "ES1", "category").value == 1, link
        assert value(sizes, "ES1", "performance level").choice.startswith("PL c"), link


def relay_circuit(feedback):
    circuit = stopspan.load(DATA / "circuits" / "stop-relay-two-channels.csv").circuit()
    for name, per_year in (("KA", 400.0), ("KB", 400.0), ("ES1", 50.0), ("ES2", 50.0)):
        circuit.set_parameter(name, "operations_per_year", per_year)
    circuit.set_parameter("K0", "dangerous_failures_per_h", 5e-9)
    circuit.set_parameter("K0", "safety_category", "4")
    if not feedback:
        circuit.connect("K0", "Y2", "y1")
    return circuit


def test_without_the_mirror_contacts_a_welded_contactor_shows_nowhere():
    said = {"fault_exclusions": ALL, "common_cause_score": 80}
    watched = relay_circuit(True).sizes(**said)
    assert value(watched, "ES1", "category").value == 4
    assert value(watched, "ES1", "diagnostic coverage").value == pytest.approx(0.99)
    blind = relay_circuit(False).sizes(**said)
    assert value(blind, "ES1", "category").value == 0 and "coverage" in why_not(blind, "ES1", 3)
    assert "weld KA" in why_not(blind, "ES1", 4) or "weld KB" in why_not(blind, "ES1", 4)
    # Two channels as well: nothing watches either contactor.
    circuit = two_channels()
    for name in ("K1", "K2", "ES1"):
        circuit.set_parameter(name, "operations_per_year", 100.0)
    assert "coverage" in why_not(circuit.sizes(**said), "ES1", 3)


def test_blocks_of_devices_in_one_row_hide_each_others_faults():
    said = {"fault_exclusions": [*SHORTS, "contact-will-not-open"]}
    alone = shed().sizes(**said)
    assert value(alone, "ES1", "category").value == 4 and value(alone, "ES1", "diagnostic coverage").value == pytest.approx(0.99)
    row = shed(stops=("ES1", "ES2")).sizes(**said)
    assert value(row, "ES1", "category").value == 3 and value(row, "ES1", "diagnostic coverage").value == pytest.approx(0.9)
    level = value(row, "ES1", "performance level")
    assert level.choice.startswith("PL d") and "24119" in level.remark


def test_a_contactor_that_welds_defeats_no_stop_of_category_3_or_4_when_it_is_tried():
    shop = shed(stops=("ES1", "ES2"))
    circuit, sizes = shop.circuit(), shop.sizes(fault_exclusions=ALL)
    contactors = [d.designation for d in circuit.devices if d.kind == "contactor"]
    starts = [d.designation for d in circuit.devices if d.parameters.get("role") in ("reset", "start")]
    starts.sort(key=lambda name: circuit_role(circuit, name) != "reset")
    for stop in ("ES1", "ES2"):
        assert value(sizes, stop, "category").value >= 3
        for contactor in contactors:
            replay = circuit.replay()
            for start in starts:
                replay.tap(start)
            assert replay.state("M1") == "runs"
            replay.weld(contactor)
            replay.latch(stop)
            assert replay.state("M1") == "stopped", (stop, contactor)


def circuit_role(circuit, name):
    return next(d for d in circuit.devices if d.designation == name).parameters["role"]


def test_a_required_level_fits_or_does_not_and_the_command_says_so(tmp_path, capsys):
    for link, fits, code in (("stop-relay", "fits", 0), ("zone-relay", "does not fit", 1)):
        shop = shed(link, performance_level="d")
        for exclusion in ALL:
            shop.exclude_faults(exclusion)
        assert value(shop.sizes(), "ES1", "performance level").fit == fits
        shop.save(tmp_path / "shed.xml")
        assert ("ES1: performance level" in run(["sizes", str(tmp_path / "shed.xml")], capsys)) == bool(code)
    undetermined = shed(usage=False, performance_level="a").sizes(fault_exclusions=ALL)
    assert value(undetermined, "ES1", "performance level").fit == "does not fit"
    assert shed().sizes(performance_levels=False).find("ES1", "performance level") is None


def run(arguments, capsys):
    cli.main(arguments)
    return capsys.readouterr().out


# ---- the model


def by_matrix(category, years, coverage):
    """The same model as a generator with every state: new, unseen failures, danger, which is mended in an hour."""
    rate, beta, mended = 1 / (8760 * years), 0.02, 1.0
    alone = (1 - beta) * rate
    if category in ("B", "1"):
        hidden, at_once = 0.0, rate
    elif category == "2":
        hidden, at_once = alone, beta * rate + alone * (1 - coverage * 100 / 101)
    else:
        hidden, at_once = 2 * alone * (1 - coverage), beta * rate
    generator = numpy.array([[0, hidden, at_once], [0, 0, rate], [mended, 0, 0]])
    generator -= numpy.diag(generator.sum(axis=1))
    # Danger entered so far, as one more state that nothing leaves.
    whole = numpy.zeros((4, 4))
    whole[:3, :3] = generator
    whole[0, 3], whole[1, 3] = at_once, rate
    hours = 20 * 8760
    return scipy.linalg.expm(whole * hours)[0, 3] / hours


@pytest.mark.parametrize("category", ["B", "1", "2", "3", "4"])
@pytest.mark.parametrize("years", [30, 62, 100])
@pytest.mark.parametrize("coverage", [0, 0.6, 0.9, 0.99])
def test_a_matrix_exponential_gives_the_rates_of_the_model(category, years, coverage):
    rate = stopspan.dangerous_failures(category=category, mttfd_years=years, coverage=coverage)
    assert rate.model_per_h == pytest.approx(by_matrix(category, years, coverage), rel=2e-4)
    assert rate.per_h == max(rate.model_per_h, rate.table_per_h or 0) and rate.level in tuple("abcde")


def test_numbers_no_category_allows_are_refused():
    for category, years, coverage in (("3", 2, 0.9), ("4", 20, 0.99), ("3", 30, 1.5), ("5", 30, 0.9)):
        with pytest.raises(stopspan.ModelError):
            stopspan.dangerous_failures(category=category, mttfd_years=years, coverage=coverage)
