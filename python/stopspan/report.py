"""Verdicts as text: one line, a matrix, a report in plain words, JSON, CSV."""

import csv
import io
import json
import textwrap
from collections.abc import Iterable, Iterator

from . import _core
from .tables import text_table, text_table_in_blocks

STATUSES = ("holds", "fails", "maybe", "undecided", "waived", "note")
NOT_HOLDING = ("fails", "maybe", "undecided")

NOT_MODELLED = (
    "mechanics: brakes, clutches, coasting, what a machine does once its power is off",
    "risk assessment: which stops are needed, and how reliable they must be",
    "electromagnetic compatibility, induced voltages, wear and ageing",
    "real hardware: wiring as built, parts as delivered, software in drives and relays",
)
CAUTIONS = (
    "Before any work: isolate, lock off, prove dead.",
    "Local codes prevail over anything said here.",
    "Verification and commissioning are for a competent, licensed person. This report advises; people decide.",
)
# Findings about more subjects than this name the first few in their heading, and all of them below.
MOST_SUBJECTS, SUBJECTS_SAID = 6, 3
MOST_WALKS = 10
FAULT_RULES = ("single-fault", "hidden-fault")
STATUS_WORDS = {
    "fails": "FAILS",
    "maybe": "MAY FAIL",
    "undecided": "UNDECIDED",
    "waived": "waived",
    "note": "note",
}


def totals(verdict: _core.Verdict) -> dict[str, int]:
    """Claims per status, over all rules."""
    return {status: sum(counts.get(status, 0) for counts in verdict.counts.values()) for status in STATUSES}


def summary(verdict: _core.Verdict) -> str:
    """The result in one sentence."""
    count = totals(verdict)
    claims = sum(count[status] for status in ("holds", *NOT_HOLDING, "waived"))
    if verdict.ok and not count["waived"]:
        if claims == 1:
            return "the one claim holds"
        return f"all {claims} claims hold" if claims else "nothing was claimed, so nothing was proven"
    one = {"fails": "fails", "maybe": "may fail", "undecided": "is undecided", "waived": "is waived"}
    more = {"fails": "fail", "maybe": "may fail", "undecided": "are undecided", "waived": "are waived"}
    parts = [f"{n} {(one if n == 1 else more)[status]}" for status in (*NOT_HOLDING, "waived") if (n := count[status])]
    if verdict.ok and count["holds"]:
        parts.append("the rest hold" if count["holds"] > 1 else "1 holds")
    return f"of {claims} claim{'' if claims == 1 else 's'}, " + ", ".join(parts)


def coverage(verdict: _core.Verdict) -> str:
    """What was left out, counted, in one sentence; empty when nothing was."""
    rules = [line for line in verdict.not_checked if line.startswith("rule ")]
    stops = sum(line.startswith("stop device ") for line in verdict.not_checked)
    known = len(_core.rules()) + sum(line.endswith(": not part of this version") for line in rules)
    parts = []
    if rules:
        parts.append(f"{len(rules)} of {known} rules {'was' if len(rules) == 1 else 'were'} not checked")
    if stops:
        parts.append(f"{stops} stop device{' was' if stops == 1 else 's were'} not judged, as nothing is asked of "
                     + ("it" if stops == 1 else "them"))
    return ", and ".join(parts)


def _set_used(verdict: _core.Verdict) -> tuple[_core.RuleSet, dict[str, float]]:
    """The rule set gone by, and what it has for the numbers that were changed."""
    used = next(each for each in _core.rule_sets() if each.id == verdict.rule_set)
    of_set = used.limits
    return used, {name: of_set[name] for name, value in verdict.limits.items() if value != of_set[name]}


def _rules_json(verdict: _core.Verdict) -> dict[str, object]:
    used, changed = _set_used(verdict)
    return {
        "id": used.id,
        "country": used.country,
        "edition": used.edition,
        "source": used.source,
        "limits": verdict.limits,
        "changed_from": changed,
    }


def _rules_lines(verdict: _core.Verdict, width: int) -> Iterator[str]:
    used, changed = _set_used(verdict)
    yield from _heading("Rules")
    yield _wrapped(f"Set {used.id}, {used.country}: {used.edition}. Read as {used.source}.", width)
    if changed:
        said = (f"{name} {verdict.limits[name]:g} instead of {of_set:g}" for name, of_set in changed.items())
        yield _wrapped(f"Changed here: {'; '.join(said)}.", width)


def verdict_line(verdict: _core.Verdict) -> str:
    return f"<Verdict {verdict.installation}: {summary(verdict)}>"


