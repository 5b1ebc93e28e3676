"""Installation files and wiring tables, held against readers that share no code with the engine."""

import csv
import io
import pathlib
import re
import string

import pytest
from conftest import REPOSITORY, saw, shed
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

import stopspan

NAMESPACE = "{urn:stopspan:installation:1}"
SCHEMA = etree.XMLSchema(etree.fromstring(stopspan.installation_schema().encode()))

# Printable text on one line without a blank at its ends; angle brackets, quotes and other scripts among it.
NAMES = st.text(
    st.one_of(
        st.sampled_from("<>&\"';,= aZ9é工"), st.characters(min_codepoint=0x20, exclude_categories=("Cs", "Cc", "Cn"))
    ),
    min_size=1,
    max_size=20,
).filter(lambda name: name == name.strip(" ") and len(name.encode()) <= 100 and not re.search("[\ufffe\uffff]", name))
DESIGNATIONS = st.text(string.ascii_letters + string.digits + "._-+=/é", min_size=1, max_size=12)
METRES = st.floats(0, 20, allow_nan=False)
SOME = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])


def bytes_of(shop: stopspan.Installation, folder: pathlib.Path) -> bytes:
    shop.save(folder / "it.xml")
    return (folder / "it.xml").read_bytes()


def read(xml: bytes, folder: pathlib.Path) -> stopspan.Installation:
    (folder / "in.xml").write_bytes(xml)
    return stopspan.load(folder / "in.xml")


def full_shed() -> stopspan.Installation:
    """The shed with one of everything else a file can hold."""
    shop = shed()
    shop.title_block.owner = "Nobody & Co"
    shop.title_block.language = "sv"
    shop.add_supply("G2", kind="mains-1ph", voltage_v=230.5, frequency_hz=60)
    shop.add_area(
        "Nook",
        outline_m=[(0, 0), (4, 0), (4, 6), (0, 6)],
        within="Room",
        exits_m={"Door": (0, 1)},
        obstacles_m={"Bench": [(2, 3), (3, 3), (3, 4)]},
    )
    shop.add_board("D2", fed_from="D1", area="Nook", at_m=(0.5, 0.5), isolator="Q7")
    shop.feed("Nook", "D2")
    shop.add_machine(
        "Press",
        area="Nook",
        at_m=(1, 1),
        motors=[{"name": "M7", "power_kw": 3}, {"name": "M8", "power_kw": 0.25}],
        starter="drive",
        control="dc-supply",
        control_voltage_v=24,
        isolator="Q8",
        stop_category=1,
        stop_delay_s=1.5,
        run_down_s=0.5,
        run_down_without_supply_s=12,
    )
    shop.add_stop(
        "S7", area="Nook", kind="pedal", machine="Press", place="machine", at_m=(1, 1), height_m=0.1, contact_blocks=2
    )
    shop.add_zone("Z2", link="series-chain", devices=["S7"], machines=["Press"], zones=["Z1"], board="D2", target="single-fault")
    shop.ask("ES1", "Press", "free")
    shop.ask("S7", "Light", "cut")
    shop.set_limit("coil_volts_highest_percent", 115)
    shop.exclude_faults("shorts-in-enclosure")
    shop.waive(
        stopspan.Waiver(
            rule="stop-cuts",
            subjects=["S7", "net <1>"],
            reason="Pedal is no stop",
            name="A. Person",
            date="2026-11-26",
        )
    )
    shop.recorded = saw_recorded()
    return shop


def saw_recorded() -> stopspan.Circuit:
    circuit = stopspan.Circuit()
    circuit.add("T9", "transformer", {"s1": "x <1>", "s2": 'x "2"'}, secondary_v=24, earthed_pole="s2")
    circuit.add("K9", "relay", {"A1": "x <1>", "A2": 'x "2"', "13": "x", "14": "y"}, coil_voltage_v=24, hold_va=3.5)
    circuit.add("E9", "load", {"1": "x", "2": "y"}, kept=True, machine="Saw, old")
    return circuit


