"""A bell foundry with a clock works above it: describe it, prove its stops, draw it, hand it over.

Writes the report, the installation file, drawings (DXF, SVG), the matrix and the lists (CSV) into a folder, and prints
what came of it. Everything here is invented: the works, its machines, and the mistake in the oldest of them.
"""

import argparse
import copy
import pathlib
import sys
import textwrap

import stopspan

HALL, BAY, CLOCKS, YARD = "Foundry hall", "Tuning bay", "Clock shop", "Casting yard"
CRUSHER = "Charcoal crusher"


def add_places(shop: stopspan.Installation) -> None:
    """Two floors and a yard; the foundry's board feeds the yard, the clock works has its own."""
    shop.add_supply("G1")
    shop.add_area(
        HALL,
        floor="ground floor",
        outline_m=[(0, 0), (24, 0), (24, 14), (0, 14)],
        exits_m={"street door": (0.1, 7), "yard door": (23.9, 7)},
        obstacles_m={
            "furnace": [(8, 11.5), (11, 11.5), (11, 14), (8, 14)],
            "mould racks": [(9, 2), (13, 2), (13, 6), (9, 6)],
        },
    )
    shop.add_area(BAY, within=HALL, outline_m=[(14, 0), (24, 0), (24, 5), (14, 5)])
    shop.add_area(
        CLOCKS,
        floor="upper floor",
        outline_m=[(0, 0), (18, 0), (18, 10), (0, 10)],
        exits_m={"stair": (0.1, 5)},
    )
    shop.add_area(
        YARD,
        floor="yard",
        outline_m=[(26, 0), (40, 0), (40, 14), (26, 14)],
        exits_m={"gate": (39.9, 7)},
    )
    shop.add_board("D1", supply="G1", area=HALL, at_m=(1, 13.5))
    shop.add_board("D2", fed_from="D1", area=CLOCKS, at_m=(1, 9.5))
    for area, board in ((HALL, "D1"), (CLOCKS, "D2"), (YARD, "D1")):
        shop.feed(area, board)


def add_machines(shop: stopspan.Installation) -> None:
    """Fourteen machines that are wired anew, each with start and stop buttons of its own; one stays as it was found."""

    def machine(number: int, name: str, area: str, at_m: tuple[float, float], kw: float, **how: object) -> None:
        one_phase = str(how.get("starter", "")).startswith("one-phase")
        motor = stopspan.Motor(f"M{number}", kw, 230 if one_phase else 400)
        shop.add_machine(name, area=area, at_m=at_m, motors=[motor], isolator=f"Q{number}", **how)  # type: ignore[arg-type]

    low_dc = {"control": "dc-supply", "control_voltage_v": 24}
    machine(1, "Sand mixer", HALL, (4, 11), 4.0)
    machine(2, "Mould conveyor", HALL, (20, 9), 1.5, starter="reversing", **low_dc)
    machine(3, "Furnace blower", HALL, (9, 11), 11.0, starter="star-delta", star_time_s=5)
    machine(4, "Fettling grinder", HALL, (5, 3), 3.0, control="transformer", control_voltage_v=110)
    machine(5, "Tuning lathe", BAY, (16, 3), 7.5, starter="two-speed")
    machine(6, "Bell turntable", BAY, (21, 3), 2.2, starter="drive", **low_dc)
    machine(7, "Coolant pump", BAY, (18, 1), 0.25, starter="one-phase-one-pole")
    machine(8, "Wheel-cutting engine", CLOCKS, (4, 7), 0.55, starter="one-phase-two-pole")
    machine(9, "Pinion polisher", CLOCKS, (8, 7), 0.18, starter="one-phase-in-line")
    machine(10, "Bench drill", CLOCKS, (12, 7), 0.37, starter="one-phase-one-pole")
    machine(11, "Arbor lathe", CLOCKS, (5, 3), 0.75, **low_dc)
    machine(12, "Brass saw", CLOCKS, (12, 3), 1.5)
    machine(13, "Yard hoist", YARD, (30, 10), 3.0, starter="reversing", control="transformer", control_voltage_v=48)
    machine(14, "Sand washer", YARD, (35, 10), 1.1, control="transformer", control_voltage_v=24)
    shop.add_machine(
        CRUSHER, area=YARD, at_m=(32, 3), motors=[stopspan.Motor("M15", 2.2)], starter="as-found", run_down_s=6
    )
    shop.add_stop("S15", kind="push-button", machine=CRUSHER, area=YARD, place="machine", height_m=0.9)