def is_as_asked(cell: _core.MatrixCell) -> bool:
    return {"cut": cell.found == "cuts", "keep": cell.found == "spares"}.get(cell.asked, True)


def cell_text(cell: _core.MatrixCell) -> str:
    """What was found, with a mark where it is not what was asked; a dot where nothing is asked and nothing cut."""
    if cell.asked == "free" and cell.found == "spares":
        return "."
    return cell.found + ("" if is_as_asked(cell) else " !")


def matrix_grid(verdict: _core.Verdict) -> tuple[list[str], list[list[str]]]:
    """Header and rows of the matrix as text: stops down, machines across."""
    cells = {(cell.stop, cell.machine): cell for cell in verdict.matrix}
    stops = list(dict.fromkeys(stop for stop, _ in cells))
    machines = list(dict.fromkeys(machine for _, machine in cells))
    rows = [
        [stop, *(cell_text(cells[stop, machine]) if (stop, machine) in cells else "." for machine in machines)]
        for stop in stops
    ]
    return ["stop", *machines], rows


def matrix_table(verdict: _core.Verdict, width: int = 100) -> str:
    header, rows = matrix_grid(verdict)
    if not rows:
        return "(no stop device or no machine)"
    return text_table_in_blocks(header, rows, width)


def matrix_csv(verdict: _core.Verdict) -> str:
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(["stop", "machine", "asked", "found", "modes"])
    for cell in verdict.matrix:
        modes = "; ".join(f"{mode}: {found}" for mode, found in cell.modes.items())
        table.writerow([cell.stop, cell.machine, cell.asked, cell.found, modes])
    return text.getvalue()


def _waiver_json(finding: _core.Finding) -> dict[str, str] | None:
    if finding.waiver is None:
        return None
    waiver = finding.waiver
    return {"reason": waiver.reason, "name": waiver.name, "date": waiver.date, "otherwise": finding.otherwise}


def verdict_json(verdict: _core.Verdict) -> str:
    return json.dumps(
        {
            "installation": verdict.installation,
            "holds": verdict.ok,
            "matrix": [
                {
                    "stop": cell.stop,
                    "machine": cell.machine,
                    "asked": cell.asked,
                    "found": cell.found,
                    "modes": cell.modes,
                }
                for cell in verdict.matrix
            ],
            "findings": [
                {
                    "rule": finding.rule,
                    "status": finding.status,
                    "subjects": finding.subjects,
                    "text": finding.text,
                    "witness": {
                        "acts": finding.witness.acts,
                        "path": finding.witness.path,
                        "ends_in": finding.witness.ends_in,
                    },
                    "repair": finding.repair,
                    "source": finding.source,
                    "waiver": _waiver_json(finding),
                }
                for finding in verdict.findings
            ],
            "counts": verdict.counts,
            "not_checked": verdict.not_checked,
            "rule_set": _rules_json(verdict),
            "walks": [
                {
                    "start": walk.start,
                    "area": walk.area,
                    "machine": walk.machine,
                    "stop": walk.stop,
                    "distance_m": round(walk.distance_m, 3),
                }
                for walk in verdict.walks
            ],
        },
        indent=2,
        ensure_ascii=False,
    )