def test_a_file_with_everything_in_it_satisfies_the_schema(tmp_path):
    xml = bytes_of(full_shed(), tmp_path)
    SCHEMA.assertValid(etree.fromstring(xml))
    assert bytes_of(read(xml, tmp_path), tmp_path) == xml


def test_another_reader_finds_what_was_described(tmp_path):
    root = etree.fromstring(bytes_of(full_shed(), tmp_path))
    press = root.find(f"{NAMESPACE}machine[@name='Press']")
    assert press is not None
    assert (press.get("starter"), press.get("control_voltage_v"), press.get("area")) == ("drive", "24", "Nook")
    assert [motor.get("name") for motor in press] == ["M7", "M8"]
    assert root.find(f"{NAMESPACE}circuit/{NAMESPACE}transformer/{NAMESPACE}terminal").get("net") == "x <1>"
    assert root.find(f"{NAMESPACE}title-block").get("owner") == "Nobody & Co"


def test_numbers_carry_their_unit_in_the_attribute_name():
    schema = etree.fromstring(stopspan.installation_schema().encode())
    xs = {"xs": "http://www.w3.org/2001/XMLSchema"}
    numbers = {
        each.get("name")
        for each in schema.findall("xs:simpleType", xs)
        if each.find("xs:restriction", xs).get("base") == "xs:double"
    }
    names = {each.get("name") for each in schema.iterfind(".//xs:attribute", xs) if each.get("type") in numbers}
    assert len(names) > 30
    unitless = {name for name in names if not re.search(r"_(percent|v|a|m|s|hz|kw|w|va|ohm|uf|mm2|c|deg|per_h|per_year|per_day|cycles)$", name)}
    # Counts, ratios and the category of a stop have no unit.
    counts = {"stop_category", "channels", "cores", "grouping", "cable_grouping", "common_cause_score"}
    assert unitless == counts | {"efficiency", "power_factor", "starting_current_ratio"}


# --- the circuit as wired and the verdict, for readers that cannot make them


def exported(shop, tmp_path):
    shop.export(tmp_path / "proved.xml")
    return (tmp_path / "proved.xml").read_bytes()


INSTALLATIONS = [
    REPOSITORY / "tests" / "data" / "installations" / f"{name}.xml"
    for name in ("recorded-as-found", "plan-and-nested-zones", "two-speed-and-drive")
]


@pytest.mark.parametrize(
    "make",
    [full_shed, saw, *(lambda path=path: stopspan.load(path) for path in INSTALLATIONS)],
    ids=["full shed", "circuit alone", *(path.stem for path in INSTALLATIONS)],
)
def test_an_exported_file_holds_the_circuit_as_wired_and_the_verdict(make, tmp_path):
    shop = make()
    xml = exported(shop, tmp_path)
    SCHEMA.assertValid(etree.fromstring(xml))
    root = etree.fromstring(xml)
    alone = isinstance(shop, stopspan.Circuit)
    wired = shop if alone else shop.circuit()
    assert (root.find(f"{NAMESPACE}as-wired") is None) == alone
    devices = root.find(f"{NAMESPACE}circuit" if alone else f"{NAMESPACE}as-wired")
    assert {
        device.get("designation"): {terminal.get("name"): terminal.get("net") for terminal in device} for device in devices
    } == {device.designation: dict(device.terminals) for device in wired.devices}

    verdict, told = shop.check(), root.find(f"{NAMESPACE}verdict")
    assert told.get("holds") == str(verdict.ok).lower()
    cells = told.findall(f"{NAMESPACE}cell")
    assert [(cell.get("stop"), cell.get("machine"), cell.get("asked"), cell.get("found")) for cell in cells] == [
        (cell.stop, cell.machine, str(cell.asked), str(cell.found)) for cell in verdict.matrix
    ]
    assert [{mode.get("name"): mode.get("found") for mode in cell} or {"run": cell.get("found")} for cell in cells] == [
        {mode: str(found) for mode, found in cell.modes.items()} for cell in verdict.matrix
    ]
    said = [
        (
            *(finding.get(name, "") for name in ("rule", "status", "text", "repair", "source", "ends_in")),
            *([line.get("text") for line in finding.findall(f"{NAMESPACE}{name}")] for name in ("subject", "act", "path")),
        )
        for finding in told.findall(f"{NAMESPACE}finding")
    ]
    assert said == [
        (each.rule, str(each.status), each.text, each.repair, each.source, each.witness.ends_in)
        + (each.subjects, each.witness.acts, each.witness.path)
        for each in verdict.findings
    ]
    counts = {(count.get("rule"), count.get("result")): int(count.get("number")) for count in told.iter(f"{NAMESPACE}count")}
    assert counts == {(rule, result): n for rule, results in verdict.counts.items() for result, n in results.items()}
    assert [line.get("text") for line in told.findall(f"{NAMESPACE}not-checked")] == verdict.not_checked
    assert len(told.findall(f"{NAMESPACE}walk")) == len(verdict.walks)


