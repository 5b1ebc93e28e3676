"""What each format must be, read back by libraries and schemas that know nothing of how it was written."""

import io
import os
import pathlib
import re
import shutil
import subprocess
import sys
from collections import Counter

import ezdxf
import networkx
import pytest
from conftest import REPOSITORY, saw, shed
from drawing_reader import SVG, netlist, place, read_dxf, read_svg, words
from lxml import etree

import stopspan

DATA = REPOSITORY / "tests" / "data"
CHARACTERS = "Ω µ ≥ é — %% \\ ^ <&>\"  日"
DXF = ["dxf", "dxf-r2007", "dxf-r12"]
STEP = (450, 330)  # sheets in model space
FORBIDDEN = set('<>/\\":;?*|,=`')  # in names, by the DXF reference


def odd_names():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": CHARACTERS, "N": "N"})
    circuit.add("Pé≥1", "lamp", {"1": CHARACTERS, "2": "N"}, voltage_v=24.5)
    return circuit


def wired(circuit):
    return {device.designation: dict(device.terminals) for device in circuit.devices}


@pytest.fixture(scope="module", params=["saw", "shed", "odd names"])
def drawn(request):
    made = {"saw": saw, "shed": shed, "odd names": odd_names}[request.param]()
    return made.circuit() if hasattr(made, "circuit") else made, made.drawing()


@pytest.mark.parametrize("format", DXF)
def test_every_dxf_is_the_circuit_and_flawless(drawn, format):
    circuit, drawing = drawn
    wires, symbols, document = read_dxf(stopspan.render(drawing, format))
    assert netlist(wires, symbols) == wired(circuit)
    audit = document.audit()
    assert [entry.message for entry in (*audit.errors, *audit.fixes)] == []
    assert document.dxfversion == {"dxf": "AC1015", "dxf-r2007": "AC1021", "dxf-r12": "AC1009"}[format]


@pytest.mark.parametrize("format", DXF)
def test_names_are_ascii_until_utf_8_came_and_survive(format):
    data = stopspan.render(odd_names().drawing(), format)
    assert data.isascii() == (format != "dxf-r2007")
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    shown = {words(text) for text in document.modelspace().query("TEXT")}
    assert {"Pé≥1", CHARACTERS} <= shown


def pairs_of(data):
    lines = data.decode("utf-8").split("\n")
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=False)]


@pytest.mark.parametrize("format", DXF)
def test_handles_are_unique_and_below_the_next_one(format):
    handles = [int(value, 16) for code, value in pairs_of(stopspan.render(saw().drawing(), format)) if code in (5, 105)]
    seed, handles = handles[0], handles[1:]  # the first is the header's
    assert seed == max(handles) + 1 and len(set(handles)) == len(handles) and min(handles) > 0


def test_every_reference_between_objects_leads_to_one():
    pairs = pairs_of(stopspan.render(saw().drawing(), "dxf"))
    handles = {int(value, 16) for code, value in pairs if code in (5, 105)}
    pointers = [int(value, 16) for code, value in pairs if code in (330, 331, 340, 350) and int(value, 16)]
    assert len(pointers) > 100 and set(pointers) <= handles


def test_r12_has_nothing_that_came_later():
    data = stopspan.render(shed().drawing(), "dxf-r12")
    pairs = pairs_of(data)
    assert not {code for code, _ in pairs} & {100, 102, 290, 330, 331, 340, 350, 370}
    sections = [value for (code, value), (_, before) in zip(pairs[1:], pairs, strict=False) if before == "SECTION"]
    assert sections == ["HEADER", "TABLES", "BLOCKS", "ENTITIES"]
    names = {value for code, value in pairs if code in (2, 8)}
    assert all(re.fullmatch(r"[A-Z0-9$_*-]{1,31}", name) for name in names), names
    assert "$INSUNITS" not in {value for code, value in pairs if code == 9}


def test_each_sheet_has_a_layout_that_shows_it_at_full_size():
    drawing = shed().drawing()
    _, _, document = read_dxf(stopspan.render(drawing, "dxf"))
    layouts = document.layouts.names_in_taborder()
    assert layouts[0] == "Model" and len(layouts) == len(drawing) + 1
    frames = {}
    for insert in document.modelspace().query('INSERT[name=="SHEET_A3"]'):
        frames[insert.get_attrib_text("SHEET")] = insert.dxf.insert
    for name, (number, title) in zip(layouts[1:], drawing.titles, strict=True):
        assert name == f"{number} " + "".join(letter for letter in title if letter not in FORBIDDEN)
        layout = document.layouts.get(name)
        assert (layout.dxf.paper_width, layout.dxf.paper_height) == (420, 297)
        whole, sheet = layout.query("VIEWPORT")
        assert (whole.dxf.id, sheet.dxf.id) == (1, 2)
        assert (sheet.dxf.width, sheet.dxf.height, sheet.dxf.view_height) == (420, 297, 297)
        centre = sheet.dxf.view_center_point
        corner = frames[number]
        assert (centre.x - 210, centre.y - 148.5) == (corner.x, corner.y)
        assert document.layers.get(sheet.dxf.layer).dxf.plot == 0


