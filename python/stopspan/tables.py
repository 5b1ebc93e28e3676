"""Plain text tables."""

from collections.abc import Sequence


def text_table(header: Sequence[str], rows: Sequence[Sequence[str]], indent: str = "") -> str:
    """Left-aligned columns, two blanks apart, a rule under the header."""
    widths = [max(len(row[i]) for row in [header, *rows]) for i in range(len(header))]

    def line(cells: Sequence[str]) -> str:
        return (indent + "  ".join(cell.ljust(width) for cell, width in zip(cells, widths))).rstrip()

    return "\n".join([line(header), line(["-" * width for width in widths]), *map(line, rows)])


def text_table_in_blocks(header: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> str:
    """A table whose columns are continued below, first column repeated, where they do not fit into `width`."""
    widths = [max(len(row[i]) for row in [header, *rows]) for i in range(len(header))]
    blocks: list[list[int]] = []
    used = width + 1
    for column in range(1, len(header)):
        if used + 2 + widths[column] > width:
            blocks.append([0])
            used = widths[0]
        blocks[-1].append(column)
        used += 2 + widths[column]
    return "\n\n".join(
        text_table([header[i] for i in block], [[row[i] for i in block] for row in rows]) for block in blocks
    )