@pytest.fixture(scope="module")
def proved_shed(tmp_path_factory):
    return exported(full_shed(), tmp_path_factory.mktemp("proved"))


def test_an_exported_file_is_read_as_the_installation_it_was_made_of(proved_shed, tmp_path):
    again = read(proved_shed, tmp_path)
    assert again == full_shed()
    assert exported(again, tmp_path) == proved_shed


@pytest.mark.parametrize(
    ("pattern", "instead"),
    [
        (r'found="cuts"', r'found="cut"'),
        (r'status="note"', r'status="notes"'),
        (r"<cell ", r'<cell colour="red" '),
        (r"(<verdict [^>]*>)", r"\1<robot />"),
        (r' rule_set="[^"]*"', r""),
        (r'holds="\w+"', r'holds="yes"'),
        (r'number="\d+"', r'number="many"'),
        (r'distance_m="[^"]*"', r'distance_m="INF"'),
        (r"(?s)(<verdict.*</verdict>)", r"\1\1"),
        (r"(?s)<as-wired>.*</as-wired>", r"<as-wired><robot /></as-wired>"),
    ],
)
def test_a_verdict_of_another_form_is_refused_with_file_and_line(pattern, instead, proved_shed, tmp_path):
    xml = re.sub(pattern, instead, proved_shed.decode(), count=1).encode()
    assert xml != proved_shed, "the change found nothing to change"
    assert accepts(proved_shed) and (not accepts(xml) or "INF" in instead)  # a schema's numbers may be infinite
    with pytest.raises(stopspan.FileError, match=r"in\.xml:\d+: "):
        read(xml, tmp_path)


