"""What measures drawings must find what it looks for: each test spoils a good drawing in one way."""

import io

import ezdxf
import pytest
from conftest import saw, shed
from drawing_layout import clipped, layout_faults
from drawing_reader import words

import stopspan


@pytest.fixture
def document():
    document = ezdxf.read(io.StringIO(stopspan.render(saw().drawing(), "dxf").decode("utf-8")))
    assert layout_faults(document) == [] and clipped(document) == []
    return document


def text(document, said):
    return next(each for each in document.modelspace().query("TEXT") if words(each) == said)


def insert(document, designation):
    for each in document.modelspace().query("INSERT"):
        if each.get_attrib_text("DESIGNATION") == designation:
            return each
    raise LookupError(designation)


def wire_at(document, designation, terminal):
    at = next(each for each in insert(document, designation).attribs if each.dxf.text == terminal).dxf.insert
    for line in document.modelspace().query('LINE[layer=="WIRES"]'):
        if at.isclose(line.dxf.start) or at.isclose(line.dxf.end):
            return line
    raise LookupError(terminal)


def found(document, *some):
    faults = layout_faults(document)
    return any(all(word in fault for word in some) for fault in faults)


def test_text_over_text(document):
    text(document, "S1").dxf.align_point = text(document, "S2").dxf.align_point
    assert found(document, "text 'S", "over text 'S")


def test_text_a_little_into_its_neighbour(document):
    low = text(document, "F1")
    low.dxf.text = "F1 of a name that runs on beyond the place it has"
    assert found(document, "over a")


def test_text_over_a_wire(document):
    wire, name = wire_at(document, "S1", "13"), text(document, "S1")
    name.dxf.align_point = (wire.dxf.start + wire.dxf.end) / 2 + (1, -1, 0)
    assert found(document, "text 'S1' over a wire")


def test_text_over_a_symbol(document):
    text(document, "K1").dxf.align_point = insert(document, "M1").dxf.insert + (5, -14, 0)
    assert found(document, "text 'K1' over a line")


def test_text_outside_the_frame(document):
    text(document, "M1").dxf.align_point = (8 + 450, 100)  # sheet 2, in the margin for binding
    assert found(document, "text 'M1' leaves the frame")


def test_text_too_small_to_read(document):
    text(document, "S1").dxf.height = 1.8
    assert found(document, "text 'S1' is 1.8 mm high")


def test_a_wire_that_ends_beside_its_terminal(document):
    wire = wire_at(document, "S1", "13")
    wire.dxf.start, wire.dxf.end = wire.dxf.start + (0.5, 0, 0), wire.dxf.end + (0.5, 0, 0)
    assert found(document, "ends nowhere")


def test_a_wire_through_a_symbol(document):
    motor = insert(document, "M1").dxf.insert
    document.modelspace().add_line(motor + (-20, -13, 0), motor + (40, -13, 0), {"layer": "WIRES"})
    assert found(document, "runs through M1")


def test_wires_on_each_other(document):
    wire = wire_at(document, "S1", "13")
    document.modelspace().add_line(wire.dxf.start, (wire.dxf.start + wire.dxf.end) / 2, {"layer": "WIRES"})
    assert found(document, "lie on each other")


def test_a_symbol_over_another(document):
    symbol = insert(document, "S1")
    symbol.dxf.insert = insert(document, "S2").dxf.insert
    assert found(document, "symbol of S", "over that of S")


def test_a_sheet_with_next_to_nothing_on_it(document):
    space = document.modelspace()
    for each in space.query("TEXT LINE"):
        space.delete_entity(each)
    assert found(document, "all but empty")


def test_a_text_cut_short_to_fit():
    shop = shed()
    shop.title_block.title = "A title of more words than the field of the title block could ever show in its width " * 2
    document = ezdxf.read(io.StringIO(stopspan.render(shop.drawing(), "dxf").decode("utf-8")))
    assert clipped(document)
