"""What a drafting office would send back, measured on a DXF as ezdxf reads it: nothing here knows how it was laid out.

Letters are as wide as those of Helvetica (Adobe's font metrics, Helvetica.afm, thousandths of the font size), which
are those of Arial, the font the file asks for; the height of a text is that of its capitals.
"""

import math

import numpy
from drawing_reader import words

# Helvetica.afm, characters 32 to 126.
WIDTHS = (
    "278 278 355 556 556 889 667 222 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 "
    "278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 "
    "667 944 667 667 611 278 278 278 469 556 222 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 "
    "556 333 500 278 556 500 722 500 500 500 334 260 334 584"
)
WIDTH = {chr(32 + i): int(width) for i, width in enumerate(WIDTHS.split())}
CAPITALS = 718  # CapHeight
# How far letters reach below the line, from their bounding boxes in the same file.
TAILS = {"/": 19, "Q": 56, "$": 115, "_": 125, ",": 147, ";": 147, "j": 210, "y": 214, "g": 220, "|": 225}
TAILS |= dict.fromkeys("()pq", 207) | dict.fromkeys("[]{}", 196)
WIDEST = 1015
CLEAR_MM = 0.2  # less than the thinnest pen between a letter and a line
SHEET_STEP = (450, 330)
PAPER = (420, 297)
FRAME = (20, 10, 410, 287)  # ISO 5457, A3: 20 mm to bind on the left, 10 mm elsewhere
BORDER = (15, 5, 415, 292)  # the letters and figures of the fields stand between it and the frame
FEWEST_TEXTS = {"List of cross-references": 5, "List of sheets": 3, "Stop matrix": 6, "Plan": 6, "Overview diagram": 6}  # else 10


def text_box(text, dx=0.0, dy=0.0):
    """left, bottom, right, top of a TEXT, millimetres."""
    said, height = words(text), text.dxf.height
    width = sum(WIDTH.get(c, WIDEST) for c in said) / CAPITALS * height
    below = max((TAILS.get(c, 0) for c in said), default=0) / CAPITALS * height
    align = text.dxf.get("halign", 0)
    at = text.dxf.align_point if align else text.dxf.insert
    along = -width * align / 2
    if text.dxf.get("rotation", 0) == 90:
        box = (at.x - height, at.y + along, at.x + below, at.y + along + width)
    else:
        assert text.dxf.get("rotation", 0) == 0
        box = (at.x + along, at.y - below, at.x + along + width, at.y + height)
    return (box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy)


def segments(entity):
    """The strokes of an entity as short straight ones."""
    kind = entity.dxftype()
    if kind == "LINE":
        return [(entity.dxf.start.x, entity.dxf.start.y, entity.dxf.end.x, entity.dxf.end.y)]
    if kind == "LWPOLYLINE":
        points = [(x, y) for x, y, *_ in entity.get_points()]
        if entity.closed:
            points.append(points[0])
    elif kind in ("CIRCLE", "ARC"):
        first = entity.dxf.start_angle if kind == "ARC" else 0
        turn = (entity.dxf.end_angle - first) % 360 if kind == "ARC" else 360
        centre, radius = entity.dxf.center, entity.dxf.radius
        angles = [math.radians(first + turn * i / 24) for i in range(25)]
        points = [(centre.x + radius * math.cos(a), centre.y + radius * math.sin(a)) for a in angles]
    else:
        return []
    return [(*a, *b) for a, b in zip(points, points[1:], strict=False)]


def crossed(boxes, strokes):
    """Pairs (box, stroke) where the stroke passes through the inside of the box (Liang and Barsky)."""
    if not len(boxes) or not len(strokes):
        return []
    box = numpy.asarray(boxes)[:, None, :]
    ax, ay, bx, by = numpy.asarray(strokes).T
    start, end = numpy.zeros((len(boxes), len(strokes))), numpy.ones((len(boxes), len(strokes)))
    for axis, step, origin in ((0, bx - ax, ax), (1, by - ay, ay)):
        low, high = box[..., axis] - origin, box[..., axis + 2] - origin
        with numpy.errstate(divide="ignore", invalid="ignore"):
            one, other = low / step, high / step
        still = numpy.broadcast_to(step == 0, one.shape)
        inside = (low < 0) & (high > 0)
        start = numpy.maximum(start, numpy.where(still, numpy.where(inside, 0, 2), numpy.minimum(one, other)))
        end = numpy.minimum(end, numpy.where(still, 1, numpy.maximum(one, other)))
    return [(int(i), int(j)) for i, j in zip(*numpy.nonzero(start < end), strict=True)]


def overlapping(boxes):
    """Pairs of boxes that share an area."""
    if len(boxes) < 2:
        return []
    b = numpy.asarray(boxes)
    meet = (b[:, None, 0] < b[None, :, 2]) & (b[None, :, 0] < b[:, None, 2])
    meet &= (b[:, None, 1] < b[None, :, 3]) & (b[None, :, 1] < b[:, None, 3])
    return [(int(i), int(j)) for i, j in zip(*numpy.nonzero(meet), strict=True) if i < j]


def grown(box, by):
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def within(box, outer):
    return box[0] >= outer[0] and box[1] >= outer[1] and box[2] <= outer[2] and box[3] <= outer[3]


