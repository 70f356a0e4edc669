"""Records to rows and back. Columns carry the names of the records' fields."""

from __future__ import annotations

import dataclasses
import datetime
import json
import math
import numbers
import re
from collections.abc import Collection
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


# Fields of a shot that came with version 3 of the tables.
FROM_VIDEO = ("speed_sd", "elevation_sd", "spin_sd", "clip", "first_frame", "last_frame")


def select(kind: type, rest: str = "", lacking: Collection[str] = ()) -> str:
    """Write the statement that reads records of a kind.

    Parameters
    ----------
    kind : type
        Of the record.
    rest : str
        What follows the table's name.
    lacking : collection of str
        Fields that an older file has no column for; they read as nothing.

    Returns
    -------
    str
        SQL.
    """
    names = ", ".join(f'null as "{name}"' if name in lacking else f'r."{name}"' for name in columns_of(kind))
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
    _check_clip(shot)
    if shot.ball == "" or shot.set_aside == "":
        return dataclasses.replace(shot, ball=shot.ball or None, set_aside=shot.set_aside or None)
    return shot


def _check_clip(shot: Shot) -> None:
    frames = (shot.first_frame, shot.last_frame)
    if shot.clip is None and frames == (None, None):
        return
    if shot.clip is None or not re.fullmatch("[0-9a-f]{64}", shot.clip):
        raise BadInput(f"{shot.clip!r} is not the SHA-256 of a clip: 64 digits 0-9 a-f", field="clip")
    first, last = frames
    if first is None or last is None or not 0 <= first <= last <= _MOST_SHOTS:
        raise BadInput(f"frames {first} to {last} are no range of a clip", field="first_frame")


def to_json(value: Any, field: str) -> str:
    """JSON text of plain data, the same for the same data."""
    try:
        text = json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False)
    except (TypeError, ValueError, RecursionError) as reason:
        raise BadInput(f"can't be kept as JSON ({reason})", field=field) from None
    return checked_text(text, field)


def launch_before(shot: Shot) -> str:
    """Tell what of a launch stands there before it is replaced, for the journal."""
    units = {"speed": "m/s", "elevation": "rad", "spin": "rad/s"}
    values = {name: getattr(shot, name) for name in units}
    told = [f"{name} {value!r} {units[name]}" for name, value in values.items() if value is not None]
    return f" (before: {', '.join(told)})" if told else ""


def check_exact(given: Prototype | Trial, read_back: Prototype | Trial) -> None:
    """Hold a record against what its text says, so that whatever is stored can also be exported."""
    for name in columns_of(type(given)):
        if getattr(given, name) != getattr(read_back, name):
            raise BadInput(f"{getattr(given, name)!r} can't be kept as it is", field=f"{given.name}, {name}")
