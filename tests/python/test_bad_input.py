"""What is refused, from Python: each names the object and the way out, and leaves everything as it was."""

import copy
import math

import pytest
from conftest import shed

import stopspan
from stopspan import ErrorCode

COIL = {"A1": "d", "A2": "N"}

CIRCUIT_CASES = {
    "a designation twice": (
        lambda c: c.add("K1", "fuse", {"1": "a", "2": "b"}),
        ErrorCode.DUPLICATE_NAME,
        "K1.*already used",
    ),
    "an unknown kind": (
        lambda c: c.add("X1", "flux-gate", {"1": "a", "2": "b"}),
        ErrorCode.BAD_VALUE,
        "no device kind 'flux-gate'; known: .*contactor",
    ),
    "an unknown terminal": (
        lambda c: c.add("K2", "contactor", {**COIL, "A3": "x"}, coil_voltage_v=230),
        ErrorCode.BAD_TERMINAL,
        "K2.*no terminal 'A3'; it has .*A1",
    ),
    "half a contact": (
        lambda c: c.add("K2", "contactor", {**COIL, "13": "x"}, coil_voltage_v=230),
        ErrorCode.BAD_TERMINAL,
        "K2: terminal 14 is not wired",
    ),
    "a coil without voltage": (
        lambda c: c.add("K2", "contactor", COIL),
        ErrorCode.MISSING_VALUE,
        "K2.*needs coil_voltage_v",
    ),
    "a coil that is not a number": (
        lambda c: c.add("K2", "contactor", COIL, coil_voltage_v=math.nan),
        ErrorCode.BAD_VALUE,
        "K2: coil_voltage_v must be a finite number",
    ),
    "an infinite rating": (
        lambda c: c.add("F9", "fuse", {"1": "a", "2": "b"}, rating_a=math.inf),
        ErrorCode.BAD_VALUE,
        "F9: rating_a must be a finite number",
    ),
    "a rating out of range": (
        lambda c: c.add("F9", "fuse", {"1": "a", "2": "b"}, rating_a=-6),
        ErrorCode.BAD_VALUE,
        "F9: rating_a is -6; allowed is",
    ),
    "a text for a number": (
        lambda c: c.add("F9", "fuse", {"1": "a", "2": "b"}, rating_a="six"),
        ErrorCode.BAD_VALUE,
        "F9: rating_a must be a number",
    ),
    "a list for a parameter": (
        lambda c: c.add("F9", "fuse", {"1": "a", "2": "b"}, rating_a=[6]),
        ErrorCode.BAD_VALUE,
        "F9: rating_a must be a number.*not list",
    ),
    "an unknown parameter": (
        lambda c: c.add("F9", "fuse", {"1": "a", "2": "b"}, colour="red"),
        ErrorCode.BAD_VALUE,
        "F9.*no parameter 'colour'; known: .*rating_a",
    ),
    "a terminal given as a number": (
        lambda c: c.add("F9", "fuse", {1: "a", 2: "b"}),
        ErrorCode.BAD_TERMINAL,
        "F9: terminals and nets are text",
    ),
    "a parameter of a device that is not there": (
        lambda c: c.set_parameter("K7", "coil_voltage_v", 24),
        ErrorCode.UNKNOWN_NAME,
        "no device 'K7'",
    ),
    "a wire to a terminal that is not there": (
        lambda c: c.connect("K1", "23", "x"),
        ErrorCode.BAD_TERMINAL,
        "K1: terminal '23' is not wired",
    ),
    "an unknown rule": (lambda c: c.check(rules=["stop-hums"]), ErrorCode.UNKNOWN_NAME, "stop-hums"),
    "rules as one text": (lambda c: c.check(rules="stop-cuts"), ErrorCode.BAD_VALUE, "rules must be a list of names"),
    "an unknown stop asked for": (
        lambda c: c.check(asked={("ES7", "Saw"): "cut"}),
        ErrorCode.UNKNOWN_NAME,
        "ES7",
    ),
    "an unknown machine asked for": (
        lambda c: c.check(asked={("ES1", "Planer"): "cut"}),
        ErrorCode.UNKNOWN_NAME,
        "Planer",
    ),
    "an unknown wish": (lambda c: c.check(asked={("ES1", "Saw"): "halt"}), ErrorCode.BAD_VALUE, "'halt'.*known.*cut"),
    "a cell that is no pair": (lambda c: c.check(asked={"ES1": "cut"}), ErrorCode.BAD_VALUE, "asked must be as"),
    "no thread at all": (lambda c: c.check(threads=0), ErrorCode.BAD_VALUE, "threads is 0"),
}