def test_names_of_layouts_hold_no_sign_that_is_forbidden_there():
    shop = shed()
    shop.add_area('Yard: "A/B" = <1>; x|y, z?*`\\', outline_m=[(20, 0), (28, 0), (28, 6), (20, 6)], board="D1")
    _, _, document = read_dxf(stopspan.render(shop.drawing(), "dxf"))
    assert any("Yard AB" in name for name in document.layouts.names())
    assert not set("".join(document.layouts.names())) & FORBIDDEN
    audit = document.audit()
    assert not audit.errors and not audit.fixes


# --- flat OpenDocument

NAMES = {
    prefix: f"urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"
    for prefix, name in {"office": "office", "style": "style", "text": "text", "draw": "drawing", "svg": "svg-compatible"}.items()
}


def named(prefixed):
    prefix, name = prefixed.split(":")
    return f"{{{NAMES[prefix]}}}{name}"


@pytest.fixture(scope="module")
def opendocument():
    """The published schema of OpenDocument 1.3."""
    return etree.RelaxNG(etree.parse(DATA / "opendocument-1.3.rng"))


def fodg_of(drawing):
    return etree.fromstring(stopspan.render(drawing, "fodg"))


def millimetres(text):
    assert text.endswith("mm")
    return float(text.removesuffix("mm"))


def said(paragraph):
    return (paragraph.text or "") + "".join(" " + (blank.tail or "") for blank in paragraph)


def test_fodg_is_opendocument(drawn, opendocument):
    opendocument.assertValid(fodg_of(drawn[1]))


def test_fodg_has_a_page_of_a3_for_each_sheet(drawn):
    _, drawing = drawn
    root = fodg_of(drawing)
    pages = root.findall(".//draw:page", NAMES)
    assert [page.get(named("draw:name")) for page in pages] == [" ".join(title) for title in drawing.titles]


def test_fodg_has_the_layers_of_the_format_and_those_of_the_sheets(drawn):
    root = fodg_of(drawn[1])
    layers = [layer.get(named("draw:name")) for layer in root.iter(named("draw:layer"))]
    assert layers[:5] == ["layout", "background", "backgroundobjects", "controls", "measurelines"]
    used = {shape.get(named("draw:layer")) for shape in root.find(".//office:drawing", NAMES).iter()} - {None}
    assert {"wires", "symbols", "frame", "title"} <= used <= set(layers[5:]) and len(set(layers)) == len(layers)


def test_what_fodg_refers_to_is_there(drawn):
    root = fodg_of(drawn[1])
    for attribute, definition, name in [
        ("draw:style-name", "style:style", "style:name"),
        ("text:style-name", "style:style", "style:name"),
        ("draw:stroke-dash", "draw:stroke-dash", "draw:name"),
        ("draw:master-page-name", "style:master-page", "style:name"),
        ("style:page-layout-name", "style:page-layout", "style:name"),
    ]:
        defined = [each.get(named(name)) for each in root.iter(named(definition))]
        assert len(set(defined)) == len(defined)
        used = {each.get(named(attribute)) for each in root.iter() if each.get(named(attribute))}
        assert used and used <= set(defined), attribute


