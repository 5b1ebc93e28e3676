"""Ways of linking zones side by side: as text, JSON, and in a notebook."""

import json
from collections.abc import Iterator
from html import escape

from . import _core
from .tables import text_table, text_table_in_blocks

EXPLAINED = (
    "blocks: contact blocks of the stop devices described and of reset devices, and most on one of them",
    "cores: of cables between places, each net joined the shortest way; a starter stands at its machine, what belongs to"
    " a zone at its board",
    "one fault, two faults: with how many a stop device described is lost; of two, the first shows nowhere",
)


def arrangement_name(row: _core.Arrangement) -> str:
    if row.link is None:
        return "as described"
    name = row.link + (f", {row.channels} channel{'' if row.channels == 1 else 's'}" if row.channels else "")
    return name + (" *" if row.as_described else "")


def arrangement_line(row: _core.Arrangement) -> str:
    said = row.refused or f"{row.contact_blocks} contact blocks, {row.cores} cores, {sum(row.parts.values())} parts"
    return f"<Arrangement {arrangement_name(row)}: {said}>"


def _range(numbers: list[int]) -> str:
    if not numbers:
        return "-"
    low, high = min(numbers), max(numbers)
    return str(low) if low == high else f"{low} to {high}"


def _number(number: int | None) -> str:
    return "-" if number is None else str(number)


def _tables(compared: _core.ArrangementTable) -> Iterator[tuple[str, list[str], list[list[str]]]]:
    """Title, header and rows: the comparison, the parts that differ, what each stop device cuts."""
    wired = [row for row in compared.rows if not row.refused]
    yield (
        "",
        ["zones linked by", "blocks", "on one", "cores", "parts", "stopped per stop", "hold", "do not", "one fault",
         "two faults", "undecided"],
        [
            [
                arrangement_name(row),
                str(row.contact_blocks),
                str(row.blocks_on_one),
                str(row.cores),
                str(sum(row.parts.values())),
                _range(list(row.machines_stopped.values())),
                str(row.holds),
                str(row.does_not_hold),
                _number(row.single_faults),
                _number(row.hidden_faults),
                _number(row.undecided_faults),
            ]
            for row in wired
        ],
    )
    kinds = sorted({kind for row in wired for kind in row.parts})
    differing = [kind for kind in kinds if len({row.parts.get(kind, 0) for row in wired}) > 1]
    if differing:
        yield (
            "Parts of which the numbers differ",
            ["zones linked by", *differing],
            [[arrangement_name(row), *(str(row.parts.get(kind, 0)) for kind in differing)] for row in wired],
        )
    if wired and wired[0].machines_stopped:
        yield (
            "Machines that each stop device stops",
            ["zones linked by", *wired[0].machines_stopped],
            [[arrangement_name(row), *map(str, row.machines_stopped.values())] for row in wired],
        )


def _notes(compared: _core.ArrangementTable) -> Iterator[str]:
    for row in compared.rows:
        if row.refused:
            yield f"{arrangement_name(row)} cannot be wired: {row.refused}"
    if any(row.as_described and row.link for row in compared.rows):
        yield "*: as described"
    yield from EXPLAINED


def _title(compared: _core.ArrangementTable) -> str:
    return compared.installation + (f", zone {compared.zone}" if compared.zone else "")


def arrangements_table(compared: _core.ArrangementTable, width: int = 160) -> str:
    parts = [_title(compared)]
    for title, header, rows in _tables(compared):
        if rows:
            table = text_table_in_blocks(header, rows, width) if title else text_table(header, rows)
            parts.append(f"{title}\n{table}" if title else table)
    return "\n\n".join([*parts, "\n".join(_notes(compared))])


def arrangements_html(compared: _core.ArrangementTable) -> str:
    from .display import html_table

    parts = [f"<p><b>{escape(_title(compared))}</b></p>"]
    for title, header, rows in _tables(compared):
        if rows:
            parts.append((f"<p>{escape(title)}</p>" if title else "") + html_table(header, rows))
    parts += [f"<p><small>{escape(note)}</small></p>" for note in _notes(compared)]
    return "<div>" + "".join(parts) + "</div>"


def arrangements_json(compared: _core.ArrangementTable) -> str:
    return json.dumps(
        {
            "installation": compared.installation,
            "zone": compared.zone,
            "arrangements": [
                {"link": row.link, "channels": row.channels, "as_described": row.as_described, "refused": row.refused}
                | (
                    {}
                    if row.refused
                    else {
                        "contact_blocks": row.contact_blocks,
                        "blocks_on_one": row.blocks_on_one,
                        "cores": row.cores,
                        "parts": row.parts,
                        "machines_stopped": row.machines_stopped,
                        "holds": row.holds,
                        "does_not_hold": row.does_not_hold,
                        "single_faults": row.single_faults,
                        "hidden_faults": row.hidden_faults,
                        "undecided_faults": row.undecided_faults,
                    }
                )
                for row in compared.rows
            ],
        },
        indent=2,
        ensure_ascii=False,
    )
