import copy

import pytest
from conftest import saw, shed

import stopspan


def test_what_was_added_is_there_by_name(shop):
    assert shop.name == "Shed"
    assert shop.supplies == ["G1"] and shop.boards == ["D1"] and shop.areas == ["Room"]
    assert shop.machines == ["Lathe", "Drill"] and shop.loads == ["Light"]
    assert shop.stops == ["ES1", "ES2"] and shop.zones == ["Z1"]
    assert shop.span("Z1") == ["Lathe", "Drill"]


def test_the_wanted_matrix_comes_from_zones_and_from_single_wishes(shop):
    assert shop.asked == {
        ("ES1", "Lathe"): "cut",
        ("ES1", "Drill"): "cut",
        ("ES2", "Lathe"): "cut",
        ("ES2", "Drill"): "cut",
        ("ES1", "Light"): "keep",
        ("ES2", "Light"): "keep",
    }
    shop.ask("ES2", "Drill", stopspan.Asked.FREE)
    assert shop.asked["ES2", "Drill"] == "free"


def test_a_shed_is_wired_checked_and_holds(shop):
    circuit = shop.circuit()
    assert set(circuit.machines) == {"Lathe", "Drill"}
    verdict = shop.check()
    assert verdict.ok, verdict.report()
    assert verdict.installation == "Shed"
    found = {(cell.stop, cell.machine): cell.found for cell in verdict.matrix}
    for stop in ("ES1", "ES2"):
        assert found[stop, "Lathe"] == found[stop, "Drill"] == "cuts"
        assert found[stop, "Light"] == "spares"


def test_the_verdict_comes_from_the_wiring_and_not_from_what_was_asked(shop):
    # A wire past the whole zone, which no zone knows of: what is asked stays, what is found must change.
    circuit = shop.circuit()
    asked = shop.asked
    assert circuit.check(asked=asked).ok
    for device in circuit.devices:
        if device.designation == "ES1":
            terminals = list(device.terminals)
    circuit.add("W9", "link", {"1": circuit["ES1"].terminals[terminals[0]], "2": circuit["ES1"].terminals[terminals[1]]})
    verdict = circuit.check(asked=asked)
    assert not verdict.ok
    found = {(cell.stop, cell.machine): cell.found for cell in verdict.matrix}
    assert found["ES1", "Lathe"] == "spares"
    assert found["ES2", "Lathe"] == "cuts"


def test_what_was_recorded_can_be_edited_in_place(shop):
    shop.recorded.add("P1", "lamp", {"1": "G1:L1", "2": "G1:N"})
    assert "P1" in shop.recorded
    assert "P1" in shop.circuit()
    shop.recorded = saw()
    assert shop.recorded == saw()


def test_saved_and_loaded_is_the_same_and_the_same_bytes(shop, tmp_path):
    shop.title_block.owner = "Shed & Sons"
    shop.north_deg = 12.5
    shop.recorded.add("P1", "lamp", {"1": "G1:L1", "2": "G1:N"}, voltage_v=230)
    shop.save(tmp_path / "shed.xml")
    again = stopspan.load(tmp_path / "shed.xml")
    assert again == shop
    again.save(tmp_path / "again.xml")
    assert (tmp_path / "again.xml").read_bytes() == (tmp_path / "shed.xml").read_bytes()
    assert again.title_block.owner == "Shed & Sons"
    assert again.north_deg == 12.5


def test_save_is_for_the_installation_file_only(shop, tmp_path):
    with pytest.raises(stopspan.FileError, match="saved as .xml"):
        shop.save(tmp_path / "shed.csv")


def test_a_wiring_table_loads_as_a_recorded_circuit(tmp_path):
    saw().export(tmp_path / "old saw.csv")
    found = stopspan.load(tmp_path / "old saw.csv")
    assert found.name == "old saw"
    assert found.recorded == saw()
    assert found.check().ok


def test_a_circuit_alone_is_checked_the_same_through_an_installation(circuit):
    alone = stopspan.Installation("circuit")
    alone.recorded = circuit
    assert alone.check().to_json() == circuit.check().to_json()


@pytest.mark.parametrize("format", ["dxf", "svg"])
def test_drawings_of_an_installation_and_of_a_circuit_are_the_same_bytes_each_time(shop, circuit, tmp_path, format):
    for name, what in (("shop", shop), ("circuit", circuit)):
        first, second = tmp_path / f"{name}.{format}", tmp_path / f"{name}.out"
        what.export(first)
        what.export(second, format=format)
        if name == "shop":
            assert first.read_bytes() == second.read_bytes()
        assert len(first.read_bytes()) > 1000


def test_formats_are_plugins(tmp_path):
    known = ["dxf", "dxf-r12", "dxf-r2007", "fodg", "graphml", "svg"]
    assert stopspan.formats() == known
    (tmp_path / "broken.so").write_text("no library")
    with pytest.warns(RuntimeWarning, match="broken.so"):
        stopspan.load_exporters(tmp_path)
    assert stopspan.formats() == known


def test_copies_part_ways(shop):
    twin = copy.deepcopy(shop)
    twin.add_stop("ES3", area="Room", at_m=(1, 1))
    assert shop == shed() != twin


def test_the_schema_is_published_with_the_package():
    schema = stopspan.installation_schema()
    assert "urn:stopspan:installation:1" in schema


def test_north_out_of_range_is_refused():
    shop = shed()
    with pytest.raises(stopspan.ModelError, match="north_deg is not between"):
        shop.north_deg = 400
    assert shop.north_deg is None
