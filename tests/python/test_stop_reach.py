"""The rule stop-reach: ways on foot on the plan, heights, and what is said where the plan is silent."""

import itertools
import math
import random
import re

import networkx
import numpy
import pytest
import scipy.ndimage
import scipy.sparse
import scipy.sparse.csgraph
import stopspan

HALL = [(0, 0), (20, 0), (20, 10), (0, 10)]


def hall(outline=HALL, exits=(), obstacles=(), machines=(), stops=(), link="zone-relay", **areas):
    """One area with machines and emergency stops, all of which each stop is asked to cut, and does."""
    shop = stopspan.Installation("Hall")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Hall", outline_m=outline, exits_m=dict(exits), obstacles_m=dict(obstacles), board="D1")
    for number, (name, at_m) in enumerate(dict(machines).items(), start=1):
        shop.add_machine(name, area="Hall", at_m=at_m, motors=[stopspan.Motor(f"M{number}", 1)])
    for name, at_m in dict(stops).items():
        shop.add_stop(name, area="Hall", at_m=at_m, height_m=1.2)
    shop.add_zone("Z", link=link, devices=list(dict(stops)), areas=["Hall"], reset="S99" if link == "zone-relay" else "")
    return shop


def check(shop, **options):
    return shop.check(rules=["stop-reach"], **options)


def walks(verdict):
    return {walk.start: (walk.stop, round(walk.distance_m, 3)) for walk in verdict.walks}


def told(verdict):
    return [(finding.status, finding.subjects, finding.text) for finding in verdict.findings]


def test_a_way_is_as_long_as_a_rope_from_the_machine_to_the_nearest_stop():
    shop = hall(machines={"Saw": (4, 5)}, stops={"ES1": (1, 1), "ES2": (12, 5)})
    verdict = check(shop)
    assert walks(verdict) == {"Saw": ("ES1", 5.0)}  # 3-4-5
    assert verdict.ok and verdict.counts == {"stop-reach": {"holds": 3}}  # one way, two heights


def test_what_is_too_far_names_the_stop_the_distance_and_the_limit():
    shop = hall(machines={"Saw": (2, 5)}, stops={"ES1": (14, 0)})
    [finding] = check(shop).findings
    assert (finding.rule, finding.status, finding.subjects) == ("stop-reach", "fails", ["ES1", "Saw"])
    # 12-5-13
    assert finding.text == (
        "From Saw it is 13.0 m to walk to ES1, the nearest stop that cuts it; at most 10 m is allowed."
    )
    assert "ISO 13850:2015 4.3.2" in finding.source and "no standard has a figure" in finding.source


def test_the_limit_can_be_changed_and_the_finding_says_so():
    shop = hall(machines={"Saw": (2, 5)}, stops={"ES1": (14, 0)})
    shop.set_limit("machine_walk_longest_m", 13)
    assert check(shop).ok
    shop.set_limit("machine_walk_longest_m", 12.99)
    [finding] = check(shop).findings
    assert "13.0 m" in finding.text and "12.99 m is allowed" in finding.text
    assert "machine_walk_longest_m 12.99 instead of 10" in finding.source


def test_a_distance_beyond_the_limit_is_never_written_like_the_limit():
    shop = hall(machines={"Saw": (2, 5)}, stops={"ES1": (12.03, 5)})
    [finding] = check(shop).findings
    assert "it is 10.1 m" in finding.text  # 10.03 m


def test_an_obstacle_in_the_way_makes_it_longer():
    # From 2,4 round the lower corners of the bench at 4,2 and 6,2 to 8,4; above it is longer.
    bench = {"Bench": [(4, 2), (6, 2), (6, 9), (4, 9)]}
    shop = hall(obstacles=bench, machines={"Saw": (2, 4)}, stops={"ES1": (8, 4)})
    assert walks(check(shop)) == {"Saw": ("ES1", round(4 * math.sqrt(2) + 2, 3))}


