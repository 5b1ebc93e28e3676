import io
import os
import pathlib
import subprocess
import sys

import crowded_works
import ezdxf
import pytest
from conftest import REPOSITORY, saw, shed
from drawing_layout import clipped, layout_faults, sheets_of
from drawing_reader import SVG, ends_within, netlist, read_dxf, read_svg, words
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

import stopspan

DATA = REPOSITORY / "tests" / "data"
TABLES = sorted((DATA / "circuits").glob("*.csv"))
CHARACTERS = "Ω µ ≥ é — %% \\ ^ <&>\" 日"


def recorded(path):
    return stopspan.Circuit.from_csv(path.read_text(encoding="utf-8"), path.name)


def wired(circuit):
    return {device.designation: dict(device.terminals) for device in circuit.devices}


def check_dxf(circuit, drawing, sparse=False):
    wires, symbols, document = read_dxf(stopspan.render(drawing, "dxf"))
    assert netlist(wires, symbols) == wired(circuit)
    assert ends_within(wires) == []
    audit = document.audit()
    assert not audit.errors and not audit.fixes, [entry.message for entry in (*audit.errors, *audit.fixes)]
    faults = layout_faults(document)
    if sparse:  # what nobody would build may need a sheet for a single part
        faults = [fault for fault in faults if not fault.endswith("all but empty")]
    assert faults == []
    return document


def check_svg(circuit, drawing):
    wires, symbols, root = read_svg(stopspan.render(drawing, "svg"))
    assert netlist(wires, symbols) == wired(circuit)
    assert ends_within(wires) == []
    schema.assertValid(root)
    return root


schema = etree.XMLSchema(etree.parse(DATA / "svg-sheets.xsd"))


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_the_drawing_of_every_recorded_circuit_is_that_circuit(path):
    circuit = recorded(path)
    drawing = circuit.drawing()
    check_dxf(circuit, drawing)
    check_svg(circuit, drawing)


def test_the_drawing_of_an_installation_is_its_wired_circuit():
    shop = shed()
    drawing = shop.drawing()
    check_dxf(shop.circuit(), drawing)
    check_svg(shop.circuit(), drawing)
    titles = [title for _, title in drawing.titles]
    for machine in ("Lathe", "Drill"):
        assert f"{machine}: power and control circuit" in titles
    assert "Plan: Room, ground floor" in titles
    assert "Zone Z1: circuit" in titles
    assert "Stop matrix" in titles


CONTROLS = [("same-supply", 230), ("dc-supply", 24), *(("transformer", volts) for volts in (24, 48, 110, 230))]


@pytest.mark.parametrize("starter", ["one-phase-in-line", "one-phase-one-pole", "one-phase-two-pole", "direct",
                                     "reversing", "star-delta", "two-speed", "drive"])
@pytest.mark.parametrize("link", ["series-chain", "zone-relay", "zone-contactor", "contact-blocks", "stop-relay"])
def test_every_arrangement_is_drawn_as_wired_and_fit_to_be_read(starter, link):
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Room", outline_m=[(0, 0), (8, 0), (8, 6), (0, 6)], board="D1")
    volts = 230 if starter.startswith("one-phase") else 400
    # The in-line start button carries the motor current beside the coil's, so both have the motor's own volts.
    for i, (control, control_v) in enumerate(CONTROLS[:1] if starter == "one-phase-in-line" else CONTROLS):
        shop.add_machine(
            f"Machine {i}",
            area="Room",
            at_m=(1 + i, 2 + i % 2),
            motors=[stopspan.Motor(f"M{i}", 0.37, volts)],
            starter=starter,
            control=control,
            control_voltage_v=control_v,
            isolator=f"Q{i}",
        )
    shop.add_load("E1", area="Room", at_m=(4, 4))
    shop.add_stop("ES1", area="Room", at_m=(0.2, 3))
    reset = {"reset": "S9"} if link in ("zone-relay", "zone-contactor", "stop-relay") else {}
    shop.add_zone("Z1", link=link, devices=["ES1"], areas=["Room"], **reset)
    drawing = shop.drawing()
    document = check_dxf(shop.circuit(), drawing)
    check_svg(shop.circuit(), drawing)
    assert clipped(document) == []