def test_fodg_has_the_wires_and_texts_of_the_dxf_in_the_same_places(drawn):
    _, drawing = drawn
    _, _, document = read_dxf(stopspan.render(drawing, "dxf"))
    lines, texts = Counter(), Counter()
    for line in document.modelspace().query('LINE[layer=="WIRES"]'):
        lines[place(line.dxf.start.x, line.dxf.start.y), place(line.dxf.end.x, line.dxf.end.y)] += 1
    for text in document.modelspace().query("TEXT"):
        texts[words(text)] += 1
    found_lines, found_texts = Counter(), Counter()
    for i, page in enumerate(fodg_of(drawing).findall(".//draw:page", NAMES)):
        left, low = STEP[0] * (i % 10), -STEP[1] * (i // 10)
        for line in page.findall("draw:line[@draw:layer='wires']", NAMES):
            x1, y1, x2, y2 = (millimetres(line.get(named(f"svg:{end}"))) for end in ("x1", "y1", "x2", "y2"))
            found_lines[place(x1 + left, 297 - y1 + low), place(x2 + left, 297 - y2 + low)] += 1
        for paragraph in page.findall("draw:frame/draw:text-box/text:p", NAMES):
            found_texts[said(paragraph)] += 1
    assert found_lines == lines and sum(lines.values()) > 3
    assert found_texts == texts


def test_symbols_of_fodg_say_what_they_are(drawn):
    circuit, drawing = drawn
    titles = {title.text for title in fodg_of(drawing).iter(named("svg:title"))}
    assert set(wired(circuit)) <= titles


def test_the_schemas_would_notice_a_fault(opendocument):
    fodg = fodg_of(saw().drawing())
    next(fodg.iter(named("draw:line"))).set(named("svg:x1"), "twelve")
    assert not opendocument.validate(fodg)
    graph = graphml_of(saw().drawing())
    next(graph.iter("{http://graphml.graphdrawing.org/xmlns}edge")).set("target", "n99999")
    assert not etree.XMLSchema(etree.parse(DATA / "graphml-circuit.xsd")).validate(graph)


@pytest.mark.skipif(not shutil.which("soffice"), reason="no office suite here")
def test_an_office_suite_prints_fodg(tmp_path):
    drawing = saw().drawing()
    (tmp_path / "saw.fodg").write_bytes(stopspan.render(drawing, "fodg"))
    profile = f"-env:UserInstallation=file://{tmp_path}/profile"
    command = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", tmp_path, tmp_path / "saw.fodg"]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    pdf = (tmp_path / "saw.pdf").read_bytes()
    assert pdf.startswith(b"%PDF-") and len(re.findall(rb"/Type\s*/Page\b", pdf)) == len(drawing)


# --- GraphML


def graphml_of(drawing):
    root = etree.fromstring(stopspan.render(drawing, "graphml"))
    etree.XMLSchema(etree.parse(DATA / "graphml-circuit.xsd")).assertValid(root)
    return root


def test_graphml_is_the_circuit(drawn):
    circuit, drawing = drawn
    graphml_of(drawing)
    graph = networkx.read_graphml(io.BytesIO(stopspan.render(drawing, "graphml")), force_multigraph=True)
    nodes = dict(graph.nodes(data=True))
    devices = {node: data for node, data in nodes.items() if data["what"] == "device"}
    read = {data["label"]: {} for data in devices.values()}
    for node in devices:
        for _, net, data in graph.edges(node, data=True):
            assert nodes[net]["what"] == "net"
            read[nodes[node]["label"]][data["terminal"]] = nodes[net]["label"]
    assert read == wired(circuit)
    assert graph.number_of_edges() == sum(map(len, read.values()))  # none twice
    assert len(devices) == len(read)
    nets = [data["label"] for data in nodes.values() if data["what"] == "net"]
    assert len(set(nets)) == len(nets)


def test_graphml_carries_kinds_and_parameters():
    circuit = odd_names()
    circuit.add("K1", "contactor", {"A1": "N", "A2": "x"}, coil_voltage_v=24, coil_current="DC")
    graph = networkx.read_graphml(io.BytesIO(stopspan.render(circuit.drawing(), "graphml")), force_multigraph=True)
    data = {each["label"]: each for _, each in graph.nodes(data=True)}
    assert data["K1"] == {"what": "device", "label": "K1", "kind": "contactor", "coil_voltage_v": "24", "coil_current": "DC"}
    assert data["Pé≥1"] == {"what": "device", "label": "Pé≥1", "kind": "lamp", "voltage_v": "24.5"}


# --- SVG

SVG_DTD = pathlib.Path("/usr/share/xml/w3c-sgml-lib/schema/dtd/REC-SVG11-20110816/svg11.dtd")
BESIDE_SVG = ("data-", "{http://www.inkscape.org/namespaces/inkscape}")  # data, and the names a vector editor shows


@pytest.mark.skipif(not SVG_DTD.exists(), reason="Debian's package w3c-sgml-lib is not installed")
def test_svg_is_what_the_w3c_published(drawn):
    published = etree.DTD(SVG_DTD)
    for sheet in drawn[1]:
        root = etree.fromstring(stopspan.render(sheet, "svg"))
        for element in root.iter():
            for name in list(element.attrib):
                if name.startswith(BESIDE_SVG):
                    del element.attrib[name]
        bare = etree.fromstring(etree.tostring(root).replace(b' xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"', b""))
        published.assertValid(bare)
        bare[0].set("colour", "red")
        assert not published.validate(bare)


# --- sheet by sheet


def test_each_sheet_can_be_a_file_and_together_they_are_the_drawing(tmp_path):
    shop = shed()
    shop.export(tmp_path / "shed.svg", each_sheet=True)
    files = sorted(tmp_path.iterdir())
    drawing = shop.drawing()
    digits = len(str(len(drawing)))
    assert [file.name for file in files] == [f"shed-{number.zfill(digits)}.svg" for number, _ in drawing.titles]
    wires, symbols = [], []
    for i, file in enumerate(files):
        more_wires, more_symbols, root = read_svg(file.read_bytes())
        assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("420mm", "297mm", "0 0 420 297")
        assert [sheet.get("id") for sheet in root.findall(f"{SVG}g")] == [f"sheet-{drawing.titles[i][0]}"]
        apart = 1000 * i  # so that places of two sheets are not one

        def moved(at, apart=apart):
            return (at[0] + apart, at[1])

        wires += [(moved(a), moved(b)) for a, b in more_wires]
        symbols += [(said, {name: moved(at) for name, at in points.items()}) for said, points in more_symbols]
    assert netlist(wires, symbols) == wired(shop.circuit())


def test_files_without_sheets_are_not_written_sheet_by_sheet(tmp_path):
    for name in ("shed.xml", "shed.csv"):
        with pytest.raises(stopspan.ModelError, match="has no sheets"):
            shed().export(tmp_path / name, each_sheet=True)
    assert list(tmp_path.iterdir()) == []


# --- what an exporter sees, and exporters in Python


def test_a_drawing_tells_all_that_is_on_it():
    circuit = saw()
    drawing = circuit.drawing()
    assert {device.designation: device.terminals for device in drawing.netlist} == wired(circuit)
    assert {device.designation: device.kind for device in drawing.netlist} == {
        device.designation: str(device.kind) for device in circuit.devices
    }
    wires, symbols = [], []
    shapes = {symbol.name: symbol for symbol in drawing.symbols}
    for i, sheet in enumerate(drawing.sheets):
        assert (sheet.number, sheet.title) == drawing.titles[i]
        for line in sheet.primitives:
            if type(line).__name__ == "Line" and line.layer == "wires":
                wires.append(tuple(place(x + 1000 * i, y) for x, y in (line.a, line.b)))
        for insert in sheet.inserts:
            x, y = insert.at
            points = shapes[insert.symbol].connection_points
            at = {name: place(x + dx + 1000 * i, y + dy) for name, (dx, dy) in points.items()}
            symbols.append((insert.attributes, at))
    assert netlist(wires, symbols) == wired(circuit)
    kinds = Counter(type(each).__name__ for sheet in drawing.sheets for each in sheet.primitives)
    kinds += Counter(type(each).__name__ for symbol in drawing.symbols for each in symbol.shape)
    assert set(kinds) >= {"Line", "Polyline", "Circle", "Text"}
    text = next(each for each in drawing.sheets[0].primitives if type(each).__name__ == "Text")
    assert text.align in {"left", "centre", "right"} and text.height_mm in {2.5, 3.5, 5} and not text.upright


def test_what_is_taken_of_a_drawing_outlives_it():
    sheet = saw().drawing().sheets[0]
    assert sheet.primitives[0].layer and sheet.title


def python(code, **environment):
    """In a process of its own: formats are known to a process for good."""
    path = [str(pathlib.Path(stopspan.__file__).parents[1]), str(REPOSITORY / "tests/python"), *environment.pop("path", [])]
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(path), **environment},
    )
    assert run.returncode == 0, run.stderr
    return run