def test_in_an_l_shaped_hall_people_walk_round_the_corner():
    ell = [(0, 0), (20, 0), (20, 5), (5, 5), (5, 10), (0, 10)]
    shop = hall(outline=ell, machines={"Saw": (4, 9)}, stops={"ES1": (9, 4)})
    assert walks(check(shop)) == {"Saw": ("ES1", round(2 * math.sqrt(17), 3))}


def test_the_nearest_stop_is_the_nearest_on_foot():
    partition = {"Partition": [(4, 0), (4.2, 0), (4.2, 9), (4, 9)]}
    shop = hall(obstacles=partition, machines={"Saw": (2.8, 5)}, stops={"ES1": (5, 5), "ES2": (2.8, 8)})
    assert walks(check(shop)) == {"Saw": ("ES2", 3.0)}


def test_a_stop_that_the_wiring_does_not_let_cut_is_no_help_however_near():
    """ES1 stands beside the saw and is asked to cut it, but its contact is bridged."""
    shop = hall(machines={"Saw": (2, 2)}, stops={"ES1": (2, 3), "ES2": (8, 2)}, link="series-chain")
    assert walks(check(shop)) == {"Saw": ("ES1", 1.0)}
    old = stopspan.Installation("Old")
    old.add_supply("G1")
    old.add_board("D1", supply="G1")
    old.add_area("Hall", outline_m=HALL, board="D1")
    old.add_machine("Saw", area="Hall", at_m=(2, 2), starter="as-found", motors=[stopspan.Motor("M1", 1)])
    old.add_stop("ES1", area="Hall", at_m=(2, 3))
    old.add_stop("ES2", area="Hall", at_m=(8, 2))
    for stop in ("ES1", "ES2"):
        old.ask(stop, "Saw", "cut")
    wires = old.recorded
    wires.add("ES1", "emergency-stop", {"11": "D1:L1", "12": "D1:L1"})
    wires.add("ES2", "emergency-stop", {"11": "D1:L1", "12": "b"})
    wires.add("S1", "push-button", {"13": "b", "14": "c"}, role="start")
    poles = {"1": "D1:L1", "2": "u", "3": "D1:L2", "4": "v", "5": "D1:L3", "6": "w", "13": "b", "14": "c"}
    wires.add("K1", "contactor", poles | {"A1": "c", "A2": "D1:N"}, coil_voltage_v=230, coil_current="AC")
    wires.add("M1", "motor-3ph", {"U": "u", "V": "v", "W": "w"}, machine="Saw")
    assert walks(check(old)) == {"Saw": ("ES2", 6.0)}


def test_from_an_exit_every_machine_of_its_area_has_a_stop_near():
    shop = hall(
        exits={"door": (0, 5)}, machines={"Saw": (4, 5), "Press": (10, 5)}, stops={"ES1": (3, 1), "ES2": (9, 2)}
    )
    assert walks(check(shop))["door"] == ("ES1", 5.0)
    assert check(shop).ok
    shop.set_limit("exit_walk_longest_m", 4.9)
    [finding] = check(shop).findings
    assert finding.subjects == ["Hall", "door", "ES1", "Saw", "Press"]
    assert finding.text == (
        "From exit door of Hall it is 5.0 m to walk to ES1, the nearest stop that cuts Saw, Press; at most 4.9 m is "
        "allowed."
    )


def test_heights_hold_for_what_hands_work_and_not_for_feet():
    shop = hall(machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)})
    shop.add_stop("ES2", area="Hall", at_m=(3, 3), height_m=0.59)
    shop.add_stop("ES3", area="Hall", at_m=(3, 3), height_m=0.6)
    shop.add_stop("ES4", area="Hall", at_m=(3, 3), height_m=1.7)
    shop.add_stop("ES5", area="Hall", at_m=(3, 3), height_m=1.71)
    shop.add_stop("B1", area="Hall", kind="pedal", place="floor", at_m=(3, 3), height_m=0.1)
    # ISO 13850 4.3.2: 0.6 m to 1.7 m; foot pedals excepted (reference row ES13)
    assert [subjects for _, subjects, _ in told(check(shop))] == [["ES2"], ["ES5"]]
    assert check(shop).findings[1].text == (
        "The actuator of ES5 is 1.71 m above the floor; 0.6 m to 1.7 m is allowed."
    )


