"""What changed between two checks, told in sentences: each edit made by hand, each sentence worked out from it."""

import json
import subprocess
import sys

import pytest
import stopspan

# Where the structure does not prove all of a machine, many hands and lost lines are too many to try.
FED_BACK = "what other circuits do to a line that is lost, behind a blown fuse or past a load: not all of it tried for"


def saw(holding="a", stop="S2"):
    """A saw with start and stop; with the holding contact on L its stop cuts nothing."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add(stop, "push-button", {"11": "L", "12": "a"}, role="stop")
    circuit.add("S1", "push-button", {"13": "a", "14": "b"}, role="start")
    circuit.add("K1", "contactor", {"A1": "b", "A2": "N", "13": holding, "14": "b", "1": "L", "2": "m"}, coil_voltage_v=230)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"}, machine="Saw")
    return circuit


def hall(machines=("Saw", "Press", "Drill"), stops=("ES1", "ES2"), asks=(), zones=None):
    """Machines that contact blocks of the stops of each zone cut; own stops S1.1, S2.1 ... come with them."""
    shop = stopspan.Installation("Hall")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Hall", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)], board="D1")
    for name in machines:
        motor = {"Saw": "M1", "Press": "M2", "Drill": "M3", "Lathe": "M4"}[name]
        shop.add_machine(name, area="Hall", motors=[stopspan.Motor(motor, 1)])
    for name in stops:
        shop.add_stop(name, area="Hall")
    for name, (devices, of) in (zones or {"Z": (stops, machines)}).items():
        shop.add_zone(name, link="contact-blocks", devices=devices, machines=of)
    for stop, machine, asked in asks:
        shop.ask(stop, machine, asked)
    return shop


def told(old, new, **options):
    return stopspan.compare(old, new, **{"rules": ["stop-cuts", "stop-spares"], **options}).sentences


def test_of_two_equal_checks_nothing_is_told():
    comparison = stopspan.compare(hall(), hall())
    assert not comparison.changed and comparison.sentences == [] and str(comparison) == "Nothing changed."
    assert not comparison.cells and not comparison.findings


def test_a_stop_that_no_longer_cuts_is_named_with_what_it_was_asked():
    comparison = stopspan.compare(saw(), saw(holding="L"), rules=["stop-cuts"])
    assert comparison.sentences == [
        "Before, all that was checked held; now not all holds.",
        "No stop surely cuts Saw any more; S2 did.",
    ]
    [cell] = comparison.cells
    assert (cell.before.found, cell.now.found) == ("cuts", "spares")
    [finding] = comparison.findings  # in its place in the parts; in words the cell says it
    assert finding.before is None and finding.now.text == "S2 does not stop Saw."


def test_a_stop_mended_is_told_too():
    assert told(saw(holding="L"), saw()) == [
        "Before, not all that was checked held; now all holds.",
        "S2 now cuts Saw, as asked.",
    ]


def test_stops_that_no_longer_cut_the_same_machines_share_a_sentence():
    """ES1 and ES2 leave the zone of Press and Drill but are still asked to cut them."""
    asks = [(stop, machine, "cut") for stop in ("ES1", "ES2") for machine in ("Press", "Drill")]
    stops = ("ES1", "ES2", "ES3")
    every = hall(stops=stops, zones={"Z": (stops, ("Saw", "Press", "Drill"))})
    fewer = hall(stops=stops, asks=asks, zones={"A": (stops, ("Saw",)), "B": (("ES3",), ("Press", "Drill"))})
    assert told(every, fewer) == [
        "Before, all that was checked held; now not all holds.",
        "ES1, ES2 no longer cut Press, Drill, though asked to.",
        f"Now not checked: {FED_BACK} Press, Drill.",
    ]
    assert told(fewer, every)[1:] == [
        "ES1, ES2 now cut Press, Drill, as asked.",
        f"Before not checked: {FED_BACK} Press, Drill.",
    ]


def test_what_is_asked_is_told_beside_what_is_found():
    assert told(hall(), hall(zones={"A": (("ES1",), ("Saw", "Press", "Drill")), "B": (("ES2",), ("Press", "Drill"))})) == [
        "ES2 no longer cuts Saw.",
        "ES2 is no longer asked to cut Saw.",
    ]
    assert told(hall(), hall(asks=[("ES2", "Saw", "keep")])) == [
        "Before, all that was checked held; now not all holds.",
        "ES2 is now asked to spare Saw.",
        'stop-spares now fails: "ES2 cuts Saw, which it must keep."',
        f"Now not checked: {FED_BACK} Saw.",
    ]


def test_what_came_and_went_is_told_with_what_cuts_it():
    old, new = hall(machines=("Saw", "Press")), hall(machines=("Saw", "Drill", "Lathe"))
    comparison = stopspan.compare(old, new, rules=["stop-cuts"])
    assert comparison.gone_machines == ["Press"] and comparison.new_machines == ["Drill", "Lathe"]
    assert comparison.gone_stops == ["S2.1"] and comparison.new_stops == ["S3.1", "S4.1"]
    assert comparison.sentences == [
        "Press is gone.",
        "S2.1 is gone.",
        "Drill is new; ES1, ES2, S3.1 cut it.",
        "Lathe is new; ES1, ES2, S4.1 cut it.",
        "S3.1 is new; it cuts Drill.",
        "S4.1 is new; it cuts Lathe.",
    ]
    stops = stopspan.compare(hall(stops=("ES1", "ES2")), hall(stops=("ES2", "ES7", "ES8")), rules=["stop-cuts"])
    assert stops.sentences == ["ES1 is gone.", "ES7, ES8 are new; they cut Saw, Press, Drill."]


def test_a_waiver_is_a_change_of_status():
    bad = saw(holding="L")
    verdict = bad.check(rules=["stop-cuts"])
    waiver = stopspan.Waiver(rule="stop-cuts", subjects=["S2", "Saw"], reason="r", name="A. Person", date="2026-11-26")
    waived = bad.check(rules=["stop-cuts"], waivers=[waiver])
    comparison = stopspan.compare(verdict, waived)
    assert comparison.sentences == [
        "Before, not all that was checked held; now all holds.",
        'stop-cuts, which failed, now is waived: "S2 does not stop Saw."',
    ]
    [change] = comparison.findings
    assert (change.before.status, change.now.status) == ("fails", "waived")


def test_findings_of_rules_that_only_one_check_went_by_are_not_called_gone():
    bad = saw(holding="L")
    assert stopspan.compare(bad.check(rules=["stop-cuts"]), bad.check(rules=["stop-spares"])).findings == []
    sentences = stopspan.compare(bad.check(rules=["stop-cuts"]), bad.check(rules=["stop-spares"])).sentences
    assert "Now not checked: rule stop-cuts: not asked for." in sentences
    assert "Before not checked: rule stop-spares: not asked for." in sentences


def test_another_limit_and_another_set_of_rules_are_told():
    shop = hall()
    shop.set_limit("exit_walk_longest_m", 8)
    assert told(hall(), shop) == ["The limit exit_walk_longest_m was 5 and is now 8."]
    assert "The rule set was all and is now uk." in stopspan.compare(
        hall().check(rules=["stop-cuts"]), hall().check(rules=["stop-cuts"], rule_set="uk")
    ).sentences


def test_a_finding_that_fails_in_another_way_is_told_once():
    def walk(x_m):
        shop = hall(machines=("Press",))
        shop.add_machine("Saw", area="Hall", at_m=(1, 5), motors=[stopspan.Motor("M1", 1)])
        shop.add_stop("ES9", area="Hall", at_m=(x_m, 5), height_m=1.2)
        shop.add_zone("Y", link="contact-blocks", devices=["ES9"], machines=["Saw"])
        return shop

    assert told(walk(13), walk(14), rules=["stop-reach"]) == [
        'stop-reach still fails, in another way: "From Saw it is 13.0 m to walk to ES9, the nearest stop that cuts it; '
        'at most 10 m is allowed."'
    ]


def reversing(stops_up=True, stops_down=True):
    """A hoist whose stop opens both directions, or one only."""
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
    circuit.add("S9", "emergency-stop", {"11": "L1", "12": "a"})
    up, down = "a" if stops_up else "L1", "a" if stops_down else "L1"
    circuit.add("S1", "push-button", {"13": up, "14": "f"}, role="start")
    circuit.add("S2", "push-button", {"13": down, "14": "r"}, role="start")
    for name, coil, feed, other, phases in (
        ("K1", "f", up, "K2", ("u", "v", "w")),
        ("K2", "r", down, "K1", ("v", "u", "w")),
    ):
        poles = {key: f"L{i}" for i, key in enumerate(("1", "3", "5"), start=1)}
        outs = dict(zip(("2", "4", "6"), phases))
        rest = {"13": feed, "14": coil, "21": f"{coil}x", "22": "N"}
        circuit.add(
            name,
            "contactor",
            poles | outs | rest | {"A1": coil, "A2": "fx" if name == "K2" else "rx"},
            coil_voltage_v=230,
            interlocked_with=other,
        )
    circuit.add("M1", "motor-3ph", {"U": "u", "V": "v", "W": "w"}, machine="Hoist")
    return circuit


def test_many_notes_are_counted_by_rule():
    sentences = stopspan.compare(saw(), saw(stop="S7"), rules=["single-fault", "stop-cuts"]).sentences
    counted = [sentence for sentence in sentences if sentence.startswith("Notes of single-fault: ")]
    old = [f for f in saw().check(rules=["single-fault"], repairs=False).findings if "S2" in f.subjects]
    assert len(counted) == 1 and f"{len(old)} new, {len(old)} gone" in counted[0]


def test_a_mode_of_running_that_the_stop_no_longer_cuts_is_named():
    both, up_only, down_only = reversing(), reversing(stops_down=False), reversing(stops_up=False)
    assert told(both, up_only) == [
        "Before, all that was checked held; now not all holds.",
        "S9 no longer cuts Hoist in run mode reverse, though asked to.",
    ]
    assert "In run mode reverse S9 now cuts Hoist." in told(up_only, down_only)
    assert "In run mode forward S9 no longer cuts Hoist." in told(up_only, down_only)


def test_only_verdicts_installations_and_circuits_are_compared():
    with pytest.raises(TypeError, match="takes verdicts, installations or circuits, not str"):
        stopspan.compare("old.xml", hall())


def run(*arguments):
    return subprocess.run([sys.executable, "-m", "stopspan.cli", *arguments], capture_output=True, text=True)


def test_the_command_line_compares_two_files(tmp_path):
    hall().save(tmp_path / "old.xml")
    hall(stops=("ES1", "ES2", "ES7")).save(tmp_path / "new.xml")
    old, new = str(tmp_path / "old.xml"), str(tmp_path / "new.xml")
    same = run("compare", old, old, "--rule", "stop-cuts")
    assert (same.returncode, same.stdout) == (0, "Nothing changed.\n")
    other = run("compare", old, new, "--rule", "stop-cuts")
    assert (other.returncode, other.stdout) == (1, "- ES7 is new; it cuts Saw, Press, Drill.\n")
    parts = json.loads(run("compare", old, new, "--rule", "stop-cuts", "--json").stdout)
    assert list(parts) == ["old", "new", "changed", "sentences", "stops", "machines", "matrix", "findings"]
    assert parts["changed"] is True and parts["stops"] == {"new": ["ES7"], "gone": []}
    missing = run("compare", old, str(tmp_path / "none.xml"))
    assert missing.returncode == 2 and "none.xml" in missing.stderr