def test_the_demo_is_drawn_as_wired_and_fit_to_be_read(monkeypatch):
    monkeypatch.syspath_prepend(REPOSITORY / "examples")
    import demo

    shop = demo.describe()
    drawing = shop.drawing()
    document = check_dxf(shop.circuit(), drawing)
    check_svg(shop.circuit(), drawing)
    assert clipped(document) == []


def test_a_works_that_nothing_was_laid_out_for_is_fit_to_be_read():
    shop = crowded_works.describe()
    drawing = shop.drawing()
    document = check_dxf(shop.circuit(), drawing)
    check_svg(shop.circuit(), drawing)
    titles = [title for _, title in drawing.titles]
    assert clipped(document) == []
    assert "Zone Halle längs: circuit" in titles and "Plan: Zähler, Zwischengeschoß" in titles


LONG = "Four-sided planing and moulding machine with feed table, second from the gate"


def test_a_long_machine_name_is_said_in_full_on_its_sheets_and_in_the_list_of_sheets():
    shop = stopspan.Installation("Shed")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Room", outline_m=[(0, 0), (8, 0), (8, 6), (0, 6)], board="D1")
    shop.add_machine(LONG, area="Room", at_m=(3, 3), motors=[stopspan.Motor("M1", 3)], isolator="Q1")
    shop.add_machine("Saw", area="Room", at_m=(6, 3), motors=[stopspan.Motor("M2", 3)], isolator="Q2")
    document = check_dxf(shop.circuit(), shop.drawing())
    assert clipped(document) == []
    title = f"{LONG}: power and control circuit"
    for sheet in sheets_of(document):
        lines = sorted(sheet.texts, key=lambda text: -text[0][1])  # from the top
        if sheet.title["DOCUMENT_TYPE"] == "List of sheets":
            assert title in " ".join(said for box, said, *_ in lines if 40 < box[0] < 50)
        if sheet.title["SHEET_TITLE"] == title:
            caption = next(box for box, said, *_ in lines if said == "Supplementary title")
            below = [said for box, said, *_ in lines if abs(box[0] - caption[0]) < 0.1 and 0 < caption[1] - box[1] < 10]
            assert " ".join(below) == title
            break
    else:
        raise AssertionError("no sheet of the machine")


contacts = {
    "push-button": [("13", "14"), ("21", "22")],
    "emergency-stop": [("11", "12"), ("21", "22")],
    "relay": [("A1", "A2"), ("13", "14"), ("21", "22"), ("1", "2")],
    "contactor": [("A1", "A2"), ("13", "14"), ("1", "2"), ("3", "4"), ("5", "6")],
    "timer": [("A1", "A2"), ("17", "18"), ("55", "56")],
    "fuse": [("1", "2")],
    "lamp": [("1", "2")],
    "link": [("1", "2")],
    "transformer": [("p1", "p2"), ("s1", "s2")],
}
needs = {"relay": 1, "contactor": 1, "timer": 1, "transformer": 2}
parameters = {
    "relay": {"coil_voltage_v": 24},
    "contactor": {"coil_voltage_v": 230},
    "timer": {"coil_voltage_v": 230},
    "transformer": {"secondary_v": 24},
}


@st.composite
def circuits(draw):
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    nets = ["L1", "L2", "N", "PE", *(f"net {i}" for i in range(draw(st.integers(1, 12))))]
    for i in range(draw(st.integers(0, 25))):
        kind = draw(st.sampled_from(sorted(contacts)))
        count = draw(st.integers(needs.get(kind, 1), len(contacts[kind])))
        terminals = {end: draw(st.sampled_from(nets)) for pair in contacts[kind][:count] for end in pair}
        circuit.add(f"D{i}", kind, terminals, **parameters.get(kind, {}))
    return circuit


@settings(max_examples=60, deadline=None, derandomize=True)
@given(circuits())
def test_any_circuit_is_drawn_as_it_is(circuit):
    drawing = circuit.drawing()
    check_dxf(circuit, drawing, sparse=True)
    check_svg(circuit, drawing)


