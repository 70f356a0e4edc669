"""Shot tables as crews keep them: CSV, TSV or XLSX into shots, with every row that can't be read named."""

from __future__ import annotations

import datetime
import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.quantities import KINDS
from shotwright.trials.measure.cells import Cells, Row, read_cells
from shotwright.trials.measure.headers import MEASURED, Column, count_known, find_columns, recognise
from shotwright.trials.measure.values import NOTHING, Unreadable, as_words, read_value
from shotwright.trials.records import Prototype, Shot, Trial

_SHOT_NUMBER = re.compile(r"#\s*\d*\.?")
_ROWS_TO_SEARCH = 30  # for the header, below a title


@dataclass(frozen=True, slots=True)
class RowProblem(Result):
    """Why a row was not read.

    Parameters
    ----------
    row : int
        As the spreadsheet counts; the row of the header when the whole column is meant.
    field : str
        Our name of the column; empty when the row as a whole is meant.
    reason : str
        In words, with what to do.
    """

    row: int
    field: str
    reason: str

    def __str__(self) -> str:
        return (
            f"row {self.row}, {self.field}: {self.reason}" if self.field else f"row {self.row}: {self.reason}"
        )


@dataclass(frozen=True, slots=True)
class TableReading(Result):
    """What a table holds. Nothing is stored by reading it.

    Parameters
    ----------
    trials : tuple of Trial
        Trials whose prototype the table or the caller names.
    prototypes : tuple of Prototype
        Prototypes that it names; nothing but the names is known.
    shots : tuple of Shot
        Rows that were read.
    problems : tuple of RowProblem
        Rows that were not.
    notes : tuple of str
        How the file and each column was understood.
    """

    trials: tuple[Trial, ...]
    prototypes: tuple[Prototype, ...]
    shots: tuple[Shot, ...]
    problems: tuple[RowProblem, ...]
    notes: tuple[str, ...]


@dataclass(slots=True)
class _TrialSoFar:
    prototype: str | None
    rows: int = 0
    orders: dict[int, int] = field(default_factory=dict)  # shot number -> row
    uids: dict[str, int] = field(default_factory=dict)
    date: datetime.date | None = None
    setting: str = ""
    on_floor: bool = False
    on_plane: bool = False


def read_shot_table(
    path: Path | str,
    *,
    trial: str | None = None,
    prototype: str | None = None,
    columns: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    start_after: Mapping[str, int] | None = None,
) -> TableReading:
    """Read a table of shots.

    Marks are `along` (away from the launcher) and `cross` (left positive), or `height` and `cross` on an
    upright plane; a column ``right`` is turned round. Each quantity needs a unit, in the header, in the cell,
    or in `units`.

    Parameters
    ----------
    path : Path or str
        CSV, TSV or XLSX.
    trial : str, optional
        Trial of all rows, where the table has no such column.
    prototype : str, optional
        Prototype of all rows, where the table has no such column. Without a trial's name, its own is used.
    columns : mapping, optional
        Our name -> header in the file.
    units : mapping, optional
        Our name -> unit of bare numbers.
    start_after : mapping, optional
        Trial -> number of its last shot so far, for tables without shot numbers; else they count from 1.

    Returns
    -------
    TableReading
        Shots, and the rows that are none.

    Raises
    ------
    BadInput
        The file is no table, or no column of it is known.
    """
    path = Path(path)
    wanted = dict(columns or {})
    plain_wanted = {header.strip().lower() for header in wanted.values()}

    def known(row: Row) -> int:
        named = sum(str(cell or "").strip().lower() in plain_wanted for cell in row)
        return named * 100 + count_known(row)

    cells = read_cells(path, known)
    head = max(
        range(min(len(cells.rows), _ROWS_TO_SEARCH)),
        key=lambda number: (known(_without_mark(cells.rows[number])), -number),
    )
    header = _without_mark(cells.rows[head])
    found, unused = find_columns(header, wanted, units or {}, path.name, head + 1)
    if not any(column.field in MEASURED for column in found):
        listed = ", ".join(as_words(cell) for cell in header if str(cell or "").strip())[:200]
        problem = (
            f"no column holds a mark or a launch value; found: {listed}. Name one along, cross, height, speed"
        )
        raise BadInput(
            f"{problem}, elevation, spin or hit, with its unit: along (cm)", file=path.name, row=head + 1
        )
    reader = _TableReader(path.name, cells, head, found, trial, prototype, dict(start_after or {}))
    reader.note_columns(unused)
    reader.read()
    return reader.reading()