def test_a_height_not_known_is_undecided_where_others_are_known_and_else_not_checked():
    shop = hall(machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)})
    shop.add_stop("ES2", area="Hall", at_m=(3, 3))
    shop.add_stop("ES3", area="Hall", at_m=(3, 3))
    [(status, subjects, text)] = told(check(shop))
    assert (status, subjects) == ("undecided", ["ES2", "ES3"]) and "height_m" in text
    bare = stopspan.Installation("Bare")
    bare.add_supply("G1")
    bare.add_board("D1", supply="G1")
    bare.add_area("Hall", outline_m=HALL, board="D1")
    bare.add_machine("Saw", area="Hall", motors=[stopspan.Motor("M1", 1)])
    bare.add_stop("ES1", area="Hall")
    bare.add_zone("Z", devices=["ES1"], areas=["Hall"], link="series-chain")
    verdict = check(bare)
    assert verdict.ok and not verdict.findings
    lines = [line for line in verdict.not_checked if line.startswith("stop-reach")]
    assert len(lines) == 2 and "no plan" in lines[0] and "height_m" in lines[1]


def test_without_a_description_there_is_no_plan():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("S2", "push-button", {"11": "L", "12": "a"}, role="stop")
    circuit.add("M1", "motor-1ph", {"L": "a", "N": "N"})
    assert "rule stop-reach: there is no plan with machines and stop devices" in circuit.check().not_checked


def test_a_machine_without_a_place_among_others_is_undecided():
    shop = hall(machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)})
    shop.add_machine("Press", area="Hall", motors=[stopspan.Motor("M8", 1)])
    shop.add_machine("Drill", area="Hall", motors=[stopspan.Motor("M9", 1)])
    [(status, subjects, text)] = told(check(shop))
    assert (status, subjects) == ("undecided", ["Press", "Drill"]) and "no place on the plan" in text


def test_a_stop_without_a_place_is_a_doubt_only_where_no_other_is_near():
    shop = hall(machines={"Saw": (2, 5)}, stops={"ES1": (14, 0)})
    shop.add_stop("ES2", area="Hall", height_m=1.2)
    shop.add_zone("Y", link="series-chain", devices=["ES2"], areas=["Hall"])
    [(status, subjects, text)] = told(check(shop))
    assert (status, subjects) == ("undecided", ["ES1", "Saw"])
    assert "13.0 m" in text and text.endswith("ES2 cuts it, too, but has no place on the plan: give x_m and y_m.")
    shop.set_limit("machine_walk_longest_m", 20)
    assert check(shop).ok


def test_a_stop_on_a_machine_is_where_its_machine_is():
    shop = hall(machines={"Saw": (2, 5)}, stops={"ES1": (14, 0)})
    shop.add_stop("ES2", area="Hall", machine="Saw", place="machine", height_m=1.2)
    assert walks(check(shop)) == {"Saw": ("ES2", 0.0)}


def test_a_machine_that_nobody_asks_to_stop_is_left_out_and_told():
    shop = hall(machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)})
    shop.add_area("Nook", within="Hall", outline_m=[(18, 8), (20, 8), (20, 10), (18, 10)])
    shop.add_machine("Press", area="Nook", at_m=(19, 9), motors=[stopspan.Motor("M9", 1)])
    shop.ask("ES1", "Press", "free")
    verdict = check(shop)
    assert verdict.ok
    assert "stop-reach, walking distances: no stop device is asked to cut Press" in verdict.not_checked


def test_of_an_area_without_exits_that_is_said():
    verdict = check(hall(machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)}))
    assert "stop-reach, from exits: no exit is on the plan of Hall" in verdict.not_checked