def add_kept_loads(shop: stopspan.Installation) -> None:
    """What no stop may cut: light, extraction, and the magnet that carries a bell."""
    shop.add_load("E1", area=HALL, at_m=(12, 7), current_a=4)
    shop.add_load("E2", area=HALL, at_m=(9, 13), current_a=6)
    shop.add_load("E3", area=BAY, at_m=(21, 4), current_a=2)
    shop.add_load("E4", area=CLOCKS, at_m=(9, 5), current_a=3)
    shop.add_load("E5", area=YARD, at_m=(33, 7), current_a=2)


def add_stops_and_zones(shop: stopspan.Installation) -> None:
    """Stops that cut a whole area, from wall and floor; zones that overlap; one stop for the whole site."""
    shop.add_stop("ES1", area=HALL, at_m=(0.2, 8), height_m=1.2)
    shop.add_stop("ES2", area=HALL, at_m=(23.8, 8), height_m=1.2)
    shop.add_stop("B1", area=HALL, kind="floor-bar", place="floor", at_m=(7, 7), height_m=0.1)
    shop.add_zone("Hall", link="zone-relay", devices=["ES1", "ES2", "B1"], areas=[HALL], reset="S91")

    # The bay lies in the hall: its machines obey both zones.
    shop.add_stop("ES3", area=BAY, at_m=(14.2, 1), height_m=1.2)
    shop.add_stop("B2", area=BAY, kind="pedal", place="floor", at_m=(18, 4), height_m=0.1)
    shop.add_zone("Bay", link="series-chain", devices=["ES3", "B2"], areas=[BAY])

    shop.add_stop("ES4", area=CLOCKS, at_m=(0.2, 6), height_m=1.3)
    shop.add_stop("ES5", area=CLOCKS, at_m=(17.8, 5), height_m=1.3)
    shop.add_stop("B3", area=CLOCKS, kind="floor-bar", place="floor", at_m=(9, 1), height_m=0.1)
    shop.add_zone("Clocks", link="zone-contactor", devices=["ES4", "ES5", "B3"], areas=[CLOCKS], reset="S92")

    shop.add_stop("ES6", area=YARD, at_m=(39.8, 8), height_m=1.4)
    shop.add_stop("ES7", area=YARD, at_m=(31, 0.2), height_m=1.4)
    shop.add_zone("Yard", link="contact-blocks", devices=["ES6", "ES7"], areas=[YARD])

    # Hoist and conveyor hand moulds over at the yard door: one stop there for both, of two zones.
    shop.add_stop("ES8", area=YARD, at_m=(26.2, 7), height_m=1.4)
    shop.add_zone("Yard door", link="contact-blocks", devices=["ES8"], machines=["Yard hoist", "Mould conveyor"])

    shop.add_stop("ES9", area=YARD, at_m=(39.8, 6), height_m=1.6)
    shop.add_zone("Site", link="series-chain", devices=["ES9"], zones=["Hall", "Clocks", "Yard"])


def record_crusher(shop: stopspan.Installation) -> None:
    """The crusher has no drawing: every wire was traced, and is entered as it is.

    ES7 was added to it long after the rest, between its stop and its start button. The wire from the holding contact
    was left where it had always been, and so now joins ahead of ES7.
    """
    old = shop.recorded
    lines = {f"{2 * pole - 1}": f"D1:L{pole}" for pole in (1, 2, 3)} | {"7": "D1:N"}
    behind = {f"{2 * pole}": f"old{pole}" for pole in (1, 2, 3)} | {"8": "oldN"}
    old.add("Q15", "isolator", lines | behind)
    for pole in (1, 2, 3):
        old.add(f"F15{pole}", "fuse", {"1": f"old{pole}", "2": f"feed{pole}"}, rating_a=16, fuse_type="gG")
    old.add("F154", "fuse", {"1": "old1", "2": "c1"}, rating_a=4, fuse_type="gG")
    power = {"1": "k1", "2": "u", "3": "k2", "4": "v", "5": "k3", "6": "w"}
    old.add("F155", "overload", power | {"95": "c1", "96": "c2"}, setting_a=5, reset="manual")
    old.add("ES9", "emergency-stop", {"11": "c2", "12": "c3"})
    old.add("ES6", "emergency-stop", {"11": "c3", "12": "c4"})
    old.add("S15", "push-button", {"11": "c4", "12": "c5"}, role="stop")
    old.add("ES7", "emergency-stop", {"11": "c5", "12": "c6"})
    old.add("S151", "push-button", {"13": "c6", "14": "c7"}, role="start")
    poles = {"1": "feed1", "2": "k1", "3": "feed2", "4": "k2", "5": "feed3", "6": "k3"}
    holding = {"13": "c5", "14": "c7"}  # 13 belongs on c6
    old.add("K151", "contactor", poles | holding | {"A1": "c7", "A2": "oldN"}, coil_voltage_v=230, coil_current="AC")
    old.add("M15", "motor-3ph", {"U": "u", "V": "v", "W": "w"}, power_kw=2.2, voltage_v=400, machine=CRUSHER)


