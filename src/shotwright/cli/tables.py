"""Tables and paragraphs as plain text for a terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

_NUMBER = re.compile(r"^[<>]?[-+−]?[\d.,]+(?:e[-+]?\d+)?\s?%?(?:\s.*)?$", re.I)
GAP = "  "


def table(header: Sequence[str], rows: Sequence[Sequence[object]], width: int = 100) -> str:
    """Write rows under a header, columns aligned; a column of numbers stands to the right.

    The last column is wrapped when the table is wider than `width`: sentences stand there.

    Parameters
    ----------
    header : sequence of str
        Column titles.
    rows : sequence of sequences
        Cells; None prints as a dash.
    width : int
        Characters that a line may have.

    Returns
    -------
    str
        Lines without a closing line break.

    Examples
    --------
    >>> print(table(["trial", "shots"], [["T1", 7], ["long one", 12]]))
    trial     shots
    --------  -----
    T1            7
    long one     12
    """
    cells = [["-" if cell is None else str(cell) for cell in row] for row in rows]
    columns = list(zip(*cells, strict=True)) if cells else [() for _ in header]
    widths = [max([len(title), *map(len, column)]) for title, column in zip(header, columns, strict=True)]
    right = [bool(column) and all(_NUMBER.match(c) or c == "-" for c in column) for column in columns]
    room = width - sum(widths[:-1]) - len(GAP) * (len(widths) - 1)
    widths[-1] = max(min(widths[-1], room), min(widths[-1], 24))
    lines = [_line(header, widths, right), GAP.join("-" * w for w in widths)]
    for row in cells:
        first, *more = textwrap.wrap(row[-1], widths[-1]) or [""]
        lines.append(_line([*row[:-1], first], widths, right))
        lines += [_line([*[""] * (len(row) - 1), part], widths, right) for part in more]
    return "\n".join(line.rstrip() for line in lines)


def _line(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    return GAP.join(
        cell.rjust(w) if numbers else cell.ljust(w)
        for cell, w, numbers in zip(row, widths, right, strict=True)
    )


def paragraphs(sentences: Sequence[str], width: int = 100) -> str:
    """Write sentences, one paragraph each, wrapped to `width` characters.

    Examples
    --------
    >>> print(paragraphs(["Blocked from the left post.", "Open from the centre."]))
    Blocked from the left post.
    Open from the centre.
    """
    return "\n".join(textwrap.fill(s, width, subsequent_indent=GAP) for s in sentences if s)


def section(title: str, *blocks: str) -> str:
    """Write a title over its blocks, with blank lines between; empty blocks are left out."""
    kept = [block for block in blocks if block]
    return "\n\n".join([f"{title}\n{'=' * len(title)}", *kept]) if kept else ""
