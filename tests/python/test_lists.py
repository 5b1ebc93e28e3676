"""The lists, read as somebody who wires by them: what they join is what the circuit joins, nothing more and nothing less."""

import csv
import io
from collections import Counter, defaultdict

import circuit_data
import crowded_works
import ezdxf
import networkx
import pytest
from circuit_strategies import circuits
from conftest import REPOSITORY, saw
from hypothesis import given, settings
from hypothesis import strategies as st

import stopspan


@pytest.fixture(scope="module")
def works():
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(REPOSITORY / "examples")
        import demo

        return demo.describe()


def rows(lists, name):
    made = lists[name]
    assert [len(row) for row in made.rows] == [len(made.columns)] * len(made.rows)
    return [dict(zip(made.columns, row, strict=True)) for row in made.rows]


def joined_by(lists):
    """What the conductors of the lists join, by wire number."""
    graphs = defaultdict(networkx.Graph)
    for row in rows(lists, "wires"):
        graph = graphs[row["wire_number"]]
        assert row["from"] and row["to"] and not graph.has_edge(row["from"], row["to"]), row
        graph.add_edge(row["from"], row["to"])
    for row in rows(lists, "terminals"):
        assert not (row["inside"] and row["bridged_to"])
        if row["bridged_to"]:
            graphs[row["wire_number"]].add_edge(row["terminal"], row["bridged_to"])
    return graphs


def assert_wired_as(lists, circuit):
    graphs = joined_by(lists)
    on_net = defaultdict(set)
    for device in circuit.devices:
        if device.kind == "cable":
            continue
        for terminal, net in device.terminals.items():
            on_net[net].add(f"{device.designation}:{terminal}")
    strips = {row["terminal"]: row["wire_number"] for row in rows(lists, "terminals")}
    for net, ends in on_net.items():
        if len(ends) == 1:
            assert not graphs.get(net)
            continue
        graph = graphs[net]
        assert set(graph.nodes) == ends | {terminal for terminal, number in strips.items() if number == net}
        # Without a ring: no conductor too many.
        assert networkx.is_tree(graph), net


def assert_terminals_hold_one_core_each(lists):
    cores = Counter()
    for row in rows(lists, "terminals"):
        cores[row["cable"], row["core"], row["terminal"]] += 1
    assert set(cores.values()) <= {1}
    assert len({row["terminal"] for row in rows(lists, "terminals")}) == len(rows(lists, "terminals"))


def test_the_demo_can_be_wired_by_its_lists(works):
    lists = works.lists()
    assert_wired_as(lists, works.circuit())
    assert_terminals_hold_one_core_each(lists)


def test_works_with_shared_nets_of_many_machines_can_be_wired_by_their_lists():
    crowded = crowded_works.describe()
    assert_wired_as(crowded.lists(), crowded.circuit())


@pytest.mark.parametrize("name", circuit_data.NAMES)
def test_each_circuit_can_be_wired_by_its_lists(name):
    circuit = stopspan.load(circuit_data.FOLDER / f"{name}.csv").circuit()
    if any(device.kind == "cable" for device in circuit.devices):
        pytest.skip("a recorded cable joins two nets")
    assert_wired_as(circuit.lists(), circuit)


@settings(deadline=None)  # a search through states goes before the lists
@given(circuits())
def test_any_circuit_can_be_wired_by_its_lists(devices):
    circuit = stopspan.Circuit()
    for designation, kind, terminals, parameters in devices:
        circuit.add(designation, kind, terminals, **parameters)
    assert_wired_as(circuit.lists(), circuit)


def test_lists_come_as_csv_files(works, tmp_path):
    works.export_lists(tmp_path / "new" / "lists")
    lists = works.lists()
    assert sorted(path.stem for path in (tmp_path / "new" / "lists").iterdir()) == sorted(lists)
    for name, made in lists.items():
        text = (tmp_path / "new" / "lists" / f"{name}.csv").read_text(encoding="utf-8")
        assert [made.columns, *made.rows] == list(csv.reader(io.StringIO(text)))
        assert made.to_csv() == text


def test_a_folder_that_cannot_be_made_is_refused(works, tmp_path):
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(stopspan.FileError, match="taken"):
        works.export_lists(tmp_path / "taken" / "lists")