def describe() -> stopspan.Installation:
    """The whole works: what is there, what is asked, and the old machine as found."""
    shop = stopspan.Installation("Ninefold bell foundry and clock works")
    add_places(shop)
    add_machines(shop)
    add_kept_loads(shop)
    add_stops_and_zones(shop)
    record_crusher(shop)
    shop.north_deg = 20
    title = shop.title_block
    title.owner, title.title, title.number = shop.name, "Stop zones", "NF-001"
    title.revision, title.author, title.date = "A", "Stopspan demo", "2025-03-01"
    return shop


def mended(shop: stopspan.Installation) -> stopspan.Installation:
    """The same works with the crusher's holding wire moved behind ES7."""
    better = copy.copy(shop)
    better.recorded.connect("K151", "13", "c6")
    return better


def write_files(shop: stopspan.Installation, verdict: stopspan.Verdict, folder: pathlib.Path) -> list[pathlib.Path]:
    folder.mkdir(parents=True, exist_ok=True)
    names = ("report.txt", "ninefold.xml", "ninefold.dxf", "ninefold.svg", "matrix.csv", "plan.svg")
    report, installation, dxf, svg, matrix, plan = files = [folder / name for name in names]
    report.write_text(verdict.report(), encoding="utf-8")
    shop.save(installation)
    shop.export(dxf)
    shop.export(svg)
    matrix.write_text(verdict.matrix_csv(), encoding="utf-8")
    plan.write_bytes(stopspan.render(shop.drawing()[1], "svg"))  # the first floor alone, as the README shows it
    shop.export_lists(folder / "lists")
    return [*files, folder / "lists"]


def say(text: str, indent: str = "") -> None:
    print(textwrap.fill(text, 100, initial_indent=indent, subsequent_indent=indent))


def show_act_by_act(shop: stopspan.Installation, finding: stopspan.Finding) -> None:
    replay = shop.circuit().replay()
    for act in finding.witness.acts:
        running = replay.act(act).running
        print(f"    {act:<16} running: {', '.join(running) or 'nothing'}")


def summarise(shop: stopspan.Installation, verdict: stopspan.Verdict, files: list[pathlib.Path]) -> None:
    """The result for a reader who has never seen a wiring diagram."""
    asked = list(shop.asked.values())
    say(
        f"{shop.name}: {len(shop.machines)} machines in {len(shop.areas)} areas, {len(shop.stops)} stop devices, "
        f"{len(shop.zones)} stop zones."
    )
    say(
        f"Checked on the circuit as wired: {asked.count('cut')} times that a stop cuts a machine, "
        f"{asked.count('keep')} times that it leaves light, extraction or magnet on; and that nothing starts by "
        "itself when power comes back, a stop is released, a zone is reset or an overload has cooled."
    )
    bad = [finding for finding in verdict.findings if finding.status in ("fails", "maybe", "undecided")]
    held = sum(counts.get("holds", 0) for counts in verdict.counts.values())
    print(f"\n{held} claims hold; {len(bad)} {'does' if len(bad) == 1 else 'do'} not.")
    for finding in bad:
        print()
        say(f"{finding.status.upper()}: {finding.text}", "  ")
        print("  See it act by act:")
        show_act_by_act(shop, finding)
        say(f"Because current still gets through: {' '.join(finding.witness.path)}", "  ")
        if finding.repair:
            say(f"To mend it: {finding.repair}", "  ")
    if bad:
        again = mended(shop).check()
        result = "everything holds" if again.ok else "not everything holds"
        print()
        say(
            "Tried on the description: the crusher's holding wire moved at K151:13 from c5 to c6, behind ES7. "
            f"Checked again, {result}."
        )
    print("\nWritten:")
    for file in files:
        print(f"  {file}")
    print()
    say(
        "Before any work: isolate, lock off, prove dead. Local codes prevail. Verification and commissioning are for "
        "a competent, licensed person; this advises, people decide."
    )


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    default = pathlib.Path(__file__).resolve().parents[1] / "out"
    parser.add_argument("folder", metavar="FOLDER", nargs="?", type=pathlib.Path, default=default, help=f"else {default}")
    folder = parser.parse_args(arguments).folder
    shop = describe()
    verdict = shop.check()
    files = write_files(shop, verdict, folder)
    summarise(shop, verdict, files)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