# One change to the full file: a regular expression, and what takes the place of its first match.
BAD_FILES = {
    "unknown element": (r"<machine ", r"<robot /><machine "),
    "unknown attribute": (r'<machine name="Lathe"', r'<machine name="Lathe" colour="red"'),
    "element out of order": (r"(?s)(<supply .*?/>\n)(.*?)(?=\n *<area)", r"\2\1"),
    "not a number": (r'x_m="2"', r'x_m="two"'),
    "NaN": (r'x_m="2"', r'x_m="NaN"'),
    "infinite": (r'x_m="2"', r'x_m="INF"'),
    "number with a unit": (r'power_kw="1.5"', r'power_kw="1.5 kW"'),
    "decimal comma": (r'power_kw="1.5"', r'power_kw="1,5"'),
    "no power": (r'power_kw="1.5"', r'power_kw="0"'),
    "number out of range": (r'height_m="0.1"', r'height_m="11"'),
    "obstacle without a name": (r'<obstacle name="Bench"', r'<obstacle'),
    "obstacle of two corners": (r'(<obstacle name="Bench">\s*)<corner [^>]*>', r"\1"),
    "unknown attribute of an obstacle": (r'<obstacle name="Bench"', r'<obstacle name="Bench" height_m="1"'),
    "obstacle before an exit": (r'(?s)(<exit .*?/>\s*)(<obstacle.*?</obstacle>)', r"\2\1"),
    "half a contact block": (r'contact_blocks="2"', r'contact_blocks="1.5"'),
    "no contact block left": (r'contact_blocks="2"', r'contact_blocks="0"'),
    "unknown word": (r'starter="direct"', r'starter="slowly"'),
    "flag that is none": (r'mechanical_interlock="true"', r'mechanical_interlock="yes"'),
    "control voltage nobody makes": (r'control_voltage_v="24"', r'control_voltage_v="42"'),
    "unknown target": (r'target="single-fault"', r'target="some-faults"'),
    "unknown limit": (r'coil_volts_highest_percent="115"', r'coil_volts_height_percent="115"'),
    "limit out of range": (r'coil_volts_highest_percent="115"', r'coil_volts_highest_percent="99"'),
    "unknown fault exclusion": (r'"shorts-in-enclosure"', r'"shorts"'),
    "fault exclusion twice": (r'(<fault-exclusion [^>]*>)', r"\1\1"),
    "waiver of an unknown rule": (r'rule="stop-cuts"', r'rule="stop-hums"'),
    "waiver without a reason": (r' reason="Pedal is no stop"', r""),
    "waiver with an empty reason": (r'reason="Pedal is no stop"', r'reason=""'),
    "waiver of nobody": (r' name="A. Person"', r""),
    "waiver without a date": (r' date="2026-11-26"', r""),
    "waiver of a day that never was": (r'date="2026-11-26"', r'date="2026-02-30"'),
    "waiver of a day in another form": (r'date="2026-11-26"', r'date="26.11.2026"'),
    "waiver of a day elsewhere": (r'date="2026-11-26"', r'date="2026-11-26Z"'),
    "waiver of no subject": (r'(?s)(<waiver [^>]*>).*(</waiver>)', r"\1\2"),
    "waiver of a subject twice": (r'(<subject name="S7" ?/>)', r"\1\1"),
    "empty isolator": (r'isolator="Q8"', r'isolator=""'),
    "name of blanks": (r'name="Lathe"', r'name=" "'),
    "missing name": (r'<machine name="Lathe"', r"<machine"),
    "machine twice": (r'name="Lathe"', r'name="Drill"'),
    "motor twice": (r'name="M1"', r'name="M2"'),
    "unknown area": (r'<machine name="Lathe" area="Room"', r'<machine name="Lathe" area="Barn"'),
    "unknown board": (r'fed_from="D1"', r'fed_from="D9"'),
    "unknown stop in a zone": (r'<stop-device ref="ES1"', r'<stop-device ref="ES9"'),
    "unknown machine asked": (r'machine="Press" effect', r'machine="Presse" effect'),
    "two corners": (r'(?s)(<area name="Room".*?<corner [^>]*>\s*<corner [^>]*>).*?</area>', r"\1</area>"),
    "zone without stops": (r'<stop-device ref="S7" />', r""),
    "unknown device kind": (r"<relay (.*)(?s:.*)</relay>", r"<robot \1/>"),
    "coil without voltage": (r' coil_voltage_v="24"', r""),
    "unknown parameter": (r' hold_va="3.5"', r' grip_va="3.5"'),
    "device twice": (r'designation="E9"', r'designation="K9"'),
    "terminal twice": (r'<terminal name="14"', r'<terminal name="13"'),
    "another namespace": (r"installation:1", r"installation:2"),
    "prefix never declared": (r"<supply ", r"<x:supply "),
    "text between elements": (r"<supply ", r"Saw <supply "),
    "cut off": (r"(?s)<circuit.*", r""),
    "bare ampersand": (r"Nobody &amp; Co", r"Nobody & Co"),
    "unknown entity": (r"Nobody &amp; Co", r"Nobody &and; Co"),
    "attribute twice": (r'x_m="2"', r'x_m="2" x_m="2"'),
    "second root": (r"</installation>", r"</installation><installation />"),
}