def test_each_circuit_line_is_drawn_on_the_sheets(works):
    titles = [title for _, title in works.drawing().titles]
    for made in works.lists().values():
        assert any(title.startswith(made.title) for title in titles)


def test_colours_are_those_of_the_standard(works):
    """IEC 60204-1, 13.2.2 to 13.2.4, as the reference table of conductor colours gives them."""
    colours = defaultdict(set)
    for row in rows(works.lists(), "wires"):
        if row["colour"]:
            colours[row["use"]].add(row["colour"])
    assert colours == {
        "power": {"black"},
        "AC control": {"red", "orange"},
        "DC control": {"blue"},
        "neutral": {"light blue"},
    }


def test_orange_is_what_the_isolator_of_the_enclosure_leaves_live(works):
    """Worked out by hand: only the rail of the bay's chain of stops comes into enclosures from elsewhere without a
    contact of a relay in a line that the isolator opens; and replayed, that rail is live with each isolator open."""
    orange = {(row["wire_number"], row["where"]) for row in rows(works.lists(), "wires") if row["colour"] == "orange"}
    assert orange == {("Z2.3", "Tuning lathe"), ("Z2.3", "Bell turntable"), ("Z2.3", "Coolant pump")}
    for isolator in ("Q5", "Q6", "Q7"):
        replay = works.circuit().replay()
        replay.open(isolator)
        assert replay.live("Z2.3")
    said = {row["label"]: row["text"] for row in rows(works.lists(), "labels") if row["on"] == "enclosure"}
    assert set(said) == {"Tuning lathe", "Bell turntable", "Coolant pump"}
    assert all("Second supply inside" in text and "Z2.3" in text for text in said.values())


def test_cable_lengths_come_from_the_plan(works):
    """By hand: board D1 stands at (1, 13.5), the sand mixer at (4, 11): 3 m + 2.5 m, and 2 m at either end."""
    cables = {(row["from"], row["to"], row["use"]): row for row in rows(works.lists(), "cables")}
    assert cables["D1", "Sand mixer", "power"]["length_m"] == "9.5"
    assert cables["D1", "ES1", "control"]["length_m"] == "10.3"  # (0.2, 8): 0.8 m + 5.5 m + 4 m
    assert cables["Sand mixer", "M1", "power"]["length_m"] == "4"
    # On another floor the plan does not say how far it is.
    assert cables["D1", "D2", "power"]["length_m"] == ""


def test_a_chain_of_stops_comes_to_terminals_of_its_board(works):
    """By hand: ES1 and ES2 follow each other in the hall's chain; each has two cores to D1, where they are bridged."""
    cables = {(row["from"], row["to"]): row for row in rows(works.lists(), "cables")}
    assert cables["D1", "ES1"]["wire_numbers"] == "Z1.2, Z1.3"
    assert cables["D1", "ES2"]["wire_numbers"] == "Z1.3, Z1.4"
    between = [row for row in rows(works.lists(), "terminals") if row["wire_number"] == "Z1.3"]
    assert [row["outside"] for row in between] == ["ES1:12", "ES2:11"]
    assert between[1]["bridged_to"] == between[0]["terminal"]
    assert not any(row["inside"] for row in between)


def test_labels_say_what_the_circuit_does(works):
    verdict = works.check(rules=["stop-cuts", "stop-spares"])
    cut = defaultdict(set)
    for cell in verdict.matrix:
        if cell.found == "cuts":
            cut[cell.stop].add(cell.machine)
    labels = {row["label"]: row["text"] for row in rows(works.lists(), "labels") if row["on"] != "stop device, inside"}
    for stop in works.circuit().stops:
        assert labels[stop] == "Stops " + ", ".join(m for m in works.circuit().machines if m in cut[stop])
    assert labels["Q3"] == "Isolates Furnace blower"
    # The crusher's stop is bypassed: its label must not promise it.
    assert "Charcoal crusher" not in labels["ES7"]