def _without_mark(row: Row) -> Row:
    """Header row without the ``#`` that some programs put in front of it."""
    first = str(row[0] or "") if row else ""
    if (
        first.startswith("#")
        and recognise(first[1:]) is not None
        and not _SHOT_NUMBER.fullmatch(first.strip())
    ):
        return [first[1:].strip(), *row[1:]]
    return row


class _TableReader:
    """Goes through the rows once, keeping shots, problems and what is known of each trial."""

    def __init__(
        self,
        file: str,
        cells: Cells,
        head: int,
        columns: list[Column],
        trial: str | None,
        prototype: str | None,
        start_after: dict[str, int],
    ) -> None:
        self.file = file
        self.cells = cells
        self.first = head + 1
        self.columns = columns
        self.fields = {column.field for column in columns}
        self.trial = trial
        self.prototype = prototype
        self.start_after = start_after
        self.width = max(
            (n for n, cell in enumerate(cells.rows[head], 1) if str(cell or "").strip()), default=0
        )
        self.trials: dict[str, _TrialSoFar] = {}
        self.shots: list[Shot] = []
        self.problems: list[RowProblem] = []
        self.notes = [f"{file}: {cells.how}; header in row {head + 1}"]
        if not ({"trial", "prototype"} & self.fields or trial or prototype):
            raise BadInput(
                "no column names the trial or the prototype; state one of them when reading",
                file=file,
                row=head + 1,
            )

    def note_columns(self, unused: list[str]) -> None:
        """Take units from a row below the header, then say how each column is read."""
        self._read_unit_row()
        for column in self.columns:
            turned = ", sign turned" if column.sign < 0 else ""
            unit = f" [{column.unit}]" if column.unit else ""
            self.notes.append(f"column {column.header!r} is read as {column.field}{unit}{turned}")
        if unused:
            self.notes.append("not used: " + ", ".join(repr(header) for header in unused))

    def _read_unit_row(self) -> None:
        row = self.cells.rows[self.first] if self.first < len(self.cells.rows) else ()
        texts = [str(cell or "").strip() for cell in row]
        if not any(texts) or any(any(letter.isdigit() for letter in text) for text in texts):
            return
        bare = [c for c in self.columns if c.kind in KINDS and not c.unit and c.index < len(texts)]
        if bare and all(column.take_unit(texts[column.index].strip("()[]")) for column in bare):
            self.first += 1

    def read(self) -> None:
        """Read all rows."""
        self._find_missing_units()
        if self.problems:
            return
        skipped = []
        for number, row in enumerate(self.cells.rows[self.first :], self.first + 1):
            first = next((text for cell in row if (text := str("" if cell is None else cell).strip())), "")
            if not first:
                continue
            if first.startswith("#") and not _SHOT_NUMBER.fullmatch(first):
                skipped.append(str(number))
                continue
            self._read_row(number, row)
        if skipped:
            self.notes.append(
                f"comment lines: row {', '.join(skipped[:20])}{' ...' if len(skipped) > 20 else ''}"
            )

    def _find_missing_units(self) -> None:
        """Report a column once, not on each row, when none of its cells has a unit."""
        for column in self.columns:
            if column.kind not in KINDS or column.unit:
                continue
            filled = [row[column.index] for row in self.cells.rows[self.first :] if column.index < len(row)]
            texts = [
                text for cell in filled if (text := str("" if cell is None else cell).strip()) not in NOTHING
            ]
            if texts and not any(letter.isalpha() or letter in "°\"'" for text in texts for letter in text):
                self.problems.append(RowProblem(self.first, column.field, column.missing_unit()))

    def _read_row(self, number: int, row: Row) -> None:
        before = len(self.problems)
        values: dict[str, Any] = {}
        for column in self.columns:
            cell = row[column.index] if column.index < len(row) else None
            if cell is None or (isinstance(cell, str) and cell.strip() in NOTHING):
                continue
            try:
                values[column.field] = read_value(column, cell)
            except Unreadable as reason:
                self.problems.append(RowProblem(number, column.field, str(reason)))
        extra = [text for cell in row[self.width :] if (text := str("" if cell is None else cell).strip())]
        if extra:
            self._problem(
                number, "", f"more cells than headers ({extra[0][:40]!r}); a comma as decimal mark?"
            )
        self._check_marks(number, values)
        name = values.get("trial") or self.trial or values.get("prototype") or self.prototype
        if not name:
            self._problem(number, "trial", "neither trial nor prototype is named")
            return
        so_far = self._trial_of(number, name, values.get("prototype") or self.prototype)
        so_far.rows += 1
        order = values.get("order") or self.start_after.get(name, 0) + so_far.rows
        if "order" in self.fields and "order" not in values and len(self.problems) == before:
            self._problem(number, "order", "the shot has no number")
        if order in so_far.orders:
            twin = so_far.orders[order]
            self._problem(number, "order", f"shot {order} of trial {name!r} is in row {twin} already")
        uid = values.get("uid") or self._uid(number, row, name)
        if uid in so_far.uids:
            self._problem(number, "uid", f"{uid!r} is in row {so_far.uids[uid]} already")
        if len(self.problems) == before:
            so_far.orders[order] = so_far.uids[uid] = number
            self._keep(number, name, order, uid, values, so_far)

    def _problem(self, number: int, column: str, reason: str) -> None:
        self.problems.append(RowProblem(number, column, reason))

    def _check_marks(self, number: int, values: Mapping[str, Any]) -> None:
        if any(p.row == number for p in self.problems[-8:]):
            return
        if not any(name in values for name in MEASURED):
            self._problem(number, "", "nothing was measured; leave the row out, or write hit yes or no")
        far = next((name for name in ("along", "height") if name in values), None)
        if far and "cross" in self.fields and "cross" not in values:
            self._problem(number, "cross", f"is empty, though {far} is not; a mark needs both")
        if not far and "cross" in values and self.fields & {"along", "height"}:
            self._problem(
                number, "along" if "along" in self.fields else "height", "is empty, though cross is not"
            )

    def _trial_of(self, number: int, name: str, prototype: str | None) -> _TrialSoFar:
        so_far = self.trials.setdefault(name, _TrialSoFar(prototype))
        if so_far.prototype is None:
            so_far.prototype = prototype
        elif prototype and prototype != so_far.prototype:
            other = f"trial {name!r} is of prototype {so_far.prototype!r} in the rows above"
            self._problem(number, "prototype", f"{prototype!r}, but {other}; a trial has one prototype")
        return so_far

    def _uid(self, number: int, row: Row, trial: str) -> str:
        texts = [as_words("" if cell is None else cell) for cell in row]
        while texts and not texts[-1]:
            texts.pop()
        content = json.dumps([self.file, number, trial, texts])
        return hashlib.sha256(content.encode()).hexdigest()[:32]

    def _keep(
        self, number: int, name: str, order: int, uid: str, values: Mapping[str, Any], so_far: _TrialSoFar
    ) -> None:
        so_far.date = so_far.date or values.get("date")
        so_far.setting = so_far.setting or values.get("setting", "")
        so_far.on_floor |= "along" in values
        so_far.on_plane |= "height" in values
        own = ("ball", "along", "cross", "height", "speed", "elevation", "spin", "hit", "remark", "set_aside")
        given = {key: values[key] for key in own if key in values}
        self.shots.append(Shot(uid=uid, trial=name, order=order, source=f"{self.file} row {number}", **given))

    def reading(self) -> TableReading:
        """Return what was read."""
        trials = tuple(
            Trial(
                name=name,
                prototype=seen.prototype,
                date=seen.date,
                setting=seen.setting,
                surface="plane" if seen.on_plane and not seen.on_floor else "floor",
            )
            for name, seen in self.trials.items()
            if seen.prototype
        )
        names = dict.fromkeys(trial.prototype for trial in trials)
        return TableReading(
            trials=trials,
            prototypes=tuple(Prototype(name) for name in names),
            shots=tuple(self.shots),
            problems=tuple(self.problems),
            notes=tuple(self.notes),
        )
