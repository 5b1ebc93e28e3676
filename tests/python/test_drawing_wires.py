"""Each wire of each sheet, followed from outside: what the lines of a DXF join is what the wiring table joins.

Knows of a drawing only what it publishes: wires are lines of the layer WIRES, a dot is a circle there; a symbol's
attribute TERMINAL_n stands on its connection point; a mark's attribute NET names the net at its place.
"""

import io
import math
import re
from collections import Counter, defaultdict

import crowded_works
import ezdxf
import networkx
import pytest
from conftest import REPOSITORY, saw
from drawing_layout import SHEET_STEP
from drawing_reader import place, words

import stopspan

pytestmark = pytest.mark.xdist_group("drawing_wires")

SOURCES = {"mains-3ph", "mains-1ph", "dc-supply", "transformer"}
CONDUCT_WHEN_CLOSED = {"isolator", "fuse", "overload", "contactor", "relay", "timer", "push-button", "emergency-stop",
                       "key-switch", "pedal", "floor-bar", "pull-wire"}


def demo():
    import demo

    return demo.describe()


@pytest.fixture(scope="module", params=["demo", "crowded works", "saw"])
def drawn(request):
    """The wiring table and the DXF of one installation."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(REPOSITORY / "examples")
        what = {"demo": demo, "crowded works": crowded_works.describe, "saw": saw}[request.param]()
    circuit = what.circuit() if isinstance(what, stopspan.Installation) else what
    return circuit, stopspan.render(what.drawing(), "dxf").decode("utf-8")


def read(text):
    return ezdxf.read(io.StringIO(text))


class Sheet:
    def __init__(self):
        self.number = ""
        self.wires, self.dots = [], set()
        self.terminals = {}  # (device, terminal): place
        self.symbols = []  # (kind, {terminal: place}) of one symbol each
        self.marks = []  # (block, net, PLACE, place)
        self.references = []  # (text, place)

    def islands(self):
        """Places joined by wires."""
        graph = networkx.Graph(self.wires)
        graph.add_nodes_from([*self.terminals.values(), *(mark[3] for mark in self.marks)])
        return [set(island) for island in networkx.connected_components(graph)]


def sheets_of(document):
    sheets = defaultdict(Sheet)

    def sheet_at(point):
        return sheets[math.floor(point[1] / SHEET_STEP[1]), math.floor(point[0] / SHEET_STEP[0])]

    for entity in document.modelspace():
        kind, layer = entity.dxftype(), entity.dxf.layer
        if kind == "LINE" and layer == "WIRES":
            a, b = place(*entity.dxf.start.vec2), place(*entity.dxf.end.vec2)
            sheet_at(a).wires.append((a, b))
        elif kind == "CIRCLE" and layer == "WIRES":
            at = place(*entity.dxf.center.vec2)
            sheet_at(at).dots.add(at)
        elif kind == "TEXT" and layer == "REFERENCES":
            at = (entity.dxf.align_point if entity.dxf.get("halign", 0) else entity.dxf.insert).vec2
            sheet_at(at).references.append((words(entity), at))
        elif kind == "INSERT":
            sheet = sheet_at(entity.dxf.insert)
            said = {each.dxf.tag: words(each) for each in entity.attribs}
            at = {each.dxf.tag: place(*each.dxf.insert.vec2) for each in entity.attribs}
            if entity.dxf.name == "SHEET_A3":
                sheet.number = said["SHEET"]
            if "NET" in said:
                sheet.marks.append((entity.dxf.name, said["NET"], said["PLACE"], at["NET"]))
            ends = {said[tag]: at[tag] for tag in said if tag.startswith("TERMINAL_")}
            if ends:
                sheet.symbols.append((said["KIND"], said["DESIGNATION"], ends))
            for terminal, point in ends.items():
                key = (said["DESIGNATION"], terminal)
                assert key not in sheet.terminals, f"{key} is drawn twice"
                sheet.terminals[key] = point
    return list(sheets.values())


def wire_faults(circuit, document):
    """One line for each wire, dot or terminal that says something else than the wiring table."""
    nets = {(device.designation, terminal): net for device in circuit.devices for terminal, net in device.terminals.items()}
    faults, drawn = [], Counter()
    for sheet in sheets_of(document):
        found = []
        drawn.update(sheet.terminals.keys())
        at_place = defaultdict(set)
        for key, at in sheet.terminals.items():
            at_place[at].add(nets.get(key, f"no terminal {key}"))
        ends = Counter(end for wire in sheet.wires for end in wire)
        marked = {mark[3] for mark in sheet.marks}
        for end, count in ends.items():
            if count == 1 and end not in at_place and end not in marked:
                found.append(f"a wire ends nowhere at {end}")
            if (count > 2) != (end in sheet.dots):
                found.append(f"{count} wires meet at {end} {'without' if count > 2 else 'and have'} a dot")
        found += [f"a dot beside all wires at {dot}" for dot in sheet.dots - ends.keys()]
        island_of = {}
        for i, island in enumerate(sheet.islands()):
            island_of.update(dict.fromkeys(island, i))
            wired = {net for at in island for net in at_place.get(at, ())}
            named = {net for _, net, _, at in sheet.marks if at in island}
            if len(wired) != 1 or named != wired:
                found.append(f"a wire at {min(island)} joins {sorted(wired)} and is named {sorted(named)}")
        for across in (wire for wire in sheet.wires if wire[0][1] == wire[1][1]):
            y, (left, right) = across[0][1], sorted(end[0] for end in across)
            for upright in (wire for wire in sheet.wires if wire[0][0] == wire[1][0]):
                x, (low, high) = upright[0][0], sorted(end[1] for end in upright)
                touch = left <= x <= right and low <= y <= high
                crosses = left < x < right and low < y < high
                if crosses and island_of[across[0]] == island_of[upright[0]]:
                    found.append(f"wires of one net cross without a dot at {x, y}")
                if touch and not crosses and (x, y) not in {*across} & {*upright}:
                    found.append(f"a wire ends on the middle of another at {x, y}")
        faults += [f"sheet {sheet.number}: {fault}" for fault in found]
    faults += [f"{key} is drawn {drawn[key]} times" for key in nets if drawn[key] != 1]
    return faults


def test_wires_join_what_the_wiring_table_joins_and_nothing_else(drawn):
    circuit, text = drawn
    assert wire_faults(circuit, read(text)) == []


def pieces_of_nets(sheets):
    """{net: [places of the marks of each piece of it that hangs together]}, and the same with what is written there."""
    pieces = defaultdict(list)
    for sheet in sheets:
        for island in sheet.islands():
            marks = [mark for mark in sheet.marks if mark[3] in island]
            said = [
                said
                for said, where in sheet.references
                for mark in marks
                if re.fullmatch(r"\d+/\w+( \+\d+)?", said) and abs(where[0] - mark[3][0]) < 2.5 and abs(where[1] - mark[3][1]) < 80
            ]
            pieces[marks[0][1]].append(({f"{sheet.number}/{mark[2]}" for mark in marks}, said, marks))
    return pieces


def listed_places(document):
    """What the list of cross-references says: {device or wire: [places]}."""
    listed, rows = {}, []
    lists = {
        (math.floor(insert.dxf.insert.x / SHEET_STEP[0]), math.floor((insert.dxf.insert.y) / SHEET_STEP[1]))
        for insert in document.modelspace().query('INSERT[name=="TITLE_BLOCK"]')
        if words(insert.get_attrib("DOCUMENT_TYPE")) == "List of cross-references"
    }
    for text in document.modelspace().query('TEXT[layer=="REFERENCES"]'):
        x, y = text.dxf.insert.x, text.dxf.insert.y
        sheet = (math.floor(x / SHEET_STEP[0]), math.floor(y / SHEET_STEP[1]))
        if sheet in lists:
            dx = x - sheet[0] * SHEET_STEP[0]
            rows.append((-sheet[1], sheet[0], dx > 200, -y, dx, words(text)))
    name = None
    for *_, dx, said in sorted(rows):
        if dx in (28, 218):
            name = said
        elif name:
            listed.setdefault(name, []).extend(said.replace(",", " ").split())
    return listed


def test_every_piece_of_a_net_says_where_the_net_goes_on_and_arrows_lead_somewhere(drawn):
    _, text = drawn
    document = read(text)
    listed = listed_places(document)
    apart = 0
    for net, pieces in pieces_of_nets(sheets_of(document)).items():
        named, counted = set(), set()
        for places, said, marks in pieces:
            if len(pieces) == 1:
                assert {mark[0] for mark in marks} == {"NET_NAME"}, f"an arrow of {net} leads nowhere"
                continue
            apart += 1
            others = set().union(*(each for each, _, other in pieces if other is not marks))
            named_here = {each.split()[0] for each in said} & others
            assert named_here, f"{net} at {places} does not say where it goes on: {said}"
            named |= named_here
            counted |= {each for each in named_here for count in said if count == f"{each} +{len(pieces) - 2}"}
        if len(pieces) > 2:  # its beginning names one and counts the rest; the list has all
            assert counted, f"{net} does not say at its beginning that it goes to {len(pieces) - 1} places"
            named = set(listed[net])
        if len(pieces) > 1:
            assert all(named & places for places, *_ in pieces), f"{net} is at a place that nothing names"
    assert apart > 0


def test_contacts_of_one_device_say_where_the_others_are(drawn):
    """Those that no coil moves; a coil has its own list."""
    circuit, text = drawn
    document = read(text)
    listed = listed_places(document)
    several = 0
    for device in circuit.devices:
        if device.kind not in {"emergency-stop", "push-button", "pedal", "floor-bar", "key-switch"}:
            continue
        symbols = [
            (sheet, ends)
            for sheet in sheets_of(document)
            for _, name, ends in sheet.symbols
            if name == device.designation
        ]
        for sheet, ends in symbols if len(symbols) > 1 else ():
            (x, top), (_, low) = sorted(ends.values(), key=lambda end: -end[1])
            near = [
                said
                for said, where in sheet.references
                if re.fullmatch(r"\d+/\w+( \+\d+)?", said) and 0 < where[0] - x < 5 and low < where[1] < top
            ]
            assert len(near) == 1, f"{device.designation} {ends} refers to {near}"
            assert near[0].split("/")[0] in {other.number for other, _ in symbols}
            if len(symbols) > 2:
                several += 1
                assert {"-".join(sorted(ends)) for _, ends in symbols} <= set(listed[device.designation])
    assert several > 0 or len(circuit.devices) < 100


def test_current_flows_down_every_contact(drawn):
    """Counted in contacts from the nearest live pole: the upper terminal is never the farther one."""
    circuit, text = drawn
    nets = {(device.designation, terminal): net for device in circuit.devices for terminal, net in device.terminals.items()}
    graph, live, pairs = networkx.Graph(), set(), []
    for sheet in sheets_of(read(text)):
        for kind, name, ends in sheet.symbols:
            if kind in SOURCES:
                outputs = {"L", "L1", "L2", "L3", "P", "M", "s1", "s2"}
                live |= {nets[name, terminal] for terminal in ends if terminal in outputs}
            if kind not in CONDUCT_WHEN_CLOSED or "A1" in ends:
                continue
            columns = defaultdict(list)
            for terminal, (x, y) in ends.items():
                columns[x].append((y, nets[name, terminal]))
            for column in columns.values():
                (_, below), (_, above) = sorted(column)
                graph.add_edge(above, below)
                pairs.append((sheet.number, name, above, below))
    steps = networkx.multi_source_dijkstra_path_length(graph, live & set(graph))
    upwards = [
        (number, name, above, below)
        for number, name, above, below in pairs
        if above in steps and below in steps and steps[above] > steps[below]
    ]
    downwards = [pair for pair in pairs if pair[2] in steps and steps[pair[2]] < steps.get(pair[3], -1)]
    assert upwards == [] and len(downwards) > len(pairs) / 2


@pytest.fixture
def good():
    circuit = saw()
    document = read(stopspan.render(circuit.drawing(), "dxf").decode("utf-8"))
    assert wire_faults(circuit, document) == []
    return circuit, document


def wires(document):
    return document.modelspace().query('LINE[layer=="WIRES"]')


def test_a_wire_that_is_missing_would_be_noticed(good):
    circuit, document = good
    for i in range(len(wires(document))):
        spoilt = read(stopspan.render(circuit.drawing(), "dxf").decode("utf-8"))
        spoilt.modelspace().delete_entity(wires(spoilt)[i])
        assert wire_faults(circuit, spoilt), f"without wire {i}"


def test_a_wire_that_ends_half_a_millimetre_off_would_be_noticed(good):
    circuit, document = good
    wires(document)[0].dxf.start += (0.5, 0, 0)
    assert wire_faults(circuit, document)


def test_a_missing_dot_would_be_noticed(good):
    circuit, document = good
    document.modelspace().delete_entity(document.modelspace().query('CIRCLE[layer=="WIRES"]')[0])
    assert any("without a dot" in fault for fault in wire_faults(circuit, document))


def test_a_net_named_otherwise_would_be_noticed(good):
    circuit, document = good
    for insert in document.modelspace().query("INSERT"):
        if insert.get_attrib_text("NET") == "d":
            insert.get_attrib("NET").dxf.text = "c"
    assert any("is named ['c']" in fault for fault in wire_faults(circuit, document))


def test_another_wiring_table_would_be_noticed(good):
    circuit, document = good
    circuit.connect("K1", "13", "b")
    assert wire_faults(circuit, document)


def test_stops_ahead_of_the_control_transformers_of_several_machines_have_a_sheet_of_their_own():
    shop = stopspan.Installation("Two pumps")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Cellar", outline_m=[(0, 0), (8, 0), (8, 6), (0, 6)], board="D1")
    for i in (1, 2):
        motor = stopspan.Motor(f"M{i}", 1.5)
        how = {"control": "transformer", "control_voltage_v": 24, "isolator": f"Q{i}"}
        shop.add_machine(f"Pump {i}", area="Cellar", at_m=(2 * i, 2), motors=[motor], **how)
    shop.add_stop("ES1", area="Cellar", at_m=(0.1, 1))
    shop.add_stop("ES2", area="Cellar", at_m=(0.1, 5))
    shop.add_zone("Cellar stops", link="series-chain", devices=["ES1", "ES2"], areas=["Cellar"])
    document = read(stopspan.render(shop.drawing(), "dxf").decode("utf-8"))
    titles = {
        words(insert.get_attrib("SHEET")).split()[0]: words(insert.get_attrib("SHEET_TITLE"))
        for insert in document.modelspace().query('INSERT[name=="TITLE_BLOCK"]')
    }
    sheet_of = {name: titles[sheet.number] for sheet in sheets_of(document) for _, name, _ in sheet.symbols}
    assert sheet_of["ES1"] == sheet_of["ES2"] == "Zone Cellar stops: circuit"
    assert sheet_of["T1.1"] == "Pump 1: power and control circuit"
    assert wire_faults(shop.circuit(), document) == []


def test_a_zone_relay_with_a_contact_in_a_motor_line_stands_on_the_sheet_of_its_zone():
    shop = stopspan.Installation("Two pumps")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Cellar", outline_m=[(0, 0), (8, 0), (8, 6), (0, 6)], board="D1")
    small = stopspan.Motor("M1", 0.37, 230)  # its start button carries the motor current, so the relay's contact does
    shop.add_machine("Pump 1", area="Cellar", at_m=(2, 2), motors=[small], starter="one-phase-in-line", isolator="Q1")
    shop.add_machine("Pump 2", area="Cellar", at_m=(4, 2), motors=[stopspan.Motor("M2", 1.5)], isolator="Q2")
    shop.add_stop("ES1", area="Cellar", at_m=(0.1, 1))
    shop.add_zone("Cellar stops", link="zone-relay", devices=["ES1"], areas=["Cellar"], reset="S91")
    document = read(stopspan.render(shop.drawing(), "dxf").decode("utf-8"))
    titles = {
        words(insert.get_attrib("SHEET")).split()[0]: words(insert.get_attrib("SHEET_TITLE"))
        for insert in document.modelspace().query('INSERT[name=="TITLE_BLOCK"]')
    }
    sheets = {
        (name, terminal): titles[sheet.number]
        for sheet in sheets_of(document)
        for _, name, ends in sheet.symbols
        for terminal in ends
    }
    assert sheets["K01.1", "A1"] == sheets["ES1", "11"] == sheets["S91", "13"] == "Zone Cellar stops: circuit"
    assert sheets["K01.1", "13"] == sheets["M1", "L"] == "Pump 1: power and control circuit"
    assert sheets["K01.1", "23"] == "Pump 2: power and control circuit"
