"""Ways of linking the zones of one shop side by side: two direct machines and two emergency stops, counted by hand.

Where things stand: the supply, the board with what belongs to the zone, each machine with its starter, ES1, ES2. A net
at n places takes n - 1 cores. Power from supply to machines: L1 L2 L3 N at supply, Lathe, Drill, 2 cores each.
"""

import json

import pytest
from conftest import shed_without_zones

import stopspan
from stopspan import cli


def shed(link="zone-relay", **how) -> stopspan.Installation:
    shop = shed_without_zones()
    shop.add_zone("Z1", link=link, devices=["ES1", "ES2"], areas=["Room"], **how)
    return shop


def rows(compared: stopspan.ArrangementTable) -> dict:
    return {(row.link, row.channels): row for row in compared.rows}


COUNTED = {
    # (contact blocks, most on one, cores): how
    # Power 8, L1 to the zone's fuse 1; board - ES1 - ES2 2, rail ES2 - Lathe - Drill 2.
    ("series-chain", None): (2, 1, 13),
    # Power 8; per machine out to ES1, on to ES2, back: 3.
    ("contact-blocks", None): (4, 2, 14),
    # Power 8, L1 and N to the board 2; board - ES1 - ES2 - board 3; to the relay's contact and back 2 per machine.
    ("zone-relay", None): (3, 1, 17),
    # Lines: supply - board 3, board - Lathe - Drill 6; N at supply, board, both machines 3; the chain 3.
    ("zone-contactor", None): (3, 1, 15),
    # As the contactor, with a row of blocks per channel; feedback and outputs stay at the board.
    ("stop-relay", 1): (3, 1, 15),
    ("stop-relay", 2): (5, 2, 18),
}


def test_blocks_and_cores_are_those_counted_by_hand():
    found = rows(shed().compare_arrangements(faults=False))
    assert {way: (row.contact_blocks, row.blocks_on_one, row.cores) for way, row in found.items()} == COUNTED


def test_parts_are_those_counted_by_hand():
    # Starters: contactor, overload, control fuse, start and stop button, motor each. The zone adds:
    added = {
        ("series-chain", None): {"fuse": 1},
        ("contact-blocks", None): {},
        ("zone-relay", None): {"fuse": 1, "relay": 1, "key-switch": 1},
        ("zone-contactor", None): {"fuse": 1, "contactor": 1, "key-switch": 1},
        ("stop-relay", 1): {"fuse": 1, "stop-relay": 1, "contactor": 2, "key-switch": 1},
        ("stop-relay", 2): {"fuse": 1, "stop-relay": 1, "contactor": 2, "key-switch": 1},
    }
    always = {"mains-3ph": 1, "emergency-stop": 2, "contactor": 2, "overload": 2, "fuse": 2, "push-button": 4, "motor-3ph": 2}
    for way, row in rows(shed().compare_arrangements(faults=False)).items():
        assert row.parts == {kind: always.get(kind, 0) + added[way].get(kind, 0) for kind in {*always, *added[way]}}, way


def test_every_stop_stops_both_machines_and_every_claim_holds():
    for row in shed().compare_arrangements(faults=False).rows:
        assert row.machines_stopped == {"ES1": 2, "ES2": 2}
        assert row.holds > 0 and row.does_not_hold == 0
        assert row.single_faults is row.hidden_faults is row.undecided_faults is None


def test_faults_that_take_a_stop_away_are_those_counted_by_hand():
    # Everywhere each emergency stop can jam or lose its only block: 4; of two blocks one leaves the other. Else contactors and relays that weld, and shorts that
    # bypass ES1, ES2 or both; conductors of a rung in order, those past the last stop too.
    single = {
        # 2 contactors; rail: 3 shorts in the chain, and each of the 2 nets ahead of ES2 to the 4 nets of each machine: 16.
        ("series-chain", None): 4 + 2 + 3 + 16,
        # The two that jam and a block of each per machine, a contactor, and 11 of the 15 pairs of: fuse, trip, ES1, ES2, stop button, coil.
        ("contact-blocks", None): 2 + 2 * (2 + 1 + 11),
        # The relay, 2 contactors; 5 of the 6 pairs of: fuse, ES1, ES2, coil; per machine 6 past the relay's contact.
        ("zone-relay", None): 4 + 3 + 5 + 2 * 6,
        ("zone-contactor", None): 4 + 1 + 5,
        # One row: 3 shorts; a welded contactor leaves the other.
        ("stop-relay", 1): 4 + 3,
        ("stop-relay", 2): 2,
    }
    # Pairs: the outputs shorted to each other, and then either fed. With two channels a short in each that bypasses the
    # same stop: 2 * 2 for ES1, 2 * 2 for ES2, less the pair that bypasses both and counts for both.
    hidden = {("stop-relay", 1): 2, ("stop-relay", 2): 2 + 7}
    found = rows(shed().compare_arrangements())
    assert {way: row.single_faults for way, row in found.items()} == single
    assert {way: row.hidden_faults for way, row in found.items() if way in hidden} == hidden
    assert all(row.undecided_faults == 0 for row in found.values())