def test_the_way_out_of_a_room_leads_through_its_door():
    shop = stopspan.Installation("Two rooms")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Hall", outline_m=HALL, board="D1")
    shop.add_area("Room", within="Hall", outline_m=[(10, 0), (20, 0), (20, 10), (10, 10)], exits_m={"door": (10, 9)})
    shop.add_machine("Saw", area="Room", at_m=(13, 5), motors=[stopspan.Motor("M1", 1)])
    shop.add_stop("ES1", area="Hall", at_m=(8, 5), height_m=1.2)
    shop.add_zone("Z", link="series-chain", devices=["ES1"], areas=["Room"])
    # From 13,5 to the door 3 and 4, on to 8,5 it is 2 and 4.
    assert walks(check(shop)) == {
        "Saw": ("ES1", round(5 + math.sqrt(20), 3)),
        "door": ("ES1", round(math.sqrt(20), 3)),
    }


def test_an_exit_leads_out_of_areas_without_exits_of_their_own_but_not_out_of_rooms():
    shop = hall(exits={"gate": (0, 5)}, machines={"Saw": (2, 5)}, stops={"ES1": (2, 6)})
    shop.add_area("Bay", within="Hall", outline_m=[(10, 0), (15, 0), (15, 5), (10, 5)])
    shop.add_area("Room", within="Hall", outline_m=[(15, 0), (20, 0), (20, 5), (15, 5)], exits_m={"door": (15, 1)})
    for number, (area, x_m) in enumerate({"Bay": 12, "Room": 17}.items(), start=8):
        shop.add_machine(f"Press {area}", area=area, at_m=(x_m, 2), motors=[stopspan.Motor(f"M{number}", 1)])
        shop.add_stop(f"ES{number}", area=area, at_m=(x_m, 1), height_m=1.2)
        shop.add_zone(area, link="series-chain", devices=[f"ES{number}"], areas=[area])
    shop.set_limit("exit_walk_longest_m", 0.5)
    from_exits = [finding.subjects for finding in check(shop).findings]
    # Zone Z has the whole hall, so ES1 cuts the press in the room, too, and whoever stands in the gate cuts all by it.
    assert from_exits == [["Hall", "gate", "ES1", "Saw", "Press Bay"], ["Room", "door", "ES9", "Press Room"]]


def test_a_finding_can_be_waived():
    shop = hall(machines={"Saw": (2, 5)}, stops={"ES1": (14, 0)})
    shop.waive(
        stopspan.Waiver(
            rule="stop-reach", subjects=["ES1", "Saw"], reason="run by remote control", name="A. Person", date="2026-11-26"
        )
    )
    verdict = shop.check()
    assert verdict.ok
    assert [finding.status for finding in verdict.findings if finding.rule == "stop-reach"] == ["waived"]


def test_the_rule_alone_and_all_rules_say_the_same():
    shop = hall(exits={"door": (0, 5)}, machines={"Saw": (2, 5), "Press": (9, 9)}, stops={"ES1": (14, 0), "ES2": (3, 9)})
    alone, among_all = check(shop), shop.check()
    of_all = [finding for finding in among_all.findings if finding.rule == "stop-reach"]
    assert told(alone) == [(finding.status, finding.subjects, finding.text) for finding in of_all]
    assert walks(alone) == walks(among_all)
    assert alone.counts == {"stop-reach": among_all.counts["stop-reach"]}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda shop: shop.add_stop("ES9", area="Hall", at_m=(5, 5)), r"ES9: 5, 5 m is inside obstacle Bench of area"),
        (lambda shop: shop.add_machine("Press", area="Hall", at_m=(5, 5), motors=[]), r"Press: 5, 5 m is inside"),
        (lambda shop: shop.add_stop("ES9", area="Hall", at_m=(5, 5, 1)), r"at_m must be two numbers"),
        (lambda shop: shop.add_area("A", outline_m=HALL, obstacles_m={"O": [(1, 1), (2, 2)]}), r"O of area A.* three"),
        (lambda shop: shop.add_area("A", outline_m=HALL, obstacles_m={"O": 7}), r"A: an outline in obstacles_m must"),
        (
            lambda shop: shop.add_area("A", outline_m=HALL, obstacles_m={"O": [(19, 1), (21, 1), (21, 2)]}),
            r"obstacle O of area A: its outline leaves the area",
        ),
        (
            lambda shop: shop.add_area("A", outline_m=HALL, obstacles_m={"O": [(0, 0), (2, 2), (2, 0), (0, 2)]}),
            r"obstacle O of area A: its outline crosses",
        ),
        (
            lambda shop: shop.add_area("A", outline_m=HALL, exits_m={"E": (1, 1)}, obstacles_m={"O": HALL}),
            r"obstacle O of area A: exit E at 1, 1 m is in it",
        ),
        (lambda shop: shop.set_limit("exit_walk_longest_m", 0), r"exit_walk_longest_m is 0"),
    ],
)
def test_bad_input_is_refused_by_name(change, message):
    shop = hall(obstacles={"Bench": [(4, 4), (6, 4), (6, 6), (4, 6)]}, machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)})
    with pytest.raises(stopspan.ModelError, match=message):
        change(shop)