@pytest.mark.parametrize("name", CIRCUIT_CASES)
def test_a_circuit_refuses_and_stays_unchanged(circuit, name):
    act, code, message = CIRCUIT_CASES[name]
    before = copy.copy(circuit)
    with pytest.raises(stopspan.ModelError, match=message) as caught:
        act(circuit)
    assert caught.value.code == code
    assert circuit == before


SQUARE = [(0, 0), (4, 0), (4, 4), (0, 4)]
MOTOR = [{"name": "M9", "power_kw": 1}]

INSTALLATION_CASES = {
    "a word that is none, said of the machine it was given for": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(2, 2), motors=MOTOR, starter="stardelta"),
        ErrorCode.BAD_VALUE,
        "Planer: starter: no starter 'stardelta'; known: .*star-delta",
    ),
    "a zone with a stop that is not there": (
        lambda s: s.add_zone("Z9", devices=["ES77"], areas=["Room"]),
        ErrorCode.UNKNOWN_NAME,
        "Z9: devices: no stop device 'ES77'; known: ",
    ),
    "a motor with a field that is none": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(2, 2), motors=[{"name": "M9", "kw": 3}]),
        ErrorCode.BAD_VALUE,
        "Planer: a motor's fields are name .* not .*'kw': 3",
    ),
    "a machine outside its area": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(20, 2), motors=MOTOR),
        ErrorCode.CONTRADICTION,
        "Planer",
    ),
    "a machine in an area that is not there": (
        lambda s: s.add_machine("Planer", area="Attic", motors=MOTOR),
        ErrorCode.UNKNOWN_NAME,
        "Attic.*Room",
    ),
    "a machine twice": (
        lambda s: s.add_machine("Lathe", area="Room", at_m=(1, 1), motors=MOTOR),
        ErrorCode.DUPLICATE_NAME,
        "Lathe",
    ),
    "a motor of no power": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(1, 1), motors=[{"name": "M9", "power_kw": 0}]),
        ErrorCode.BAD_VALUE,
        "power_kw",
    ),
    "a place that is not a number": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(math.nan, 1), motors=MOTOR),
        ErrorCode.BAD_VALUE,
        "Planer",
    ),
    "a place that is no pair": (
        lambda s: s.add_machine("Planer", area="Room", at_m=7, motors=MOTOR),
        ErrorCode.BAD_VALUE,
        r"Planer: at_m must be two numbers, \(x, y\) in metres",
    ),
    "a motor that is none": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(1, 1), motors=["M9"]),
        ErrorCode.BAD_VALUE,
        "Planer: a motor is a stopspan.Motor or a dict",
    ),
    "an unknown starter": (
        lambda s: s.add_machine("Planer", area="Room", at_m=(1, 1), motors=MOTOR, starter="catapult"),
        ErrorCode.BAD_VALUE,
        "catapult.*known.*direct",
    ),
    "an area within itself": (
        lambda s: s.add_area("Attic", outline_m=SQUARE, within="Attic"),
        ErrorCode.UNKNOWN_NAME,
        "Attic",
    ),
    "an area that sticks out of its outer one": (
        lambda s: s.add_area("Annex", outline_m=[(7, 0), (12, 0), (12, 3)], within="Room"),
        ErrorCode.CONTRADICTION,
        "Annex",
    ),
    "an area of two corners": (
        lambda s: s.add_area("Line", outline_m=[(0, 0), (1, 0)]),
        ErrorCode.BAD_VALUE,
        "Line",
    ),
    "an area that crosses itself": (
        lambda s: s.add_area("Knot", outline_m=[(0, 0), (4, 4), (4, 0), (0, 4)]),
        ErrorCode.CONTRADICTION,
        "Knot.*crosses",
    ),
    "a zone of an unknown stop": (
        lambda s: s.add_zone("Z2", devices=["ES9"], machines=["Lathe"]),
        ErrorCode.UNKNOWN_NAME,
        "ES9",
    ),
    "a zone's devices as one text": (
        lambda s: s.add_zone("Z2", devices="ES1", machines=["Lathe"]),
        ErrorCode.BAD_VALUE,
        "Z2: devices must be a list of names",
    ),
    "a wish about an unknown machine": (
        lambda s: s.ask("ES1", "Planer", "keep"),
        ErrorCode.UNKNOWN_NAME,
        "Planer",
    ),
}