def test_an_area_isolator_is_labelled_with_all_its_machines():
    shop = stopspan.Installation("Cooperage")
    shop.add_supply("G1")
    shop.add_area("Shed", outline_m=[(0, 0), (9, 0), (9, 9), (0, 9)], isolator="Q0", isolator_at_m=(1, 1))
    shop.add_board("D1", supply="G1", area="Shed", at_m=(1, 2))
    shop.feed("Shed", "D1")
    for number, name in ((1, "Stave saw"), (2, "Head lathe")):
        motors = [stopspan.Motor(f"M{number}", 1.5)]
        shop.add_machine(name, area="Shed", at_m=(2 * number, 5), motors=motors, isolator=f"Q{number}")
    shop.add_load("E1", area="Shed", at_m=(5, 5))
    labels = {row["label"]: row["text"] for row in rows(shop.lists(), "labels")}
    replay = shop.circuit().replay()
    replay.open("Q0")
    assert replay.state("E1") == "on"  # the light is fed from ahead of it, so that it can stay on
    assert labels["Q0"] == "Isolates Stave saw, Head lathe"
    assert labels["Q1"] == "Isolates Stave saw"


def test_a_stop_with_contacts_on_two_supplies_is_labelled_inside():
    # By hand: each machine's control is fed over its own isolator, and ES1 has a block in each.
    shop = stopspan.Installation("Turnery")
    shop.add_area("Shed", outline_m=[(0, 0), (9, 0), (9, 9), (0, 9)])
    for number in (1, 2):
        shop.add_supply(f"G{number}")
        shop.add_board(f"D{number}", supply=f"G{number}")
        motors = [stopspan.Motor(f"M{number}", 1.5)]
        shop.add_machine(f"Lathe {number}", area="Shed", board=f"D{number}", motors=motors, isolator=f"Q{number}")
    shop.add_stop("ES1", area="Shed")
    shop.add_zone("Z", link="contact-blocks", devices=["ES1"], machines=["Lathe 1", "Lathe 2"])
    labels = [(row["on"], row["text"]) for row in rows(shop.lists(), "labels") if row["label"] == "ES1"]
    inside = "The contacts of ES1 are fed from Q1, Q2: all of them must be off before it is opened"
    assert labels == [("stop device", "Stops Lathe 1, Lathe 2"), ("stop device, inside", inside)]


def test_parts_add_up_to_the_devices(works):
    parts = rows(works.lists(), "parts")
    bought = [d for d in works.circuit().devices if d.kind not in ("mains-3ph", "mains-1ph", "link", "cable")]
    named = [name for row in parts if row["kind"] != "terminal" for name in row["designations"].split(", ")]
    assert sorted(named) == sorted(device.designation for device in bought)
    assert all(int(row["quantity"]) == len(row["designations"].split(", ")) for row in parts if row["kind"] != "terminal")
    assert sum(int(row["quantity"]) for row in parts if row["kind"] == "terminal") == len(works.lists()["terminals"])


def test_settings_of_a_circuit_alone():
    circuit = saw()
    circuit.add("F2", "overload", {"95": "x", "96": "y", "1": "L1", "2": "z"}, setting_a=5.1, trip_class="10")
    settings = {(row["device"], row["setting"]): row["value"] for row in rows(circuit.lists(), "settings")}
    assert settings["F2", "current"] == "5.1"
    assert settings["F2", "trip class"] == "10"
    assert settings["F2", "reset"] == ""  # nobody stated it
    assert settings["F1", "rating"] == "6"


def test_sizes_flow_into_the_lists(works):
    """The sizes themselves have tests of their own; here only that each is in the list of what it is bought or set by."""
    lists, sizes = works.lists(), works.sizes()
    motor_cables = {row["to"]: row["size_mm2"] for row in rows(lists, "cables") if row["use"] == "power"}
    settings = {(row["device"], row["setting"]): row["sized"] for row in rows(lists, "settings")}
    parts = {name: row["sized"] for row in rows(lists, "parts") for name in row["designations"].split(", ")}
    seen = Counter()
    for size in sizes.values:
        seen[size.quantity] += 1
        if size.quantity == "cable size" and size.subject in motor_cables:
            assert float(motor_cables[size.subject]) == size.value
        if size.quantity == "overload setting":
            assert settings[size.subject, "current"] == parts[size.subject] != ""
        if size.quantity == "trip class":
            assert settings[size.subject, "trip class"] == size.choice
        if size.quantity == "rated current AC-3" and parts[size.subject].startswith("AC-3"):
            assert parts[size.subject] == size.choice
        if size.quantity == "fuse ahead of the motor":
            assert settings[size.subject, "protection ahead, not in the circuit"] == size.choice
    assert min(seen[each] for each in ("cable size", "overload setting", "rated current AC-3")) > 10