def test_a_file_keeps_the_plan(tmp_path):
    shop = hall(obstacles={"Bench": [(4, 4), (6, 4), (6, 6)]}, machines={"Saw": (2, 2)}, stops={"ES1": (2, 3)})
    shop.add_stop("ES2", area="Hall")
    shop.set_limit("passage_narrowest_m", 0.8)
    shop.save(tmp_path / "plan.xml")
    assert stopspan.load(tmp_path / "plan.xml") == shop
    text = (tmp_path / "plan.xml").read_text()
    assert '<obstacle name="Bench">' in text and 'passage_narrowest_m="0.8"' in text
    half = text.replace('x_m="2" y_m="3"', 'x_m="2"')
    (tmp_path / "half.xml").write_text(half)
    line = next(number for number, each in enumerate(half.splitlines(), start=1) if 'name="ES1"' in each)
    with pytest.raises(stopspan.FileError, match=rf"half.xml:{line}: .*y_m"):
        stopspan.load(tmp_path / "half.xml")


def test_the_report_and_json_tell_the_ways():
    verdict = check(hall(exits={"door": (0, 5)}, machines={"Saw": (4, 5)}, stops={"ES1": (1, 1)}))
    report = verdict.report()
    assert "Longest ways on foot to a stop that cuts" in report
    assert "Saw                ES1  5.0 m" in report and "exit door of Hall  ES1  4.1 m" in report
    assert '"distance_m": 5.0' in verdict.to_json()


def test_plans_show_obstacles_the_ways_to_a_stop_and_what_has_no_place():
    bench = {"Bench": [(10, 4), (12, 4), (12, 6), (10, 6)]}
    shop = hall(exits={"door": (0, 5)}, obstacles=bench, machines={"Saw": (4, 5)}, stops={"ES1": (1, 1)})
    plain = hall(exits={"door": (0, 5)}, machines={"Saw": (4, 5)}, stops={"ES1": (1, 1)})
    shop.add_machine("Press", area="Hall", motors=[stopspan.Motor("M9", 1)])

    def words_and_lines(installation):
        [plan] = [
            sheet
            for sheet, (_, title) in zip(installation.drawing(), installation.drawing().titles)
            if title.startswith("Plan: Hall")
        ]
        svg = stopspan.render(plan, "svg").decode()
        return re.sub(r"<[^>]*>", " ", svg), svg.count("<line") + svg.count("<path") + svg.count("<polyline")

    words, lines = words_and_lines(shop)
    told = " ".join(words.split())
    assert "Way on foot from to the nearest stop that cuts m Saw ES1 5.0 door ES1 4.1" in told
    assert "Without a place, so not drawn: Press." in told
    assert lines >= words_and_lines(plain)[1] + 4  # the sides of the bench


# ------------------------------------------------------------------------------------------- independent judges

WIDTH_M, DEPTH_M, CELL_M = 12.0, 9.0, 0.1
BODY = 6  # cells: the narrowest passage of 0.6 m


def free_of(rectangles):
    free = numpy.ones((round(WIDTH_M / CELL_M), round(DEPTH_M / CELL_M)), dtype=bool)
    for left, bottom, right, top in rectangles:
        free[left:right, bottom:top] = False
    return free