@pytest.mark.parametrize("name", INSTALLATION_CASES)
def test_an_installation_refuses_and_stays_unchanged(shop, name):
    act, code, message = INSTALLATION_CASES[name]
    with pytest.raises(stopspan.ModelError, match=message) as caught:
        act(shop)
    assert caught.value.code == code
    assert shop == shed()


def test_a_stop_with_fewer_contact_blocks_than_the_wiring_needs_is_refused_by_name(shop):
    shop.add_stop("ES3", area="Room", at_m=(1, 5), contact_blocks=1)
    shop.add_zone("Z2", link="contact-blocks", devices=["ES3"], areas=["Room"])
    with pytest.raises(stopspan.ModelError, match="ES3.*block"):
        shop.circuit()


def test_an_unknown_keyword_of_python_is_a_type_error(shop):
    with pytest.raises(TypeError, match="incompatible"):
        shop.add_machine("Planer", area="Room", motors=MOTOR, colour="red")


FILE_CASES = {
    "broken XML": ('<installation xmlns="urn:stopspan:installation:1" name="X">\n<area\n</installation>\n', "xml"),
    "an unknown element": (
        '<installation xmlns="urn:stopspan:installation:1" name="X">\n<fountain/>\n</installation>\n',
        "xml",
    ),
    "another root": ("<workshop/>\n", "xml"),
    "a wiring table with an unknown kind": (
        "device,kind,terminal,net,parameter,value\nX1,flux-gate,1,a,,\n",
        "csv",
    ),
    "a wiring table without a header": ("K1,contactor,A1,a,,\n", "csv"),
}


@pytest.mark.parametrize("name", FILE_CASES)
def test_a_bad_file_is_refused_with_its_name_and_line(tmp_path, name):
    text, suffix = FILE_CASES[name]
    path = tmp_path / f"bad.{suffix}"
    path.write_text(text)
    with pytest.raises(stopspan.FileError, match=r"bad\.") as caught:
        stopspan.load(path)
    assert caught.value.file == str(path)
    assert 1 <= caught.value.line <= text.count("\n")
    assert isinstance(caught.value, stopspan.ModelError) and isinstance(caught.value, ValueError)


def test_a_file_that_is_not_there_is_refused_as_a_whole(tmp_path):
    with pytest.raises(stopspan.FileError, match="nowhere.xml") as caught:
        stopspan.load(tmp_path / "nowhere.xml")
    assert caught.value.line == 0
    assert caught.value.code == ErrorCode.UNREADABLE


def test_an_unknown_format_is_refused_with_the_known_ones_and_writes_nothing(shop, tmp_path):
    with pytest.raises(stopspan.ModelError, match="no exporter 'pdf'.*dxf.*svg") as caught:
        shop.export(tmp_path / "shed.pdf")
    assert caught.value.code == ErrorCode.NO_EXPORTER
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_not_made(shop, tmp_path):
    with pytest.raises(stopspan.FileError, match="missing"):
        shop.export(tmp_path / "missing" / "shed.xml")
    assert list(tmp_path.iterdir()) == []


def test_an_act_that_is_not_possible_is_refused_and_nothing_has_happened(circuit):
    replay = circuit.replay()
    replay.tap("S1")
    for impossible in ("tap M1", "tap S7", "levitate S1", "latch ES1; tap S7"):
        with pytest.raises(stopspan.ModelError, match="S7|M1|levitate") as caught:
            replay.act(impossible)
        assert caught.value.code in (ErrorCode.BAD_ACT, ErrorCode.UNKNOWN_NAME)
        assert replay.state("Saw") == "runs"


def test_a_device_or_net_that_is_not_there_is_refused_with_those_that_are(circuit):
    replay = circuit.replay()
    for ask in (lambda: circuit["X9"], lambda: replay.tap("X9"), lambda: replay.state("X9")):
        with pytest.raises(stopspan.ModelError, match=r"no device.* 'X9' in the circuit; known: .*\bK1\b"):
            ask()
    with pytest.raises(stopspan.ModelError, match=r"no net 'x9' in the circuit; known: .*\bd\b"):
        replay.live("x9")


def test_several_words_are_not_one_device(circuit):
    with pytest.raises(stopspan.ModelError, match="not one name"):
        circuit.replay().tap("S1; latch ES1")