def test_an_exporter_in_python_is_a_format_like_others(tmp_path):
    code = """if True:
        import pathlib, sys, threading, stopspan
        from conftest import saw
        class Count:
            name = "count"
            suffixes = ["cnt"]
            def write(self, drawing, out):
                out.write(f"{drawing.name}: {len(drawing.netlist)} devices\\n".encode())
        class Broken(Count):
            name, suffixes = "broken", ()
            def write(self, drawing, out):
                out.write(b"half")
                raise OSError("no ink")
        stopspan.add_exporter(Count())
        stopspan.add_exporter(Broken())
        folder = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ".")
        def refused(act, *says):
            try:
                act()
            except stopspan.ModelError as error:
                assert all(word in str(error) for word in says), error
            else:
                raise AssertionError(says)
        saw().export(folder / "saw.cnt")
        print((folder / "saw.cnt").read_text(), end="")
        assert stopspan.render(saw().drawing(), "count") == b"circuit: 7 devices\\n"
        refused(lambda: saw().export(folder / "saw.broken", "broken"), "broken", "OSError: no ink")
        refused(lambda: stopspan.render(saw().drawing(), "broken"), "broken", "OSError: no ink")
        assert not (folder / "saw.broken").exists()
        refused(lambda: stopspan.add_exporter(Count()), "already known")
        for missing in ("name", "suffixes", "write"):
            parts = {"name": "x", "suffixes": (), "write": print}
            del parts[missing]
            refused(lambda: stopspan.add_exporter(type("Odd", (), parts)()), "is no exporter", missing)
        refused(lambda: stopspan.add_exporter(type("Odd", (), {"name": "x", "suffixes": "svg", "write": print})()), "list")
        threads = [threading.Thread(target=lambda: [saw().export(folder / "t.cnt") for _ in range(20)]) for _ in range(4)]
        [thread.start() for thread in threads]
        [thread.join() for thread in threads]
    """
    assert python(f"import os; os.chdir({str(tmp_path)!r})\n{code}").stdout == "saw: 7 devices\n"


