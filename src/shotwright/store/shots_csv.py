"""shots.csv of an exported folder: exact, where the reader of crews' own tables is forgiving."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import raise_problems
from shotwright.store.rows import FROM_VIDEO, checked_shot
from shotwright.trials.records import Shot

# Header in the file -> field of Shot. The forgiving reader understands the same headers.
COLUMNS = {
    "uid": "uid",
    "trial": "trial",
    "order": "order",
    "ball": "ball",
    "along (m)": "along",
    "cross (m)": "cross",
    "height (m)": "height",
    "speed (m/s)": "speed",
    "elevation (rad)": "elevation",
    "spin (rad/s)": "spin",
    "hit": "hit",
    "remark": "remark",
    "set_aside": "set_aside",
    "source": "source",
    "speed_sd (m/s)": "speed_sd",
    "elevation_sd (rad)": "elevation_sd",
    "spin_sd (rad/s)": "spin_sd",
    "clip": "clip",
    "first_frame": "first_frame",
    "last_frame": "last_frame",
}
_NUMBERS = (
    "along", "cross", "height", "speed", "elevation", "spin", "speed_sd", "elevation_sd", "spin_sd",
)  # fmt: skip
_FRAMES = ("first_frame", "last_frame")
_NEEDS_QUOTES = re.compile(r'[,"\r\n]|^\s|\s$|^#')
_HITS = {"yes": True, "no": False, "": None}


def csv_text(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Text of a CSV file: commas, quotes only where they must be, lines that end in a line feed."""
    return "".join(",".join(map(_quoted, row)) + "\n" for row in (header, *rows))


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if _NEEDS_QUOTES.search(cell) else cell


def read_csv(
    text: str, file: str, known: Collection[str], needed: Collection[str]
) -> Iterator[tuple[int, dict[str, str]]]:
    """Read what :func:`csv_text` wrote.

    Parameters
    ----------
    text : str
        The file's text.
    file : str
        Its name, for messages.
    known, needed : collection of str
        Headers that may, and that must, be there.

    Yields
    ------
    tuple of int and dict
        Row number as a spreadsheet counts, and cells by header.

    Raises
    ------
    BadInput
        A header or a row that does not fit.
    """
    rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    number = 0
    try:
        header = next(rows, [])
        number = 1
        strange = [name for name in header if name not in known]
        missing = [name for name in needed if name not in header]
        if strange or missing or len(set(header)) < len(header):
            found = (
                f"{strange[0]!r} is not a column here" if strange else f"the columns are {', '.join(header)}"
            )
            words = f"{found}; known: {', '.join(known)}; needed: {', '.join(needed)}"
            raise BadInput(words, file=file, row=1)
        for number, row in enumerate(rows, 2):
            if not row:
                continue
            if len(row) != len(header):
                raise BadInput(f"has {len(row)} cells, the header {len(header)}", file=file, row=number)
            yield number, dict(zip(header, row, strict=True))
    except csv.Error as reason:
        raise BadInput(f"can't be read as CSV ({reason})", file=file, row=number + 1) from None


def shots_text(shots: Iterable[Shot]) -> str:
    """Text of shots.csv; the columns of a video stand in it when a shot was measured on one."""
    rows = tuple(shots)
    filmed = any(getattr(shot, name) is not None for shot in rows for name in FROM_VIDEO)
    columns = {h: name for h, name in COLUMNS.items() if filmed or name not in FROM_VIDEO}
    return csv_text(tuple(columns), ([_cell(getattr(s, name)) for name in columns.values()] for s in rows))


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(float(value)) if isinstance(value, float) else str(value)


def shots_from_text(text: str, file: str, trials: Collection[str] | None) -> tuple[Shot, ...]:
    """Read shots.csv.

    Parameters
    ----------
    text : str
        Its text.
    file : str
        Its name, for messages.
    trials : collection of str, optional
        Names that a shot may refer to; None: any.

    Returns
    -------
    tuple of Shot
        In the order of the file.

    Raises
    ------
    BadFile
        Every row that can't be read, one line for each.
    """
    problems: list[BadInput] = []
    shots: list[Shot] = []
    numbers: dict[tuple[str, int], int] = {}
    uids: dict[str, int] = {}
    for row, cells in read_csv(text, file, tuple(COLUMNS), ("uid", "trial", "order")):
        try:
            shot = _shot({COLUMNS[header]: cell for header, cell in cells.items()})
            if trials is not None and shot.trial not in trials:
                raise BadInput(f"there is no trial {shot.trial!r} in trials.toml", field="trial")
            for twin, what in ((numbers.get((shot.trial, shot.order)), "order"), (uids.get(shot.uid), "uid")):
                if twin is not None:
                    raise BadInput(f"{getattr(shot, what)!r} is in row {twin} already", field=what)
        except BadInput as bad:
            problems.append(bad.at(file=file, row=row))
            continue
        numbers[shot.trial, shot.order] = uids[shot.uid] = row
        shots.append(shot)
    raise_problems(problems)
    return tuple(shots)


def _shot(cells: dict[str, str]) -> Shot:
    values: dict[str, Any] = dict(cells)
    if not re.fullmatch(r"\d{1,10}", cells["order"]):
        raise BadInput(f"{cells['order'][:40]!r} is not a shot number; 1, 2, 3, ...", field="order")
    values["order"] = int(cells["order"])
    for name in _NUMBERS:
        values[name] = _number(cells.get(name, ""), name)
    for name in _FRAMES:
        cell = cells.get(name, "")
        if cell and not re.fullmatch(r"\d{1,10}", cell):
            raise BadInput(f"{cell[:40]!r} is not a frame number; 0, 1, 2, ...", field=name)
        values[name] = int(cell) if cell else None
    for name in ("ball", "set_aside", "clip"):
        values[name] = cells.get(name) or None
    if cells.get("hit", "") not in _HITS:
        raise BadInput(f"{cells['hit'][:40]!r} is neither yes, no nor empty", field="hit")
    values["hit"] = _HITS[cells.get("hit", "")]
    return checked_shot(Shot(**values))


def _number(cell: str, field: str) -> float | None:
    if not cell:
        return None
    try:
        number = float(cell)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise BadInput(f"{cell[:40]!r} is not a number; the unit stands in the header", field=field)
    return number
