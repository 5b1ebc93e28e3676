"""Plans of areas with more machines than a sheet has room for names."""

import io
import re

import ezdxf
import pytest
from drawing_layout import clipped, layout_faults, sheets_of

import stopspan

KINDS = ("Lathe", "Band saw", "Planer", "Drill", "Grinder", "Mortiser", "Sander", "Press", "Router", "Shaper")


def hall(machines, stops, width_m, depth_m, across):
    """Machines in rows, stops on both long walls and in the middle aisle; each third of the stops cuts a third."""
    shop = stopspan.Installation("Timber works")
    shop.add_supply("G1")
    outline = [(0, 0), (width_m, 0), (width_m, depth_m), (0, depth_m)]
    shop.add_area("Main hall", outline_m=outline, exits_m={"Gate": (width_m / 2, depth_m - 0.1), "Door": (10, 0.1)})
    shop.add_board("D1", supply="G1", area="Main hall", at_m=(1, depth_m - 2))
    shop.feed("Main hall", "D1")
    down = -(-machines // across)
    names = [f"{KINDS[i % len(KINDS)]} {i + 1}" for i in range(machines)]
    for i, name in enumerate(names):
        at = ((i % across + 0.75) * width_m / (across + 0.5), (i // across + 0.6) * depth_m / down)
        shop.add_machine(name, area="Main hall", at_m=at, motors=[stopspan.Motor(f"M{i + 1}", 2.2)], isolator=f"Q{i + 1}")
    third = stops // 3
    for i in range(stops):
        place = (2 + (i % third) * (width_m - 4) / third, (0.2, depth_m / 2, depth_m - 0.2)[i // third])
        shop.add_stop(f"ES{i + 1}", area="Main hall", at_m=place)
    for z in range(3):
        devices = [f"ES{i + 1}" for i in range(z * third, (z + 1) * third)]
        some = names[z * machines // 3 : (z + 1) * machines // 3]
        shop.add_zone(f"Bay {z + 1}", link="zone-relay", devices=devices, machines=some, reset=f"S90{z}")
    return shop, names


def plans(shop):
    """(title, sheet) of the sheets that are plans, as ezdxf reads them."""
    drawing = shop.drawing()
    numbers = [i for i, (_, title) in enumerate(drawing.titles) if title.startswith("Plan: ")]
    for i in numbers:
        document = ezdxf.read(io.StringIO(stopspan.render(drawing[i], "dxf").decode("utf-8")))
        faults = [fault for fault in layout_faults(document) if "which sheet it is" not in fault]  # drawn alone
        assert faults == [] and clipped(document) == []
        [sheet] = sheets_of(document)
        yield drawing.titles[i][1], sheet


def said(sheet):
    return [text for _, text, *_ in sheet.texts]


def listed_machines(sheets):
    """{number: name} of the lists: a number at the left end of a column, the name beside it on its line."""
    listed = {}
    for title, sheet in sheets:
        if "machines and stops" not in title:
            continue
        for box, text, *_ in sheet.texts:
            if re.fullmatch(r"\d+", text):
                beside = [(b[0], t) for b, t, *_ in sheet.texts if abs(b[3] - box[3]) < 0.1 and 0 < b[0] - box[0] < 15]
                if len(beside) == 1:
                    listed[text] = beside[0][1]
    return listed


@pytest.mark.parametrize(("machines", "across", "width_m", "depth_m"), [(120, 15, 60, 40), (300, 25, 60, 40), (500, 40, 60, 40)])
def test_a_crowded_hall_has_each_machine_once_by_a_number_that_a_list_explains(machines, across, width_m, depth_m):
    shop, names = hall(machines, 30, width_m, depth_m, across)
    sheets = list(plans(shop))
    listed = listed_machines(sheets)
    assert {words.rsplit(" (", 1)[0] for words in listed.values()} == set(names)
    drawn = [sheet for title, sheet in sheets if "machines and stops" not in title]
    letters = {}  # by number: a third of the machines bears the letter of the stops that cut it
    for sheet in drawn:
        for number, letter in (m.groups() for text in said(sheet) if (m := re.fullmatch(r"(\d+) \[(.+)\]", text))):
            assert number not in letters
            letters[number] = letter
    thirds = [range(z * machines // 3, (z + 1) * machines // 3) for z in range(3)]
    assert letters == {str(i + 1): letter for letter, third in zip("ABC", thirds, strict=True) for i in third}
    assert letters.keys() == listed.keys()
    symbols = [name for sheet in drawn for _, name in sheet.symbols if name]
    assert sorted(name for name in symbols if name in set(names)) == sorted(names)
    stops = [f"ES{i + 1} [{'ABC'[i // 10]}]" for i in range(30)]
    for stop in stops:
        assert sum(stop in said(sheet) for sheet in drawn) == 1


def test_a_crowded_hall_says_which_machines_each_stop_cuts_by_their_numbers():
    shop, _ = hall(120, 30, 60, 40, 15)
    lists = [sheet for title, sheet in plans(shop) if "machines and stops" in title]
    for stop, letter, numbers in (("ES1", "A", "1 to 40"), ("ES11", "B", "41 to 80"), ("ES30", "C", "81 to 120")):
        lines = [
            [text for b, text, *_ in sheet.texts if abs(b[3] - box[3]) < 0.5 and 0 < b[0] - box[0] < 100]
            for sheet in lists
            for box, name, *_ in sheet.texts
            if name == stop
        ]
        assert [line for line in lines if "emergency-stop" in line] == [["emergency-stop", letter, numbers]]


def test_the_plan_of_a_crowded_hall_is_to_the_scale_it_states():
    # 60 m of 377 mm: 1:200 is the largest usual scale, so machines 1 and 15, 14 of 15.5 steps apart, are 271 mm apart.
    shop, _ = hall(120, 30, 60, 40, 15)
    _, plan = next(plans(shop))
    assert plan.title["SCALE"] == "1:200"
    left = {name: box[0] for box, name in plan.symbols}
    assert left["Grinder 15"] - left["Lathe 1"] == pytest.approx(14 / 15.5 * 60 / 0.2, abs=0.05)


def test_a_hall_with_room_for_names_has_them_and_no_list():
    shop, names = hall(12, 6, 60, 40, 4)
    sheets = list(plans(shop))
    assert not any("machines and stops" in title for title, _ in sheets)
    assert all(f"{name} (Q{i + 1}) [{'ABC'[i // 4]}]" in said(sheets[0][1]) for i, name in enumerate(names))


def test_the_outline_of_an_area_names_the_zones_it_bounds():
    shop = stopspan.Installation("Timber works")
    shop.add_supply("G1")
    shop.add_area("Hall", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)])
    shop.add_area("Bay", within="Hall", outline_m=[(12, 0), (20, 0), (20, 5), (12, 5)])
    shop.add_board("D1", supply="G1", area="Hall", at_m=(1, 9))
    shop.feed("Hall", "D1")
    for i, (area, at) in enumerate([("Hall", (4, 4)), ("Bay", (16, 2))], 1):
        shop.add_machine(f"Saw {i}", area=area, at_m=at, motors=[stopspan.Motor(f"M{i}", 2.2)], isolator=f"Q{i}")
        shop.add_stop(f"ES{i}", area=area, at_m=(at[0] - 1, at[1]))
    shop.add_stop("ES3", area="Hall", at_m=(1, 1))
    shop.add_zone("North", link="zone-relay", devices=["ES1"], areas=["Hall"], reset="S91")
    shop.add_zone("South", link="zone-relay", devices=["ES2"], areas=["Bay"], reset="S92")
    shop.add_zone("Site", link="series-chain", devices=["ES3"], zones=["North", "South"])
    bounds = {title: [text for text in said(sheet) if text.startswith("zone")] for title, sheet in plans(shop)}
    assert {title: sorted(texts) for title, texts in bounds.items()} == {
        "Plan: Hall": ["zones North, Site", "zones South, Site"],
        "Plan: Bay": ["zones South, Site"],
    }
