"""Records to rows and back. Columns carry the names of the records' fields."""

from __future__ import annotations

import dataclasses
import datetime
import json
import math
import numbers
from typing import Any, TypeVar

from shotwright.base.errors import BadInput
from shotwright.trials.records import Prototype, Shot, Trial

Record = TypeVar("Record", Prototype, Trial, Shot)
TABLES: dict[type, str] = {Prototype: "prototypes", Trial: "trials", Shot: "shots"}
_YES_NO = {"same_ball", "hit"}
_MOST_SHOTS = 10**9


def columns_of(kind: type) -> tuple[str, ...]:
    """Names of a record's fields, in their order."""
    return tuple(field.name for field in dataclasses.fields(kind))


def select(kind: type, rest: str = "") -> str:
    """Statement that reads records of a kind."""
    names = ", ".join(f'r."{name}"' for name in columns_of(kind))
    return f"select {names} from {TABLES[kind]} r {rest}"  # noqa: S608  names of our own records, never input


def insert(kind: type, on_conflict: str) -> str:
    """Statement that writes one record of a kind."""
    names = columns_of(kind)
    listed = ", ".join(f'"{name}"' for name in names)
    marks = ", ".join("?" * len(names))
    return f"insert into {TABLES[kind]} ({listed}) values ({marks}) {on_conflict}"  # noqa: S608  as above


def update_by_name(kind: type) -> str:
    """Conflict clause that replaces the record of the same name."""
    sets = ", ".join(f'"{name}" = excluded."{name}"' for name in columns_of(kind) if name != "name")
    return f"on conflict (name) do update set {sets}"


def to_row(record: Prototype | Trial | Shot) -> tuple[Any, ...]:
    """Return a record's values as the database holds them; BadInput for what it can't hold exactly."""
    return tuple(_to_cell(record, name) for name in columns_of(type(record)))


def _to_cell(record: Any, name: str) -> Any:
    value = getattr(record, name)
    if value is None or isinstance(value, bool):
        return value if value is None else int(value)
    if isinstance(value, str):
        return checked_text(value, name)
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, numbers.Integral):
        return int(value)
    number = float(value)
    if not math.isfinite(number):
        raise BadInput(f"{value!r} is not a finite number; leave it out when it is not known", field=name)
    return number


def from_row(kind: type[Record], row: tuple[Any, ...]) -> Record:
    """Build a record from its row."""
    values = dict(zip(columns_of(kind), row, strict=True))
    for name in _YES_NO & values.keys():
        values[name] = None if values[name] is None else bool(values[name])
    if values.get("date") is not None:
        values["date"] = datetime.date.fromisoformat(values["date"])
    return kind(**values)


def checked_text(text: str, field: str) -> str:
    """Return `text` if every program can hold it: no half characters, no zero bytes."""
    if "\x00" in text:
        raise BadInput("holds a zero byte; type it again", field=field)
    try:
        text.encode()
    except UnicodeEncodeError:
        raise BadInput(f"{text!r} holds half a character; type it again", field=field) from None
    return text


def checked_name(text: str, field: str) -> str:
    """Return `text` if it can name something: one line, not blank."""
    if not text.strip() or any(ord(letter) < 32 or ord(letter) == 127 for letter in text):
        raise BadInput(f"{text!r} is not a name; one line with at least one letter", field=field)
    return checked_text(text, field)


def checked_shot(shot: Shot) -> Shot:
    """Return a shot with blanks as None; BadInput for one without uid, trial or shot number."""
    checked_name(shot.uid, "uid")
    if not 1 <= shot.order <= _MOST_SHOTS or shot.order != int(shot.order):
        raise BadInput(f"{shot.order!r} is not a shot number; 1, 2, 3, ...", field="order")
    if shot.ball == "" or shot.set_aside == "":
        return dataclasses.replace(shot, ball=shot.ball or None, set_aside=shot.set_aside or None)
    return shot


def to_json(value: Any, field: str) -> str:
    """JSON text of plain data, the same for the same data."""
    try:
        text = json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False)
    except (TypeError, ValueError, RecursionError) as reason:
        raise BadInput(f"can't be kept as JSON ({reason})", field=field) from None
    return checked_text(text, field)