def random_plan(seed):
    """Rectangles with corners on whole decimetres, and two free places on cells' middles."""
    dice = random.Random(seed)
    columns, rows = round(WIDTH_M / CELL_M), round(DEPTH_M / CELL_M)
    rectangles = []
    for _ in range(dice.randint(1, 9)):
        left, bottom = dice.randrange(columns - 5), dice.randrange(rows - 5)
        rectangles.append(
            (left, bottom, min(columns, left + dice.randint(3, 45)), min(rows, bottom + dice.randint(3, 45)))
        )
    free = free_of(rectangles)
    # Where somebody 6 cells wide can be, and what such people cover: from there places are taken.
    windows = numpy.lib.stride_tricks.sliding_window_view(free, (BODY, BODY)).all(axis=(2, 3))
    covered = numpy.zeros_like(free)
    for dx, dy in itertools.product(range(BODY), repeat=2):
        covered[dx : dx + windows.shape[0], dy : dy + windows.shape[1]] |= windows
    places = [tuple(int(i) for i in cell) for cell in numpy.argwhere(covered)]
    return rectangles, free, windows, dice.sample(places, 2) if len(places) > 1 else None


# Steps to all cells in sight up to five away: a way among them is at most 1.4 % longer than a straight one.
STEPS = [(dx, dy) for dx, dy in itertools.product(range(-5, 6), repeat=2) if math.gcd(dx, dy) == 1]


def crossed_cells(dx, dy):
    """Cells that the line between the middles of two cells runs through or touches, beside its ends."""
    cells = set()
    for x, y in itertools.product(range(min(0, dx), max(0, dx) + 1), range(min(0, dy), max(0, dy) + 1)):
        # The line meets the cell's square where its corners are not all on one side of it.
        sides = [dx * (2 * y + b) - dy * (2 * x + a) for a, b in ((-1, -1), (-1, 1), (1, -1), (1, 1))]
        if min(sides) <= 0 <= max(sides):
            cells.add((x, y))
    return cells


CROSSED = {step: crossed_cells(*step) for step in STEPS}


def grid_distance_m(free, start, end):
    """Dijkstra of scipy on a fine grid; None when there is no way."""
    columns, rows = free.shape
    number = numpy.arange(columns * rows).reshape(columns, rows)
    begins, ends, lengths = [], [], []
    for dx, dy in STEPS:
        passable = numpy.ones_like(free)
        for x, y in CROSSED[dx, dy]:
            shifted = numpy.zeros_like(free)
            to = (slice(max(0, -x), columns - max(0, x)), slice(max(0, -y), rows - max(0, y)))
            of = (slice(max(0, x), columns - max(0, -x)), slice(max(0, y), rows - max(0, -y)))
            shifted[to] = free[of]
            passable &= shifted
        cells = number[passable]
        begins.append(cells)
        ends.append(cells + dx * rows + dy)
        lengths.append(numpy.full(len(cells), math.hypot(dx, dy) * CELL_M))
    joined = (numpy.concatenate(begins), numpy.concatenate(ends))
    graph = scipy.sparse.coo_matrix((numpy.concatenate(lengths), joined), shape=(number.size, number.size)).tocsr()
    found = scipy.sparse.csgraph.dijkstra(graph, indices=number[start])[number[end]]
    return None if math.isinf(found) else float(found)


def body_joins(windows, start, end):
    """Is there a way for somebody six cells wide who begins over one place and ends over the other? By networkx."""
    grid = networkx.grid_2d_graph(*windows.shape)
    grid.remove_nodes_from([tuple(cell) for cell in numpy.argwhere(~windows).tolist()])

    def over(place):
        return {
            (place[0] - dx, place[1] - dy)
            for dx, dy in itertools.product(range(BODY), repeat=2)
            if (place[0] - dx, place[1] - dy) in grid
        }

    return any(
        not over(start).isdisjoint(part) and not over(end).isdisjoint(part)
        for part in networkx.connected_components(grid)
    )