def _wrapped(text: str, width: int, indent: str = "", hang: str | None = None) -> str:
    return textwrap.fill(
        text,
        width,
        initial_indent=indent,
        subsequent_indent=indent if hang is None else hang,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _finding_lines(number: int, finding: _core.Finding, width: int) -> Iterator[str]:
    long = len(finding.subjects) > MOST_SUBJECTS
    subjects = ", ".join(finding.subjects[: SUBJECTS_SAID if long else None])
    if long:
        subjects += f" and {len(finding.subjects) - SUBJECTS_SAID} more"
    yield f"{number}. {status_text(finding)}: {finding.rule}" + (f" ({subjects})" if subjects else "")
    yield _wrapped(finding.text, width, "   ")
    witness = finding.witness
    parts = [
        ("Try it, from cold", "; ".join(witness.acts)),
        ("Held by", "  ".join(witness.path)),
        ("Ends in", witness.ends_in),
        ("Repair", finding.repair),
        ("Accepted by", f"{waiver.name}, {waiver.date}: {waiver.reason}" if (waiver := finding.waiver) else ""),
        ("All subjects", ", ".join(finding.subjects) if long else ""),
        ("Rule from", finding.source),
    ]
    for label, text in parts:
        if text:
            yield _wrapped(f"{label + ':':<19}{text}", width, "   ", " " * 22)


def status_text(finding: _core.Finding) -> str:
    """In words; of a waived finding also what it is without its waiver."""
    words = STATUS_WORDS[finding.status]
    return f"{words} ({STATUS_WORDS[finding.otherwise].lower()})" if finding.status == "waived" else words


def _findings(title: str, findings: list[_core.Finding], width: int) -> Iterator[str]:
    if not findings:
        return
    yield from _heading(title)
    for number, finding in enumerate(findings, start=1):
        yield from _finding_lines(number, finding, width)
        yield ""


def _heading(title: str) -> Iterator[str]:
    yield title
    yield "-" * len(title)


def _bullets(lines: Iterable[str], width: int) -> Iterator[str]:
    for line in lines:
        yield _wrapped(line, width, "- ", "  ")


def _residual_faults(notes: list[_core.Finding], width: int) -> Iterator[str]:
    """What faults take away, those with the same consequences and the same way out in one line."""
    alike: dict[str, list[str]] = {}
    for note in notes:
        if note.text.startswith(one := "With the fault '"):
            fault, _, consequence = note.text.removeprefix(one).partition("' ")
            if note.repair:
                consequence += f" Way out: {note.repair}."
            alike.setdefault(consequence, []).append(fault)
        else:
            alike.setdefault(note.text, [])
    if not alike:
        return
    yield from _heading("What faults take away")
    yield _wrapped(
        "Every single channel has such faults. The list is for the assessment of risks; it is no list of mistakes.", width
    )
    for consequence, faults in alike.items():
        text = f"{'; '.join(faults)}: {consequence}" if faults else consequence
        yield _wrapped(text, width, "- ", "  ")
    yield _wrapped("Rules from: " + "; ".join(dict.fromkeys(note.source for note in notes)), width)
    yield ""


def _counts_table(verdict: _core.Verdict) -> str:
    says = {rule.id: rule.says for rule in _core.rules()}
    used = [status for status in STATUSES if totals(verdict)[status]]
    rows = [[rule, *(str(counts.get(status, 0)) for status in used)] for rule, counts in verdict.counts.items()]
    order = {rule: place for place, rule in enumerate(says)}
    rows.sort(key=lambda row: order.get(row[0], len(order)))
    return text_table(["rule", *used], rows)


def _walks(verdict: _core.Verdict) -> Iterator[str]:
    """The longest ways on the plan, longest first."""
    if not verdict.walks:
        return
    yield from _heading("Longest ways on foot to a stop that cuts")
    longest = sorted(verdict.walks, key=lambda walk: -walk.distance_m)[:MOST_WALKS]
    rows = [
        [f"exit {walk.start} of {walk.area}" if walk.area else walk.start, walk.stop, f"{walk.distance_m:.1f} m"]
        for walk in longest
    ]
    yield text_table(["from", "to", "distance"], rows)
    if len(verdict.walks) > len(longest):
        yield f"{len(verdict.walks) - len(longest)} more are no longer than these."
    yield ""


def verdict_report(verdict: _core.Verdict, width: int = 100) -> str:
    lines: list[str] = []
    title = f"Stopspan report: {verdict.installation}"
    lines += [title, "=" * len(title), "", _wrapped(f"Result: {summary(verdict)}.", width)]
    if left_out := coverage(verdict):
        lines.append(_wrapped(f'{left_out}: see "Not checked".', width))
    lines.append("")

    lines += [*_heading("Which stop cuts what, as wired"), matrix_table(verdict, width), ""]
    legend = "cuts, spares, maybe: what was found; with ! it is not what was asked; a dot: not asked for, not cut."
    lines += [_wrapped(legend, width), ""]

    lines += _findings("What does not hold", [f for f in verdict.findings if f.status in NOT_HOLDING], width)
    lines += _findings("Waived", [f for f in verdict.findings if f.status == "waived"], width)
    notes = [f for f in verdict.findings if f.status == "note"]
    lines += _findings("Notes", [f for f in notes if f.rule not in FAULT_RULES], width)
    lines += _residual_faults([f for f in notes if f.rule in FAULT_RULES], width)

    lines += _walks(verdict)
    if verdict.counts:
        lines += [*_heading("Claims decided, by rule"), _counts_table(verdict), ""]
    # What no version models has its own heading below, in more words.
    not_checked = [line for line in verdict.not_checked if not line.endswith(": not modelled")]
    if not_checked:
        lines += [*_heading("Not checked"), *_bullets(not_checked, width), ""]
    lines += [*_rules_lines(verdict, width), ""]
    lines += [*_heading("Not modelled, so for people to judge"), *_bullets(NOT_MODELLED, width), ""]
    lines += [*_heading("Before anybody relies on this"), *_bullets(CAUTIONS, width)]
    return "\n".join(lines) + "\n"
