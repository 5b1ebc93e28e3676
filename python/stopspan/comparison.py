"""What changed between two checks, as text and as JSON."""

import json
import textwrap

from . import _core


def comparison_text(comparison: _core.Comparison, width: int = 100) -> str:
    if not comparison.changed:
        return "Nothing changed.\n"
    return "".join(
        textwrap.fill(
            sentence,
            width,
            initial_indent="- ",
            subsequent_indent="  ",
            break_long_words=False,
            break_on_hyphens=False,
        )
        + "\n"
        for sentence in comparison.sentences
    )


def comparison_json(comparison: _core.Comparison) -> str:
    def finding(change: _core.FindingChange) -> dict[str, object]:
        told = change.now or change.before
        assert told is not None
        return {
            "rule": told.rule,
            "subjects": told.subjects,
            "before": change.before and {"status": change.before.status, "text": change.before.text},
            "now": change.now and {"status": change.now.status, "text": change.now.text},
        }

    def cell(found: _core.MatrixCell) -> dict[str, object]:
        return {"asked": found.asked, "found": found.found, "modes": found.modes}

    return json.dumps(
        {
            "old": comparison.old,
            "new": comparison.new,
            "changed": comparison.changed,
            "sentences": comparison.sentences,
            "stops": {"new": comparison.new_stops, "gone": comparison.gone_stops},
            "machines": {"new": comparison.new_machines, "gone": comparison.gone_machines},
            "matrix": [
                {
                    "stop": change.now.stop,
                    "machine": change.now.machine,
                    "before": cell(change.before),
                    "now": cell(change.now),
                }
                for change in comparison.cells
            ],
            "findings": [finding(change) for change in comparison.findings],
        },
        indent=2,
        ensure_ascii=False,
    )