def engine_distance_m(rectangles, start, end):
    def metres(cell):
        return ((cell[0] + 0.5) * CELL_M, (cell[1] + 0.5) * CELL_M)

    obstacles = {
        f"O{i}": [(x * CELL_M, y * CELL_M) for x, y in ((a, b), (c, b), (c, d), (a, d))]
        for i, (a, b, c, d) in enumerate(rectangles)
    }
    outline = [(0, 0), (WIDTH_M, 0), (WIDTH_M, DEPTH_M), (0, DEPTH_M)]
    shop = hall(outline, (), obstacles, {"Saw": metres(start)}, {"ES1": metres(end)}, link="series-chain")
    found = check(shop, repairs=False).walks
    return found[0].distance_m if found else None


@pytest.mark.parametrize("seed", range(25))
def test_a_fine_grid_finds_the_same_ways_among_random_obstacles(seed):
    """The grid knows no width of people, but leaves out slits narrower than a cell, and goes at most 1.4 % astray plus
    a cell at each corner. Where a way leads at all is judged by whether somebody as wide as the passage gets there.
    """
    rectangles, free, windows, places = random_plan(seed)
    if places is None:
        pytest.skip("no room for anybody")
    engine = engine_distance_m(rectangles, *places)
    assert (engine is not None) == body_joins(windows, *places)
    if engine is None:
        return
    straight = grid_distance_m(free, *places)
    assert straight is not None
    assert engine >= straight / 1.014 - 0.5
    # A way for people is never longer than the middle of their body goes, plus half a body at each end.
    body = grid_distance_m(windows, *(near(windows, place) for place in places))
    assert body is None or engine <= body + 2 * BODY * CELL_M


@pytest.mark.parametrize("seed", range(25))
def test_where_every_gap_is_wide_a_fine_grid_measures_the_same_length(seed):
    """Obstacles on whole metres, so that gaps are a metre or none. The grid goes at most 1.4 % astray, and passes corners
    half a cell off.
    """
    dice = random.Random(seed)
    rectangles = []
    for _ in range(dice.randint(6, 16)):
        left, bottom = dice.randrange(11) * 10, dice.randrange(8) * 10
        rectangles.append((left, bottom, left + dice.choice((10, 20, 30)), bottom + dice.choice((10, 20, 30))))
    rectangles = [(a, b, min(c, 120), min(d, 90)) for a, b, c, d in rectangles]
    free = free_of(rectangles)
    start, end = (tuple(int(i) for i in dice.choice(numpy.argwhere(free))) for _ in range(2))
    engine, grid = engine_distance_m(rectangles, start, end), grid_distance_m(free, start, end)
    assert (engine is None) == (grid is None)
    if grid is not None:
        assert grid / 1.014 - 0.4 <= engine <= grid + 1e-6


def near(windows, place):
    """The window over a place whose middle is nearest to it."""
    over = [
        (place[0] - dx, place[1] - dy)
        for dx, dy in itertools.product(range(BODY), repeat=2)
        if 0 <= place[0] - dx < windows.shape[0]
        and 0 <= place[1] - dy < windows.shape[1]
        and windows[place[0] - dx, place[1] - dy]
    ]
    return min(over, key=lambda at: abs(place[0] - at[0] - 2.5) + abs(place[1] - at[1] - 2.5))


def star(dice):
    """A shape that goes in and out round its middle."""
    x, y, count = dice.uniform(1.5, 10.5), dice.uniform(1.5, 7.5), dice.randint(3, 7)
    corners = ((2 * math.pi * i / count + dice.uniform(-0.3, 0.3) / count, dice.uniform(0.4, 1.4)) for i in range(count))
    return [(round(x + r * math.cos(a), 3), round(y + r * math.sin(a), 3)) for a, r in corners]


