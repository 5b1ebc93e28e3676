"""Reads netlists back from exported drawings, knowing nothing of the program but the published conventions:

wires are lines of the layer of wires and are joined where their ends meet; a symbol's connection point is where its
attribute of the same name stands; a point NET puts its place on the net that attribute names.
"""

import io
from collections import defaultdict

import ezdxf
from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"


class Joined:
    """Union-find over any keys."""

    def __init__(self):
        self.parent = {}

    def root(self, key):
        self.parent.setdefault(key, key)
        while self.parent[key] != key:
            self.parent[key] = self.parent[self.parent[key]]
            key = self.parent[key]
        return key

    def join(self, a, b):
        self.parent[self.root(a)] = self.root(b)


def place(x, y):
    return (round(float(x), 3), round(float(y), 3))


def netlist(wires, symbols):
    """{device: {terminal: net}} of wires [(end, end)] and symbols [(attributes, {point name: place})]."""
    joined = Joined()
    for a, b in wires:
        joined.join(a, b)
    terminals = {}
    for attributes, points in symbols:
        for name, at in points.items():
            if name not in attributes:
                continue
            if name == "NET":
                joined.join(at, ("net", attributes["NET"]))
            else:
                key = (attributes["DESIGNATION"], attributes[name])
                assert key not in terminals, f"{key} is drawn twice"
                terminals[key] = at
    names = defaultdict(set)
    for key in list(joined.parent):
        if key[0] == "net":
            names[joined.root(key)].add(key[1])
    devices = defaultdict(dict)
    for (device, terminal), at in terminals.items():
        found = sorted(names[joined.root(at)])
        assert len(found) == 1, f"{device}:{terminal} is on {found or 'no net'}"
        [devices[device][terminal]] = found
    return dict(devices)


def ends_within(wires):
    """Places where a wire ends on the middle of another: read as joined by some, as crossing by others."""
    across, upright = defaultdict(list), defaultdict(list)
    for (ax, ay), (bx, by) in wires:
        if ay == by:
            across[ay].append((min(ax, bx), max(ax, bx)))
        if ax == bx:
            upright[ax].append((min(ay, by), max(ay, by)))
    found = []
    for x, y in {end for wire in wires for end in wire}:
        if any(low < x < high for low, high in across[y]) or any(low < y < high for low, high in upright[x]):
            found.append((x, y))
    return found


def words(entity):
    """Text of an entity; ezdxf leaves the notation of backslash, caret and percent signs to the reader."""
    return ezdxf.decode_dxf_unicode(entity.dxf.text)


def read_dxf(data):
    """Wires and symbols of a DXF, and the document."""
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    space = document.modelspace()
    wires = [
        (place(line.dxf.start.x, line.dxf.start.y), place(line.dxf.end.x, line.dxf.end.y))
        for line in space.query('LINE[layer=="WIRES"]')
    ]
    definitions = {
        block.name: {each.dxf.tag: each.dxf.insert for each in block.query("ATTDEF")} for block in document.blocks
    }
    symbols = []
    for insert in space.query("INSERT"):
        attributes = {each.dxf.tag: words(each) for each in insert.attribs}
        points = {}
        for each in insert.attribs:
            if each.dxf.tag.startswith("TERMINAL_") or each.dxf.tag == "NET":
                at = definitions[insert.dxf.name][each.dxf.tag] + insert.dxf.insert
                points[each.dxf.tag] = place(at.x, at.y)
                assert points[each.dxf.tag] == place(each.dxf.insert.x, each.dxf.insert.y), "attribute off its point"
        symbols.append((attributes, points))
    return wires, symbols, document


def read_svg(data):
    """Wires and symbols of an SVG, and its root."""
    root = etree.fromstring(data)
    points_of = {}
    for symbol in root.iter(f"{SVG}symbol"):
        points = [point.split(",") for point in symbol.get("data-points", "").split()]
        points_of[symbol.get("id")] = {name: (float(x), float(y)) for name, x, y in points}
    wires, symbols = [], []
    for sheet in root.findall(f"{SVG}g"):
        top = float(sheet.get("transform").removeprefix("translate(0,").removesuffix(")"))
        for line in sheet.iter(f"{SVG}line"):
            if line.get("data-net") is not None:
                wires.append(
                    (
                        place(line.get("x1"), float(line.get("y1")) + top),
                        place(line.get("x2"), float(line.get("y2")) + top),
                    )
                )
        for use in sheet.iter(f"{SVG}use"):
            attributes = {
                name.removeprefix("data-").replace("-", "_").upper(): value
                for name, value in use.attrib.items()
                if name.startswith("data-")
            }
            x, y = float(use.get("x")), float(use.get("y")) + top
            points = {
                name: place(x + dx, y + dy) for name, (dx, dy) in points_of[use.get(f"{XLINK}href")[1:]].items()
            }
            symbols.append((attributes, points))
    return wires, symbols, root