def sizes_of_wires(circuit):
    """Size by net; a net has one in each place, and a circuit alone has one place but for what stands outside."""
    found = {}
    for row in rows(circuit.lists(), "wires"):
        if ":" in row["from"] and row["where"] == "panel":
            assert found.setdefault(row["wire_number"], row["size_mm2"]) == row["size_mm2"]
    return found


def panel(current_a=None, overload_a=None, one_phase_a=None):
    """A motor behind a line contactor and overload, a second one beside it on the first line and neutral."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    circuit.add("Q0", "isolator", {"1": "L1", "2": "a1", "3": "L2", "4": "a2", "5": "L3", "6": "a3", "7": "N", "8": "n"})
    poles = {"1": "a1", "2": "b1", "3": "a2", "4": "b2", "5": "a3", "6": "b3"}
    circuit.add("K1", "contactor", poles | {"13": "c2", "14": "c3", "A1": "c3", "A2": "n"}, coil_voltage_v=230, coil_current="AC")
    setting = {} if overload_a is None else {"setting_a": overload_a}
    ends = {"1": "b1", "2": "d1", "3": "b2", "4": "d2", "5": "b3", "6": "d3", "95": "c1", "96": "c2"}
    circuit.add("F1", "overload", ends, **setting)
    circuit.add("F9", "fuse", {"1": "a1", "2": "c1"}, rating_a=2)
    plate = {} if current_a is None else {"current_a": current_a, "power_kw": current_a / 2}
    circuit.add("M1", "motor-3ph", {"U": "d1", "V": "d2", "W": "d3"}, voltage_v=400, machine="Saw", **plate)
    if one_phase_a is not None:
        circuit.add("F2", "fuse", {"1": "a1", "2": "e1"}, rating_a=one_phase_a)
        circuit.add("E1", "load", {"1": "e1", "2": "n"}, current_a=one_phase_a, voltage_v=230, kept=True)
    return circuit


def test_wires_are_sized_by_what_they_carry():
    # IEC 60204-1 table 6, B1 (from memory), 40 degC: 1.5 mm2 13.5 A, 2.5 mm2 18.3 A, 4 mm2 24 A, 6 mm2 31 A.
    sizes = sizes_of_wires(panel(12, 12))
    assert {sizes[net] for net in ("a1", "a2", "a3", "b1", "b2", "b3", "d1", "d2", "d3")} == {"1.5"}
    assert {sizes[net] for net in ("c1", "c2", "c3", "n")} == {"1"}  # control, and a neutral of control alone
    # What the overload lets through counts, not what the motor takes.
    assert sizes_of_wires(panel(12, 15))["b1"] == "2.5"
    # 15 + 10 = 25 A on the first line asks for 6 mm2; the other poles and the neutral are like it. Behind, each its own.
    sizes = sizes_of_wires(panel(15, 15, one_phase_a=10))
    assert {sizes[net] for net in ("a1", "a2", "a3", "n")} == {"6"}
    assert {sizes[net] for net in ("b1", "b2", "b3")} == {"2.5"} and sizes["e1"] == "1.5"
    # Of an unknown motor nothing is sized but its control wires.
    sizes = sizes_of_wires(panel())
    assert sizes["b1"] == sizes["a1"] == "" and sizes["c2"] == "1"


def test_star_delta_wires_carry_their_share(works):
    # The demo's blower: 21.7 A (table of typical motors, 11 kW), 21.7 / sqrt3 = 12.5 A behind the delta contactor.
    wires = {row["wire_number"]: row["size_mm2"] for row in rows(works.lists(), "wires") if row["where"] == "Furnace blower"}
    assert (wires["M3.L1"], wires["M3.M3.U1"], wires["M3.M3.U2"], wires["M3.star"]) == ("4", "4", "1.5", "1.5")


@settings(max_examples=30, deadline=None)
@given(st.floats(1, 100), st.floats(1, 2), st.floats(1, 40))
def test_more_current_never_has_a_thinner_wire(current_a, factor, load_a):
    first, second = (sizes_of_wires(panel(a, a, one_phase_a=load_a)) for a in (current_a, current_a * factor))
    for net, size in first.items():
        assert float(second[net] or "inf") >= float(size or "inf")


def test_each_cable_has_a_size(works):
    sized = {row["cable"]: row for row in rows(works.lists(), "cables")}
    assert all(float(row["size_mm2"]) >= (1.5 if row["use"] == "power" else 1) for row in sized.values())
    sizes = works.sizes()
    feeds = {(row["from"], row["to"]): float(row["size_mm2"]) for row in sized.values() if row["use"] == "power"}
    assert feeds["D1", "D2"] == sizes.find("D2", "cable size to the board").value
    assert feeds["D1", "Furnace blower"] == sizes.find("Furnace blower", "cable size to the machine").value == 4
    cores = {row["where"]: row["size_mm2"] for row in rows(works.lists(), "wires") if row["where"].partition(":")[0] in sized}
    assert all(size == sized[core.partition(":")[0]]["size_mm2"] for core, size in cores.items())


@pytest.mark.parametrize("file", sorted((REPOSITORY / "tests" / "data" / "installations").glob("*.xml")), ids=lambda f: f.stem)
def test_each_wire_of_an_installation_has_a_size(file):
    lists = stopspan.load(file).lists()
    for row in rows(lists, "wires") + rows(lists, "cables"):
        assert float(row["size_mm2"]) >= (1.5 if row["use"] == "power" else 1)


def test_commissioning_has_a_line_for_each_stop_and_machine(works):
    trials = Counter((row["test"], row["device"], row["machine"]) for row in rows(works.lists(), "commissioning"))
    assert set(trials.values()) == {1}
    asked = works.check(rules=["stop-cuts"]).matrix
    for cell in asked:
        if cell.asked == "cut":
            assert ("stop-cuts", cell.stop, cell.machine) in trials
        if cell.asked == "keep":
            assert ("stop-spares", cell.stop, "") in trials
    for machine in works.circuit().machines:
        assert ("power-return", "", machine) in trials
    for device in works.circuit().devices:
        if device.kind == "overload":
            assert ("overload-cuts", device.designation) in {trial[:2] for trial in trials}
        if device.kind == "isolator":
            assert ("isolator-clears", device.designation, "") in trials


def test_sheets_show_the_terminal_where_each_wire_leaves_its_enclosure(works):
    """Read from the DXF alone: each device outside the enclosures bears the strip terminal its core ends on."""
    document = ezdxf.read(io.StringIO(stopspan.render(works.drawing(), "dxf").decode("utf-8")))
    shown = {}
    for insert in document.modelspace().query("INSERT"):
        tags = {attribute.dxf.tag: attribute.dxf.text for attribute in insert.attribs}
        for tag, strip in tags.items():
            if tag.startswith("STRIP_"):
                terminal = f"{tags['DESIGNATION']}:{tags['TERMINAL_' + tag.removeprefix('STRIP_')]}"
                assert shown.setdefault(terminal, strip) == strip
    plan = rows(works.lists(), "terminals")
    outside = {row["outside"]: row["terminal"] for row in plan if not row["outside"].startswith("X")}
    assert outside.items() <= shown.items()
    inside = {row["inside"]: row["wire_number"] for row in plan if row["outside"].startswith("X") and row["inside"]}
    assert set(shown) <= set(outside) | set(inside) | {row["inside"] for row in plan}
    assert {row["inside"] for row in plan if row["outside"].startswith("X") and row["inside"]} <= set(shown)


def test_the_single_line_shows_each_motor_load_and_isolator_once(works):
    drawing = works.drawing()
    shown = Counter()
    for i, (_, title) in enumerate(drawing.titles):
        if "single line" in title:
            document = ezdxf.read(io.StringIO(stopspan.render(drawing[i], "dxf").decode("utf-8")))
            # All names of a node are texts; what moves or is fed has one name to a node.
            shown.update(text.dxf.text for text in document.modelspace().query("TEXT") if text.dxf.layer == "DESIGNATIONS")
    for device in works.circuit().devices:
        if device.kind in ("isolator", "load", "drive") or device.kind.startswith("motor"):
            assert shown[device.designation] == 1, device.designation
    # By hand: D2 is fed from D1, and the zone contactor of the clock shop stands in D2.
    assert shown["D2"] == shown["Q03.1"] == 1
