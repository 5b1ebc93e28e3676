"""The command ``stopspan``: check, compare, arrangements, sizes, export, lists, record, replay."""

import argparse
import json
import os
import shutil
import sys
import threading
import time
import warnings
from collections.abc import Sequence
from types import TracebackType

from . import _core, arrangements, comparison, report
from .tables import text_table
from .words import Target

HOLDS, DOES_NOT_HOLD, UNUSABLE = 0, 1, 2
SAME, CHANGED = 0, 1  # of compare
INTERRUPTED = 130  # as shells have it for Ctrl-C

EPILOG = """\
exit codes: 0 all claims hold or are waived; 1 something fails, may fail or is undecided; 2 unusable input;
of compare: 0 nothing changed; 1 something changed; 2 unusable input
"""
CAUTIONS = """\
Isolate, lock off, prove dead. Local codes prevail. Verification and commissioning by a competent, licensed person.
"""


def _tables() -> str:
    """The sets of rules and the fault exclusions, for the help of `check`."""
    every = len(_core.rules())
    sets = [
        [each.id, each.country, each.says if len(each.rules) == every else " ".join(each.rules)]
        for each in _core.rule_sets()
    ]
    exclusions = [[each.id, each.faults] for each in _core.fault_exclusions()]
    return "\n".join(
        [
            EPILOG,
            text_table(["set of rules", "country", "rules"], sets),
            "",
            text_table(["fault exclusion", "leaves out"], exclusions),
            "",
            CAUTIONS,
        ]
    )


FORMATS = (
    "dxf (R2000), dxf-r2007 (UTF-8), dxf-r12, svg, fodg (office suites), graphml (the circuit), xml (installation file), "
    "csv (wiring table), or that of a plugin"
)
ACTS = """\
acts (and faults), each followed by the designation of the device it is done to:
  tap, hold, free             a device that springs back: push-button, pedal, floor bar
  latch, unlatch              a device that latches: emergency stop, pull wire
  turn DEVICE on|off          a device that stays where it is put: selector, key switch
  open, close                 an isolator
  lose, restore SOURCE[:POLE] a supply, or one pole of it
  trip, cool, reset           an overload
  blow, replace               a fuse
  elapse [TIMER]              let a running timer, or all of them, run out
  earth NET; bridge NET NET; break DEVICE:TERMINAL; weld CONTACTOR; jam DEVICE; detach DEVICE[:TERMINAL]; blind OVERLOAD
  fresh                       begin anew, from cold
"""