def accepts(xml: bytes) -> bool:
    try:
        return bool(SCHEMA.validate(etree.fromstring(xml, etree.XMLParser(resolve_entities=False))))
    except etree.XMLSyntaxError:
        return False


@pytest.mark.parametrize("name", BAD_FILES)
def test_what_the_schema_rejects_is_refused_with_file_and_line(name, tmp_path):
    good = bytes_of(full_shed(), tmp_path)
    pattern, instead = BAD_FILES[name]
    xml = re.sub(pattern, instead, good.decode(), count=1).encode()
    assert xml != good, "the change found nothing to change"
    assert not accepts(xml)
    with pytest.raises(stopspan.FileError, match=r"in\.xml:\d+: "):
        read(xml, tmp_path)


def test_a_document_type_is_refused_and_no_file_it_names_is_read(tmp_path):
    (tmp_path / "secret.txt").write_text("secret")
    xml = f'<!DOCTYPE i [<!ENTITY e SYSTEM "file://{tmp_path}/secret.txt">]>\n' + (
        '<installation xmlns="urn:stopspan:installation:1" name="&e;"/>'
    )
    with pytest.raises(stopspan.FileError, match=r"in\.xml:1: a document type") as caught:
        read(xml.encode(), tmp_path)
    assert "secret" not in str(caught.value).replace("secret.txt", "")


@SOME
@given(
    at=st.integers(0),
    instead=st.sampled_from([b"", b"<", b"&", b'"', b">", b"x", b"0", b"\x00", b"\xff", b"=", b" ", b"/>"]),
)
def test_whatever_is_still_read_after_a_byte_changed_satisfies_the_schema(at, instead, tmp_path):
    good = bytes_of(full_shed(), tmp_path)
    at %= len(good)
    xml = good[:at] + instead + good[at + 1 :]
    try:
        again = bytes_of(read(xml, tmp_path), tmp_path)
    except stopspan.FileError as error:
        assert re.match(rf"{re.escape(str(tmp_path))}/in\.xml:\d+: ", str(error))
        return
    assert accepts(xml), "read, but no valid file"
    SCHEMA.assertValid(etree.fromstring(again))


@SOME
@given(data=st.data())
def test_any_installation_comes_back_from_its_file(data, tmp_path):
    draw = data.draw
    shop = stopspan.Installation(draw(NAMES))
    shop.title_block.title = draw(
        st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=30).filter(
            lambda t: not re.search("[\ufffe\uffff]", t)
        )
    )
    voltage_v = draw(st.floats(200, 260))
    shop.add_supply("G1", voltage_v=voltage_v, frequency_hz=draw(st.floats(10, 400)))
    hall, bay = draw(st.lists(NAMES.filter(lambda n: n not in ("G1", "D1")), min_size=2, max_size=2, unique=True))
    shop.add_board("D1", supply="G1", at_m=(draw(METRES), draw(METRES)))
    right_m = draw(st.floats(1, 20))
    shop.add_area(hall, outline_m=[(0, 0), (20, 0), (20, 20), (0, 20)], board="D1", floor=draw(NAMES))
    pits = draw(st.lists(NAMES, max_size=2, unique=True))
    shop.add_area(
        bay,
        outline_m=[(0, 0), (right_m, 0), (right_m, 20), (0, 20)],
        within=hall,
        obstacles_m={pit: [(0, 0), (draw(st.floats(0.1, 1)), 0), (0, draw(st.floats(0.1, 20)))] for pit in pits},
    )
    machines = draw(st.lists(NAMES.filter(lambda n: not re.fullmatch(r"(S|M)\d+|G1", n)), max_size=4, unique=True))
    for i, name in enumerate(machines):
        shop.add_machine(
            name,
            area=hall,
            at_m=draw(st.none() | st.tuples(METRES, METRES)),
            motors=[{"name": f"M{i}", "power_kw": draw(st.floats(0.001, 500)), "voltage_v": 400}],
            starter=draw(st.sampled_from(["direct", "reversing", "star-delta", "two-speed", "as-found"])),
            star_time_s=draw(st.floats(0, 60)),
            mechanical_interlock=draw(st.booleans()),
            run_down_s=draw(st.none() | st.floats(0, 60)),
        )
    for i in range(draw(st.integers(0, 3))):
        shop.add_stop(
            f"S{i}",
            area=hall,
            at_m=draw(st.none() | st.tuples(METRES, METRES)),
            height_m=draw(st.none() | st.floats(0, 10)),
            machine=draw(st.none() | st.sampled_from(machines)) if machines else None,
            contact_blocks=draw(st.none() | st.integers(1, 9)),
        )
        if machines:
            shop.ask(f"S{i}", draw(st.sampled_from(machines)), draw(st.sampled_from(["cut", "keep", "free"])))
    if shop.stops:
        shop.add_zone(
            draw(NAMES), devices=draw(st.lists(st.sampled_from(shop.stops), min_size=1, unique=True)), areas=[bay]
        )

    xml = bytes_of(shop, tmp_path)
    again = read(xml, tmp_path)
    assert again == shop
    assert bytes_of(again, tmp_path) == xml
    SCHEMA.assertValid(etree.fromstring(xml))