class Sheet:
    """What stands on one sheet, in its own millimetres."""

    def __init__(self, column, row):
        self.corner = (column * SHEET_STEP[0], -row * SHEET_STEP[1])
        self.texts, self.lines, self.wires, self.symbols, self.ends, self.title = [], [], [], [], set(), {}
        self.said = 0  # texts beside frame and title block

    def here(self, box):
        return tuple(round(float(value) - self.corner[i % 2], 6) for i, value in enumerate(box))

    def add(self, entity, dx=0.0, dy=0.0, furniture=False):
        """@returns the strokes of the entity"""
        if entity.dxftype() == "TEXT":
            self.said += entity.dxf.layer not in ("FRAME", "TITLE")
            self.texts.append((self.here(text_box(entity, dx, dy)), words(entity), entity.dxf.height, furniture))
            return []
        moved = [self.here((ax + dx, ay + dy, bx + dx, by + dy)) for ax, ay, bx, by in segments(entity)]
        wire = entity.dxf.layer == "WIRES" and entity.dxftype() == "LINE"
        (self.wires if wire else self.lines).extend(moved)
        return moved

    def add_insert(self, insert, block):
        x, y = insert.dxf.insert.x, insert.dxf.insert.y
        strokes = []
        for entity in block:
            strokes += self.add(entity, x, y, insert.dxf.name == "SHEET_A3")
        attributes = {each.dxf.tag: words(each) for each in insert.attribs}
        for each in insert.attribs:
            if each.dxf.tag == "NET" or each.dxf.tag.startswith("TERMINAL_"):
                self.ends.add(self.here((each.dxf.insert.x, each.dxf.insert.y)))
        if insert.dxf.name == "TITLE_BLOCK":
            self.title = attributes
        if "DESIGNATION" in attributes or insert.dxf.name.startswith("PLAN_"):
            xs, ys = [s[i] for s in strokes for i in (0, 2)], [s[i] for s in strokes for i in (1, 3)]
            self.symbols.append(((min(xs), min(ys), max(xs), max(ys)), attributes.get("DESIGNATION", attributes.get("NAME"))))


def sheets_of(document):
    blocks = {block.name: list(block) for block in document.blocks}
    sheets = {}
    for entity in document.modelspace():
        if entity.dxftype() == "INSERT":
            at = (entity.dxf.insert.x, entity.dxf.insert.y)
        elif entity.dxftype() == "TEXT":
            at = (entity.dxf.align_point if entity.dxf.get("halign", 0) else entity.dxf.insert).vec2
        elif strokes := segments(entity):
            at = strokes[0][:2]
        else:
            continue
        place = (math.floor(at[0] / SHEET_STEP[0]), -math.floor(at[1] / SHEET_STEP[1]))
        sheet = sheets.setdefault(place, Sheet(*place))
        if entity.dxftype() == "INSERT":
            sheet.add_insert(entity, blocks[entity.dxf.name])
        else:
            sheet.add(entity)
    return [sheets[place] for place in sorted(sheets, key=lambda place: (place[1], place[0]))]


def text_faults(sheet):
    boxes = [box for box, *_ in sheet.texts]
    said = [text for _, text, *_ in sheet.texts]
    for i, j in overlapping(boxes):
        yield f"text {said[i]!r} over text {said[j]!r}"
    close = [grown(box, CLEAR_MM) for box in boxes]
    for strokes, name in ((sheet.lines, "a line"), (sheet.wires, "a wire")):
        for i, j in crossed(close, strokes):
            yield f"text {said[i]!r} over {name} at {strokes[j]}"
    for box, text, height, furniture in sheet.texts:
        if height < 2.5:
            yield f"text {text!r} is {height} mm high"
        if not within(box, BORDER if furniture else FRAME):
            yield f"text {text!r} leaves the frame: {box}"


def wire_faults(sheet):
    met = {}
    for ax, ay, bx, by in sheet.wires:
        if ax != bx and ay != by:
            yield f"a wire runs askew at {ax, ay}"
        for end in ((ax, ay), (bx, by)):
            met[end] = met.get(end, 0) + 1
    for end, count in met.items():
        if count == 1 and end not in sheet.ends:
            yield f"a wire ends nowhere at {end}"
    bodies = [grown(box, -0.01) for box, _ in sheet.symbols]
    for i, j in crossed(bodies, sheet.wires):
        yield f"a wire runs through {sheet.symbols[i][1]} at {sheet.wires[j]}"
    lengths = [grown((min(a, c), min(b, d), max(a, c), max(b, d)), 1e-4) for a, b, c, d in sheet.wires]
    for i, j in overlapping(lengths):
        a, b = sheet.wires[i], sheet.wires[j]
        for fixed, free in ((0, 1), (1, 0)):
            if a[fixed] == a[fixed + 2] == b[fixed] == b[fixed + 2]:
                low = max(min(a[free], a[free + 2]), min(b[free], b[free + 2]))
                high = min(max(a[free], a[free + 2]), max(b[free], b[free + 2]))
                if high - low > 1e-3:
                    yield f"wires lie on each other at {a}"


def layout_faults(document):
    """One line for each thing a drafting office would send back."""
    faults = []
    for number, sheet in enumerate(sheets_of(document), 1):
        found = [*text_faults(sheet), *wire_faults(sheet)]
        for i, j in overlapping([box for box, _ in sheet.symbols]):
            found.append(f"symbol of {sheet.symbols[i][1]} over that of {sheet.symbols[j][1]}")
        for ax, ay, bx, by in (*sheet.lines, *sheet.wires):
            if not within((min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)), (0, 0, *PAPER)):
                found.append(f"a line leaves the paper at {ax, ay}")
        if not sheet.title.get("SHEET", "").startswith(f"{number} /"):
            found.append("the title block does not say which sheet it is")
        if sheet.said < FEWEST_TEXTS.get(sheet.title.get("DOCUMENT_TYPE", ""), 10):
            found.append("the sheet is all but empty")
        faults += [f"sheet {number}: {fault}" for fault in found]
    return faults


def clipped(document):
    """Texts that were shortened to fit."""
    return [words(text) for text in document.modelspace().query("TEXT") if "..." in words(text)]
