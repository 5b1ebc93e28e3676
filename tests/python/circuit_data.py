"""Reads tests/data/circuits: wiring tables and what is expected of them, worked out by hand.

A circuit `X` is `X.csv`, a wiring table, and `X.json`:

    title, why   what it is, and why the verdict is what it is, in one line
    asked        {stop: {machine: "cut" | "keep" | "free"}}
    steps        acts and the states they end in, one after the other from cold; `change` starts again from cold with
                 other parameters; `defect` names the states that are the mistake (the wiring does this, it must not)
    faults       the same, with faults
    findings     [rule, status, subjects] or [rule, status, subjects, nets it must name]: must be found, and nothing more
    allowed      what may also be found, because the rule leaves it open
    notes        notes that must be there; other notes are free
    silent       notes that must not be there
    matrix       {"ES1 M1": found, "ES1 M1 forward": found}; a cell asked to be cut and not named here is "cuts"
    variants     findings and matrix of the same circuit with other parameters
    repairs      [rule, subjects, what mends it] or [rule, subjects, what mends it, texts]: one wire or contact is enough,
                 so a repair is printed; where it matters which, one of these
    witnesses    [rule, subjects, acts]: the plainest way to show it
    fix          terminals moved and devices added that mend everything: the circuit is then silent
"""

import csv
import json
import pathlib

import stopspan

FOLDER = pathlib.Path(__file__).resolve().parents[1] / "data" / "circuits"
NAMES = sorted(path.stem for path in FOLDER.glob("*.csv"))

RULES = [
    "stop-cuts",
    "stop-spares",
    "stop-beats-start",
    "power-return",
    "release-return",
    "trip-return",
    "own-start",
    "overload-cuts",
    "interlock-holds",
    "isolator-clears",
    "contact-race",
    "chatter",
    "one-origin",
    "earthed-side",
    "coil-volts",
    "earth-fault",
    "single-fault",
]


def expected(name: str) -> dict:
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def value(text: str) -> float | bool | str:
    if text in ("true", "false"):
        return text == "true"
    try:
        return float(text)
    except ValueError:
        return text


def devices(name: str) -> dict:
    """{designation: [kind, {terminal: net}, {parameter: value}]}, read with Python's own CSV reader."""
    found: dict = {}
    with open(FOLDER / f"{name}.csv", encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            _, terminals, parameters = found.setdefault(row["device"], [row["kind"], {}, {}])
            if row["terminal"]:
                assert row["terminal"] not in terminals, f"{name}: {row['device']}:{row['terminal']} twice"
                terminals[row["terminal"]] = row["net"]
            else:
                parameters[row["parameter"]] = value(row["value"])
    return found


def circuit(name: str, change: dict | None = None, fix: dict | None = None) -> stopspan.Circuit:
    """The circuit as its table says, with some parameters changed, or mended."""
    wired = devices(name)
    for designation, parameters in (change or {}).items():
        wired[designation][2].update(parameters)
    if fix:
        for terminal, net in fix["move"].items():
            designation, number = terminal.split(":")
            wired[designation][1][number] = net
        wired.update(fix.get("add", {}))
    made = stopspan.Circuit()
    for designation, (kind, terminals, parameters) in wired.items():
        made.add(designation, kind, terminals, **parameters)
    return made


def asked(name: str) -> dict:
    return {(stop, machine): word for stop, cells in expected(name)["asked"].items() for machine, word in cells.items()}
