"""Sizes as text and as JSON."""

import json
from itertools import groupby

from . import _core


def _number(value: float) -> str:
    return f"{value:.4g}"


def _with_unit(value: float, unit: str) -> str:
    return f"{_number(value)} {unit}".rstrip()


def sizes_json(sizes: _core.Sizes) -> str:
    return json.dumps(
        {
            "installation": sizes.installation,
            "values": [
                {
                    "subject": size.subject,
                    "quantity": size.quantity,
                    "value": size.value,
                    "unit": size.unit,
                    "choice": size.choice,
                    "as_wired": size.as_wired,
                    "fit": size.fit,
                    "formula": size.formula,
                    "inputs": [
                        {"name": i.name, "value": i.value, "unit": i.unit, "origin": i.origin, "source": i.source}
                        for i in size.inputs
                    ],
                    "source": size.source,
                    "rejected": [{"candidate": each.candidate, "reason": each.reason} for each in size.rejected],
                    "remark": size.remark,
                }
                for size in sizes.values
            ],
            "unknown": [
                {"subject": each.subject, "parameter": each.parameter, "needed_for": each.needed_for}
                for each in sizes.unknown
            ],
        },
        indent=2,
        ensure_ascii=False,
    )


def _input(size_input: _core.SizeInput) -> str:
    said = f"{size_input.name} {_with_unit(size_input.value, size_input.unit)}"
    return f"{said} ({size_input.origin}: {size_input.source})"


def _size_lines(size: _core.Size) -> list[str]:
    lines = [f"  {size.quantity}: {_with_unit(size.value, size.unit)}{f'; {size.choice}' if size.choice else ''}"]
    if size.as_wired is not None:
        lines.append(f"    as wired {_with_unit(size.as_wired, size.unit)}: {size.fit}")
    elif size.fit != "not compared":
        lines.append(f"    {size.fit}")
    if size.formula:
        lines.append(f"    {size.formula}")
    lines += [f"    {_input(each)}" for each in size.inputs]
    lines += [f"    not {each.candidate}: {each.reason}" for each in size.rejected]
    lines.append(f"    source: {size.source}")
    if size.remark:
        lines.append(f"    {size.remark}")
    return lines


def sizes_report(sizes: _core.Sizes) -> str:
    """Subject by subject, in the order of the list; what does not fit first, in short."""
    lines = [f"Sizes of {sizes.installation}"]
    wrong = [size for size in sizes.values if size.fit == "does not fit"]
    if wrong:
        lines += ["", f"{len(wrong)} of {len(sizes.values)} values {'does' if len(wrong) == 1 else 'do'} not fit:"]
        for size in wrong:
            has = "" if size.as_wired is None else f", wired {_with_unit(size.as_wired, size.unit)}"
            lines.append(f"  {size.subject}: {size.quantity} {_with_unit(size.value, size.unit)}{has}")
    for subject, of_subject in groupby(sizes.values, lambda size: size.subject):
        lines += ["", subject]
        for size in of_subject:
            lines += _size_lines(size)
    if sizes.unknown:
        lines += ["", "Not said, and so assumed or not sized:"]
        lines += [f"  {each.subject} {each.parameter}: {each.needed_for}" for each in sizes.unknown]
    lines += [
        "",
        "Sizes and performance levels advise; standards and makers' data go first. A competent, licensed person decides and verifies.",
    ]
    return "\n".join(lines) + "\n"