def free_of_shapes(shapes):
    """By the crossings of a ray from each cell's middle."""
    x, y = numpy.meshgrid(
        (numpy.arange(round(WIDTH_M / CELL_M)) + 0.5) * CELL_M,
        (numpy.arange(round(DEPTH_M / CELL_M)) + 0.5) * CELL_M,
        indexing="ij",
    )
    free = numpy.ones_like(x, dtype=bool)
    for shape in shapes:
        inside = numpy.zeros_like(free)
        for (x1, y1), (x2, y2) in itertools.pairwise([*shape, shape[0]]):
            if y1 != y2:
                inside ^= ((y1 > y) != (y2 > y)) & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
        free &= ~inside
    return free


@pytest.mark.parametrize("seed", range(20))
def test_round_obstacles_of_any_shape_a_way_is_between_the_shortest_and_the_shortest_wide_one(seed):
    """A grid without any width of people goes no further, up to 1.4 % and half a metre; one that keeps 0.75 m off
    everything, and so has room for the corner of whoever is 0.6 m wide, goes no shorter way.
    """
    dice = random.Random(seed)
    shapes = [star(dice) for _ in range(dice.randint(2, 7))]
    free = free_of_shapes(shapes)
    wide = scipy.ndimage.distance_transform_edt(numpy.pad(free, 1))[1:-1, 1:-1] * CELL_M > 0.75
    start, end = (tuple(int(i) for i in dice.choice(numpy.argwhere(wide))) for _ in range(2))
    middles = [((cell[0] + 0.5) * CELL_M, (cell[1] + 0.5) * CELL_M) for cell in (start, end)]
    engine = way_m([(0, 0), (WIDTH_M, 0), (WIDTH_M, DEPTH_M), (0, DEPTH_M)], shapes, *middles)
    shortest, shortest_wide = grid_distance_m(free, start, end), grid_distance_m(wide, start, end)
    if shortest_wide is not None:
        assert engine <= shortest_wide + 0.01
    if not math.isinf(engine):
        assert engine >= shortest / 1.014 - 0.5


# ------------------------------------------------------------------------------------------- laws


def turned(places, degrees):
    """About the origin, and rounded to millimetres as people write them."""
    turn = math.radians(degrees)
    return [
        (
            round(x * math.cos(turn) - y * math.sin(turn), 3),
            round(x * math.sin(turn) + y * math.cos(turn), 3),
        )
        for x, y in places
    ]


def way_m(outline, obstacles, start, end):
    named = {f"O{i}": obstacle for i, obstacle in enumerate(obstacles)}
    found = check(hall(outline, (), named, {"Saw": start}, {"ES1": end}, link="series-chain"), repairs=False).walks
    return found[0].distance_m if found else math.inf


def free_place(dice, obstacles):
    """Rectangles only; a body's width off all of them and off the walls."""
    while True:
        x, y = dice.uniform(0.7, 11.3), dice.uniform(0.7, 8.3)
        if not any(a - 0.7 < x < c + 0.7 and b - 0.7 < y < d + 0.7 for a, b, c, d in obstacles):
            return x, y


@pytest.mark.parametrize("seed", range(15))
def test_turning_the_plan_changes_no_way_and_one_obstacle_more_shortens_none(seed):
    """Wherever the plan is drawn and however it lies: within the millimetres to which places are rounded."""
    dice = random.Random(seed)
    rectangles = []
    for _ in range(dice.randint(2, 6)):
        left, bottom = dice.randrange(11), dice.randrange(8)
        rectangles.append((left, bottom, min(12, left + dice.randint(1, 3)), min(9, bottom + dice.randint(1, 3))))
    try_places = [free_place(dice, rectangles) for _ in range(2)]
    outline = [(0, 0), (12, 0), (12, 9), (0, 9)]
    corners = [[(a, b), (c, b), (c, d), (a, d)] for a, b, c, d in rectangles]
    ways = [way_m(outline, corners[:count], *try_places) for count in range(len(corners) + 1)]
    assert ways[0] == pytest.approx(math.dist(*try_places))
    for fewer, more in itertools.pairwise(ways):
        assert more >= fewer - 0.001
    degrees = dice.uniform(1, 359)
    again = way_m(turned(outline, degrees), [turned(each, degrees) for each in corners], *turned(try_places, degrees))
    assert again == pytest.approx(ways[-1], abs=0.01)