def test_same_input_gives_the_same_bytes_also_in_another_process(tmp_path):
    script = (
        "import pathlib, sys, stopspan\n"
        "circuit = stopspan.Circuit.from_csv(pathlib.Path(sys.argv[1]).read_text())\n"
        "for name in stopspan.formats():\n"
        "    pathlib.Path(sys.argv[2], 'out.' + name).write_bytes(stopspan.render(circuit.drawing(), name))\n"
    )
    path = DATA / "circuits" / "T05.csv"
    environment = {**os.environ, "PYTHONPATH": str(pathlib.Path(stopspan.__file__).parents[1]), "PYTHONHASHSEED": "7"}
    subprocess.run([sys.executable, "-c", script, str(path), str(tmp_path)], check=True, env=environment)
    for name in stopspan.formats():
        assert (tmp_path / f"out.{name}").read_bytes() == stopspan.render(recorded(path).drawing(), name)


def test_dxf_has_the_tables_and_settings_of_its_version():
    document = check_dxf(saw(), saw().drawing())
    assert document.dxfversion == "AC1015"
    assert document.header["$INSUNITS"] == 4
    layers = {layer.dxf.name: layer for layer in document.layers}
    for name in ("FRAME", "TITLE", "SYMBOLS", "WIRES", "DESIGNATIONS", "TERMINALS", "NET_NAMES", "PLAN", "STOPS",
                 "REFERENCES"):
        assert layers[name].dxf.lineweight in (25, 35, 50, 70)
    for entity in document.modelspace():
        assert entity.dxftype() in {"LINE", "LWPOLYLINE", "CIRCLE", "ARC", "TEXT", "SOLID", "INSERT"}
        assert not entity.dxf.hasattr("lineweight")
    widths = {text.dxf.height for text in document.modelspace().query("TEXT")}
    assert widths <= {2.5, 3.5, 5.0}


def test_what_an_attribute_says_of_a_device_can_also_be_read_on_the_sheet():
    document = check_dxf(saw(), saw().drawing())
    shown = {words(text) for text in document.modelspace().query("TEXT")}
    for insert in document.modelspace().query("INSERT"):
        for attribute in insert.attribs:
            assert attribute.is_invisible
            if attribute.dxf.tag == "DESIGNATION" or attribute.dxf.tag.startswith("TERMINAL_"):
                assert words(attribute) in shown


def test_characters_beyond_ascii_survive_in_both_formats():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": CHARACTERS, "N": "N"})
    circuit.add("Pé≥1", "lamp", {"1": CHARACTERS, "2": "N"})
    drawing = circuit.drawing()
    document = check_dxf(circuit, drawing)
    check_svg(circuit, drawing)
    shown = {words(text) for text in document.modelspace().query("TEXT")}
    assert "Pé≥1" in shown and CHARACTERS in shown
    _, _, document = read_dxf(stopspan.render(drawing, "dxf-r2007"))
    assert "Pé≥1" in {text.dxf.text for text in document.modelspace().query("TEXT")}  # for readers without a notation


def test_svg_is_a_sheet_of_a3_in_millimetres_with_named_layers_and_text_as_text():
    root = check_svg(saw(), saw().drawing())
    assert root.get("width") == "420mm"
    sheets = root.findall(f"{SVG}g")
    assert float(root.get("height").removesuffix("mm")) == 317 * len(sheets) - 20
    assert root.get("viewBox") == f"0 0 420 {317 * len(sheets) - 20}"
    layers = {layer.get("{http://www.inkscape.org/namespaces/inkscape}label") for layer in root.iter(f"{SVG}g")}
    assert {"wires", "symbols", "designations", "terminals", "net-names", "frame", "title"} <= layers
    assert "K1" in {text.text for text in root.iter(f"{SVG}text")}


def test_the_schema_refuses_what_is_not_of_the_subset():
    root = check_svg(saw(), saw().drawing())
    next(root.iter(f"{SVG}line")).tag = f"{SVG}polygone"
    assert not schema.validate(root)


def test_ezdxf_audit_would_notice_a_spoilt_file():
    data = stopspan.render(saw().drawing(), "dxf").decode("utf-8")
    spoilt = ezdxf.read(io.StringIO(data.replace("  2\nMAKE_CONTACT\n 10\n", "  2\nNO_SUCH_BLOCK\n 10\n")))
    assert spoilt.audit().fixes or spoilt.audit().errors