def test_faults_that_the_standard_lets_leave_out_are_left_out():
    found = rows(shed().compare_arrangements(fault_exclusions=["emergency-stop-mechanics"]))
    assert found["stop-relay", 2].single_faults == 0
    assert found["zone-contactor", None].single_faults == 1 + 5


def test_the_way_described_is_marked_and_where_zones_differ_it_comes_first():
    marked = [(row.link, row.channels) for row in shed("stop-relay").compare_arrangements(faults=False).rows if row.as_described]
    assert marked == [("stop-relay", 2)]
    shop = shed("zone-contactor", reset="S9")
    shop.add_stop("ES3", area="Room", at_m=(4, 3))
    shop.add_zone("Z2", link="series-chain", devices=["ES3"], machines=["Drill"])
    everything = shop.compare_arrangements(faults=False).rows
    assert (everything[0].link, everything[0].as_described, len(everything)) == (None, True, 7)
    assert everything[0].machines_stopped == {"ES1": 2, "ES2": 2, "ES3": 1}
    one = shop.compare_arrangements("Z2", faults=False)
    assert one.zone == "Z2"
    assert [(row.link, row.channels) for row in one.rows if row.as_described] == [("series-chain", None)]
    # Z1 stays a contactor zone with its reset: one more contactor, or two.
    assert rows(one)["zone-contactor", None].parts["contactor"] == 2 + 2
    assert rows(one)["stop-relay", 2].parts["contactor"] == 2 + 1 + 2
    assert rows(one)["series-chain", None].parts["contactor"] == 2 + 1


def test_what_cannot_be_wired_says_why():
    shop = shed()
    shop.add_machine("Fan", area="Room", at_m=(6, 4), motors=[stopspan.Motor("M3", 1.5)], starter="drive", stop_category=1, stop_delay_s=3)
    shop.add_stop("ES3", area="Room", at_m=(4, 3), contact_blocks=1)
    shop.add_zone("Z2", link="zone-relay", devices=["ES3"], machines=["Fan", "Lathe"])
    refused = {way: row.refused for way, row in rows(shop.compare_arrangements(faults=False)).items()}
    assert "Fan: it brakes before power is taken off" in refused["zone-contactor", None]
    assert "Fan: it brakes before power is taken off" in refused["stop-relay", 2]
    assert "ES3: the wiring needs 2 break blocks, it has 1" in refused["contact-blocks", None]
    assert refused["zone-relay", None] == ""


def test_an_installation_without_zones_or_an_unknown_zone_is_refused():
    with pytest.raises(stopspan.ModelError, match="Yard: it has no zone"):
        stopspan.Installation("Yard").compare_arrangements()
    with pytest.raises(stopspan.ModelError, match="no zone 'Z7'; known: Z1"):
        shed().compare_arrangements("Z7")


def test_comparing_leaves_the_installation_as_it_was():
    shop, same = shed(), shed()
    shop.compare_arrangements(faults=False)
    assert shop == same
    shop.arrange("Z1", "stop-relay", channels=1)
    assert shop != same and shop.compare_arrangements(faults=False).rows[4].as_described


def test_the_command_prints_the_same_table_and_json(tmp_path, capsys):
    shop = shed("zone-relay", reset="S9")
    path = tmp_path / "shed.xml"
    shop.export(path)
    assert cli.main(["arrangements", str(path), "--no-faults"]) == 0
    said = capsys.readouterr().out
    line = next(line for line in said.splitlines() if line.startswith("zone-relay *"))
    assert line.split()[2:7] == ["3", "1", "17", "18", "2"]
    assert cli.main(["arrangements", str(path), "--no-faults", "--json", "--zone", "Z1"]) == 0
    read = json.loads(capsys.readouterr().out)
    assert read == json.loads(shop.compare_arrangements("Z1", faults=False).to_json())
    assert [(row["contact_blocks"], row["blocks_on_one"], row["cores"]) for row in read["arrangements"]] == list(COUNTED.values())
    assert cli.main(["arrangements", str(path), "--zone", "Z7"]) == 2
    assert "no zone 'Z7'" in capsys.readouterr().err


def test_a_notebook_shows_the_table():
    shown = shed().compare_arrangements(faults=False)._repr_html_()
    assert shown.count("<table>") == 3 and "<td>stop-relay, 2 channels</td>" in shown