NET_NAMES = st.one_of(st.just("PE"), NAMES)
FUSES = st.tuples(NET_NAMES, NET_NAMES, st.none() | st.floats(0.01, 1e4))


@SOME
@given(fuses=st.dictionaries(DESIGNATIONS, FUSES, max_size=6))
def test_any_circuit_comes_back_from_its_wiring_table_and_from_its_file(fuses, tmp_path):
    circuit = stopspan.Circuit()
    for designation, (first, second, rating_a) in fuses.items():
        circuit.add(
            designation, "fuse", {"1": first, "2": second}, **({} if rating_a is None else {"rating_a": rating_a})
        )
    table = circuit.to_csv()
    assert stopspan.Circuit.from_csv(table) == circuit

    # The same rows through Python's own reader, and back from its writer.
    rows = list(csv.reader(io.StringIO(table, newline="")))
    expected = [["device", "kind", "terminal", "net", "parameter", "value"]]
    for designation, (first, second, rating_a) in fuses.items():
        expected += [[designation, "fuse", "1", first, "", ""], [designation, "fuse", "2", second, "", ""]]
        if rating_a is not None:
            assert float(rows[len(expected)][5]) == rating_a
            expected.append([designation, "fuse", "", "", "rating_a", rows[len(expected)][5]])
    assert rows == expected
    spreadsheet = io.StringIO(newline="")
    csv.writer(spreadsheet, quoting=csv.QUOTE_ALL).writerows(rows)
    assert stopspan.Circuit.from_csv("\ufeff" + spreadsheet.getvalue()) == circuit

    shop = stopspan.Installation("Found")
    shop.recorded = circuit
    xml = bytes_of(shop, tmp_path)
    SCHEMA.assertValid(etree.fromstring(xml))
    assert read(xml, tmp_path).recorded == circuit


def test_the_schema_is_published_as_a_file_beside_the_package():
    published = pathlib.Path(stopspan.__file__).with_name("installation.xsd")
    assert published.read_text(encoding="utf-8") == stopspan.installation_schema()
    assert published.read_bytes() == (REPOSITORY / "cpp/src/files/installation.xsd").read_bytes()


def test_a_recorded_machine_is_stored_with_its_wiring(tmp_path):
    shop = stopspan.Installation("Saw")
    shop.recorded = saw()
    again = read(bytes_of(shop, tmp_path), tmp_path)
    assert again.recorded == saw()
    assert again.check().ok == saw().check().ok