class Progress:
    """Says on stderr how far a piece of work is, once it takes more than a second."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._counted = ""
        self._started = time.monotonic()
        self._said = False
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._speak, daemon=True)

    def __enter__(self) -> "Progress":
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ended.set()
        self._thread.join()
        if self._said and sys.stderr.isatty():
            sys.stderr.write("\r\x1b[K")

    def count(self, done: int, total: int) -> None:
        rest = ", now what they share, and repairs" if done == total else ""
        self._counted = f": {done} of {total} machines{rest}"

    def _speak(self) -> None:
        # A terminal gets one line that changes; a log gets a line now and then.
        terminal = sys.stderr.isatty()
        pause_s = 1.0
        while not self._ended.wait(pause_s):
            line = f"{self._what}{self._counted}, {time.monotonic() - self._started:.0f} s"
            sys.stderr.write(f"\r\x1b[K{line}" if terminal else line + "\n")
            sys.stderr.flush()
            self._said = True
            pause_s = 0.5 if terminal else min(30.0, pause_s * 2)


def _width() -> int:
    return max(60, min(160, shutil.get_terminal_size((100, 24)).columns))


def _check(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    with Progress("checking") as progress:
        verdict = installation.check(
            rules=arguments.rule,
            rule_set=arguments.rules,
            target=arguments.target,
            fault_exclusions=arguments.exclude,
            threads=arguments.threads,
            state_budget=arguments.state_budget,
            progress=progress.count,
        )
    print(report.verdict_json(verdict) if arguments.json else report.verdict_report(verdict, _width()), end="")
    if arguments.json:
        print()
    return HOLDS if verdict.ok else DOES_NOT_HOLD


def _compare(arguments: argparse.Namespace) -> int:
    files = [_core.load(file) for file in (arguments.old, arguments.new)]
    verdicts = []
    for which, installation in zip(("old", "new"), files):
        with Progress(f"checking the {which} one") as progress:
            verdicts.append(
                installation.check(
                    rules=arguments.rule,
                    rule_set=arguments.rules,
                    threads=arguments.threads,
                    state_budget=arguments.state_budget,
                    repairs=False,
                    progress=progress.count,
                )
            )
    found = _core.compare(*verdicts)
    print(comparison.comparison_json(found) + "\n" if arguments.json else comparison.comparison_text(found, _width()), end="")
    return CHANGED if found.changed else SAME


def _arrangements(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    with Progress("comparing") as progress:
        compared = installation.compare_arrangements(
            arguments.zone,
            faults=arguments.faults,
            fault_exclusions=arguments.exclude,
            threads=arguments.threads,
            state_budget=arguments.state_budget,
            progress=progress.count,
        )
    print(arrangements.arrangements_json(compared) if arguments.json else arrangements.arrangements_table(compared, _width()))
    return HOLDS


def _sizes(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    with Progress("sizing"):
        found = installation.sizes(fault_exclusions=arguments.exclude)
    print(found.to_json() + "\n" if arguments.json else found.report(), end="")
    return DOES_NOT_HOLD if any(size.fit == "does not fit" for size in found.values) else HOLDS


def _say_warning(message: Warning | str, *_where: object, **_how: object) -> None:
    print(f"stopspan: {message}", file=sys.stderr)


def _export(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    warnings.showwarning = _say_warning  # of plugins that cannot be used
    for folder in arguments.exporters:
        _core.load_exporters(folder)
    with Progress("drawing"):
        installation.export(arguments.out, arguments.format, each_sheet=arguments.each_sheet)
    return HOLDS


def _lists(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    with Progress("writing lists"):
        installation.export_lists(arguments.folder)
    return HOLDS


def _record(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    recorded = installation.record_commissioning(arguments.results)
    installation.save(arguments.file)
    failed = [each for each in installation.test_records[-recorded:] if each.result == "fail"] if recorded else []
    print(f"{recorded} results recorded, {len(failed)} of them fail")
    for each in failed:
        print("  " + " ".join(word for word in (each.test, each.device, each.machine) if word))
    return DOES_NOT_HOLD if failed else HOLDS


def _replay(arguments: argparse.Namespace) -> int:
    installation = _core.load(arguments.file)
    replay = installation.circuit().replay()
    acts = [act.strip() for act in arguments.acts.split(";") if act.strip()]
    steps = [("(cold)", replay.settled)] + [(act, replay.act(act)) for act in acts]
    if arguments.json:
        print(
            json.dumps(
                {
                    "installation": installation.name,
                    "steps": [
                        {
                            "act": act,
                            "running": settled.running,
                            "armatures": settled.armatures,
                            "maybe": settled.maybe,
                            "live": settled.live,
                        }
                        for act, settled in steps
                    ],
                    "notes": replay.notes,
                },
                indent=2,
                ensure_ascii=False,
            )
        )
        return HOLDS
    rows = [
        [act, *(" ".join(names) or "-" for names in (settled.running, settled.armatures, settled.maybe))]
        for act, settled in steps
    ]
    print(text_table(["act", "running", "in", "maybe"], rows))
    for note in replay.notes:
        print(f"note: {note}")
    return HOLDS


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{number} is less than 1")
    return number


def _add_rules(command: argparse.ArgumentParser) -> None:
    """What rules a check goes by, and how much it may search."""
    rules = ", ".join(rule.id for rule in _core.rules())
    command.add_argument(
        "--rule", action="append", metavar="ID", help=f"decide this rule only; may be repeated. Rules: {rules}"
    )
    command.add_argument(
        "--rules",
        choices=[each.id for each in _core.rule_sets()],
        metavar="SET",
        help="the set of rules to go by (all), see the help of check; with --rule its rules and those named, or of a "
        "set of every rule only those named",
    )
    _add_effort(command)


def _add_exclude(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--exclude",
        action="append",
        default=[],
        choices=[each.id for each in _core.fault_exclusions()],
        metavar="ID",
        help="leave faults out, beside those the installation file leaves out, see `stopspan check --help`; may be "
        "repeated",
    )


def _add_effort(command: argparse.ArgumentParser) -> None:
    command.add_argument("--threads", type=_positive, default=1, help="how many to use (1)")
    command.add_argument("--state-budget", type=_positive, default=200_000, help="states to search per claim (200000)")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stopspan",
        description="Proves what every stop of a workshop really cuts, from the circuit as wired.",
        epilog=EPILOG + CAUTIONS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"stopspan {_core.__version__}")
    commands = parser.add_subparsers(dest="command", required=True)
    file_help = "installation file (.xml) or wiring table (.csv)"

    check = commands.add_parser(
        "check",
        help="decide what holds",
        epilog=_tables(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    check.add_argument("file", metavar="FILE", help=file_help)
    check.add_argument("--json", action="store_true", help="print the verdict as JSON")
    _add_rules(check)
    _add_exclude(check)
    check.add_argument(
        "--target",
        choices=[str(target) for target in Target],
        default=str(Target.NONE),
        help="faults that every stop must outlive at the least, beside what zones declare (none)",
    )
    check.set_defaults(run=_check)

    compare = commands.add_parser("compare", help="say what a change changed, in matrix and findings")
    compare.add_argument("old", metavar="OLD", help=f"before the change: {file_help}")
    compare.add_argument("new", metavar="NEW", help="after it")
    compare.add_argument("--json", action="store_true", help="print the comparison as JSON")
    _add_rules(compare)
    compare.set_defaults(run=_compare)

    arranged = commands.add_parser(
        "arrangements",
        help="compare the ways of linking zones",
        description="Wires and checks the installation once for every way of linking its zones, all of them alike.",
    )
    arranged.add_argument("file", metavar="FILE", help="installation file (.xml)")
    arranged.add_argument("--zone", metavar="NAME", help="change this zone only, leave the others as described")
    arranged.add_argument("--json", action="store_true", help="print the table as JSON")
    arranged.add_argument(
        "--no-faults", dest="faults", action="store_false", help="leave out single and hidden faults, which take longest"
    )
    _add_exclude(arranged)
    _add_effort(arranged)
    arranged.set_defaults(run=_arrangements)

    sizes = commands.add_parser(
        "sizes",
        help="size motors, contactors, overloads, fuses, cables, control supplies, loops, stopping, reliability of stops",
        description="Every size with its formula, inputs and source. Exit code 1: something wired does not fit.",
    )
    sizes.add_argument("file", metavar="FILE", help=file_help)
    sizes.add_argument("--json", action="store_true", help="print the sizes as JSON")
    _add_exclude(sizes)
    sizes.set_defaults(run=_sizes)

    export = commands.add_parser("export", help="write drawings or tables")
    export.add_argument("file", metavar="FILE", help=file_help)
    export.add_argument("out", metavar="OUT", help="file to write; its suffix tells the format")
    export.add_argument("--format", metavar="NAME", help=FORMATS)
    export.add_argument(
        "--each-sheet", action="store_true", help="a file for each sheet, its number added to the name: plan-03.svg"
    )
    export.add_argument(
        "--exporters",
        action="append",
        default=[],
        metavar="FOLDER",
        help="exporters (shared libraries) to load from a folder, beside those of STOPSPAN_EXPORTERS; may be repeated",
    )
    export.set_defaults(run=_export)

    lists = commands.add_parser(
        "lists", help="write wires, terminals, cables, parts, settings, labels and the commissioning list as CSV files"
    )
    lists.add_argument("file", metavar="FILE", help=file_help)
    lists.add_argument("folder", metavar="FOLDER", help="where to; made when it is not there")
    lists.set_defaults(run=_lists)

    record = commands.add_parser(
        "record",
        help="keep the results of a filled-in commissioning list in the installation file",
        description="Rows without a result were not tried yet. Exit code 1 when a trial failed.",
    )
    record.add_argument("file", metavar="FILE", help="installation file (.xml); it is written anew")
    record.add_argument("results", metavar="CSV", help="commissioning list, filled in")
    record.set_defaults(run=_record)

    replay = commands.add_parser(
        "replay",
        help="do acts and see what runs",
        epilog=ACTS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    replay.add_argument("file", metavar="FILE", help=file_help)
    replay.add_argument("acts", metavar="ACTS", help='acts separated by ";", as "tap S1; latch S9"')
    replay.add_argument("--json", action="store_true", help="print the steps as JSON")
    replay.set_defaults(run=_replay)
    return parser


def _spread_rules(arguments: Sequence[str]) -> list[str]:
    """``--rule a b`` reads as ``--rule a --rule b``, as long as what follows is a rule."""
    known = {rule.id for rule in _core.rules()}
    spread: list[str] = []
    for place, argument in enumerate(arguments):
        if argument in known and place >= 2 and arguments[place - 1] in known and "--rule" in spread:
            spread.append("--rule")
        spread.append(argument)
    return spread


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command line. Returns the exit code."""
    given = sys.argv[1:] if arguments is None else arguments
    parsed = _parser().parse_args(_spread_rules(given))
    try:
        code: int = parsed.run(parsed)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read the output has enough; the interpreter must not try again to write what is left.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return UNUSABLE
    except KeyboardInterrupt:
        print("stopspan: stopped", file=sys.stderr)
        return INTERRUPTED
    except (_core.ModelError, OSError) as error:
        print(f"stopspan: {error}", file=sys.stderr)
        return UNUSABLE


if __name__ == "__main__":
    sys.exit(main())