def entry_point(folder, name, lines, module):
    (folder / f"{name}.py").write_text(module)
    info = folder / f"{name}-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1\n")
    (info / "entry_points.txt").write_text("[stopspan.exporters]\n" + lines)


def test_exporters_are_found_by_their_entry_points_and_bad_ones_are_named_and_skipped(tmp_path):
    good = (
        "import stopspan\nstopspan.formats()  # while it is being loaded\n"
        "class Good:\n    name = 'good'\n    suffixes = ()\n    def write(self, drawing, out): out.write(b'good')\n"
        "instance = Good()\ninstance.name = 'instance'\n"
    )
    entry_point(tmp_path, "good_one", "good = good_one:Good\nanother = good_one:instance\n", good)
    entry_point(tmp_path, "bad_one", "bad = bad_one:Bad\nmissing = bad_one:Missing\n", "class Bad: pass\n")
    entry_point(tmp_path, "broken_one", "broken = broken_one:X\n", "raise ValueError('out of order')\n")
    run = python(
        "import stopspan; print(*stopspan.formats()); from conftest import saw\n"
        "print(stopspan.render(saw().drawing(), 'good').decode())",
        path=[str(tmp_path)],
    )
    assert run.stdout == "dxf dxf-r12 dxf-r2007 fodg good graphml instance svg\ngood\n"
    for name, why in [("bad", "it has no name"), ("missing", "AttributeError"), ("broken", "ValueError: out of order")]:
        [line] = [line for line in run.stderr.splitlines() if f"RuntimeWarning: exporter '{name}'" in line]
        assert why in line and "skipped" in line


def test_folders_of_exporters_are_named_by_the_environment_and_bad_libraries_are_skipped(tmp_path):
    (tmp_path / "broken.so").write_text("no library")
    shutil.copy(pathlib.Path(stopspan.__file__).parent / "exporters/svg.so", tmp_path / "again.so")
    run = python("import stopspan; print(*stopspan.formats())", STOPSPAN_EXPORTERS=f"{tmp_path}{os.pathsep}/no/such/folder")
    assert run.stdout.split() == ["dxf", "dxf-r12", "dxf-r2007", "fodg", "graphml", "svg"]
    for name, why in [("broken.so", "skipped"), ("again.so", "already known"), ("/no/such/folder", "cannot be read")]:
        assert [line for line in run.stderr.splitlines() if name in line and why in line], run.stderr


def test_threads_that_ask_for_formats_first_all_get_all_of_them(tmp_path):
    entry_point(
        tmp_path,
        "slow_one",
        "slow = slow_one:Slow\n",
        "import time\ntime.sleep(0.3)\n"
        "class Slow:\n    name = 'slow'\n    suffixes = ()\n    def write(self, drawing, out): pass\n",
    )
    code = (
        "import stopspan, threading\nfound = []\n"
        "threads = [threading.Thread(target=lambda: found.append('slow' in stopspan.formats())) for _ in range(4)]\n"
        "[each.start() for each in threads]; [each.join() for each in threads]\nprint(found)\n"
    )
    assert python(code, path=[str(tmp_path)]).stdout == "[True, True, True, True]\n"


def test_formats_can_be_named_by_any_suffix_of_theirs_or_by_name(tmp_path):
    saw().export(tmp_path / "a.dxf")
    saw().export(tmp_path / "b.dxf", "dxf-r12")
    assert "AC1015" in (tmp_path / "a.dxf").read_text() and "AC1009" in (tmp_path / "b.dxf").read_text()
    with pytest.raises(stopspan.ModelError, match=r"no exporter 'dxf-r12'; known: csv, dxf, dxf-r12, .*graphml, svg, xml"):
        saw().export(tmp_path / "c.dxf-r12")
