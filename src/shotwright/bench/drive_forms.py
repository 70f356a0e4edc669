"""A drive described by a form: what is asked, what is typed so far, and the file that says so."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.drive_fields import (
    BREAKER,
    LISTS,
    ORDER,
    READING,
    READINGS,
    ROOM_FOR_READINGS,
    SHEET,
    SINGLE,
    Asked,
    DriveField,
    DriveGroup,
)
from shotwright.bench.drive_text import MOST, tables_of, take_drive, typed_text, with_table, without_table
from shotwright.bench.workbook import opened
from shotwright.powertrain.drive_file import DriveFile, drive_from_text

KINDS = ("a wheel", "a piston")
_START = """\
# Typical values: change them to yours.
name = "drive"

[[motor]]
class = "12 V 550 class"

[[stage]]
kind = "spur"
teeth = [12, 60]

[supply]
chemistry = "NiMH"
cells = 10
capacity = "3 Ah"

[match]
length = "150 s"

[[burst]]
start = "5 s"
shots = 3
times = 10
every = "12 s"
"""


@dataclass(frozen=True, slots=True)
class DriveForm(Result):
    """The form of one drive.

    Parameters
    ----------
    name : str
        Of the drive.
    names : tuple of str
        Of all drives of the project.
    groups : tuple of DriveGroup
        Table by table.
    turns, winds : bool
        Whether it turns a wheel; whether it winds a piston.
    text : str
        Its file.
    """

    name: str
    names: tuple[str, ...]
    groups: tuple[DriveGroup, ...]
    turns: bool
    winds: bool
    text: str


def drive_form(project: Path, name: str = "") -> DriveForm | None:
    """Return the form of a drive, filled in with what its file says.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive; the first when empty.

    Returns
    -------
    DriveForm or None
        None when the project has no drive.

    Raises
    ------
    BadInput
        There is no such drive.
    """
    texts = _texts(project)
    if not texts:
        return None
    name = name or next(iter(texts))
    text = _text(texts, name)
    held: dict[str, Any] = tomlkit.parse(text).unwrap()
    both = "wheel" in held and "winding" in held
    groups = [one for key in ORDER for one in _groups(key, held.get(key), both)]
    return DriveForm(name, tuple(texts), tuple(groups), "wheel" in held, "winding" in held, text)


def _groups(key: str, held: Any, both: bool) -> list[DriveGroup]:
    if key in SINGLE:
        title, asked = SINGLE[key]
        if held is None and key in ("wheel", "winding"):
            return []
        removable = both and key in ("wheel", "winding")
        return [DriveGroup(key, title, tuple(fields_of_table(key, asked, held or {})), removable=removable)]
    title, asked = LISTS[key]
    return list_groups(key, title, asked, held or [], keep_one=key != "stage")


def list_groups(
    place: str, title: str, asked: tuple[Asked, ...], tables: list[dict[str, Any]], *, keep_one: bool
) -> list[DriveGroup]:
    """Return a group for each table of a list; `keep_one`: the last one can't be taken out."""
    found = []
    for i, one in enumerate(tables):
        here, motor = f"{place}.{i}", place == "motor"
        held = {**one, "by": motor_by(one)} if motor else one
        heading = f"{title} {i + 1}" if len(tables) > 1 else title
        rows = reading_rows(here, one.get("reading", [])) if motor else ()
        removable = len(tables) > 1 or not keep_one
        found.append(DriveGroup(here, heading, tuple(fields_of_table(here, asked, held)), rows, removable))
    return found


def motor_by(table: Mapping[str, Any]) -> str:
    """Tell how a motor's table says what the motor is: its class, or data sheet, or readings."""
    if "reading" in table:
        return READINGS
    return str(table.get("class", SHEET))


def reading_rows(place: str, rows: list[dict[str, Any]]) -> tuple[tuple[DriveField, ...], ...]:
    """Return the readings of a motor, a row each, with room for more."""
    count = min(max(len(rows) + 1, ROOM_FOR_READINGS), MOST)
    return tuple(
        tuple(fields_of_table(f"{place}.reading.{i}", READING, rows[i] if i < len(rows) else {}))
        for i in range(count)
    )


def fields_of_table(place: str, asked: tuple[Asked, ...], held: Mapping[str, Any]) -> list[DriveField]:
    """Return the fields of one table, filled in with what it holds."""
    found = []
    for one in asked:
        value = held.get(one.key)
        if one.kind == "breaker":
            table = value if isinstance(value, dict) else {}
            rating = str(table.get("rating", "") if table else (value or ""))
            found.append(_field(place, one, rating))
            kind = str(table.get("kind", BREAKER.options[0]))
            found.append(_field(f"{place}.{one.key}", BREAKER, kind))
            continue
        typed = "" if value is None else str(value)
        if isinstance(value, list):
            typed = ", ".join(str(item) for item in value)
        if not typed and one.options and not one.needed:
            typed = one.options[0]
        found.append(_field(place, one, typed))
    return found


def _field(place: str, one: Asked, value: str) -> DriveField:
    return DriveField(
        f"{place}.{one.key}" if place else one.key,
        one.words,
        one.kind,
        one.example,
        one.needed,
        one.options,
        one.when,
        value,
    )


def start_drive(project: Path, name: str, kind: str) -> None:
    """Keep a new drive with typical values to change.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    kind : {"a wheel", "a piston"}
        What it drives.

    Raises
    ------
    BadInput
        No name, one that is taken, or another kind.
    """
    if not name.strip():
        raise BadInput("name the drive", field="name")
    if name in _texts(project):
        raise BadInput(f"there is a drive {name!r} already; choose another name", field="name")
    if kind not in KINDS:
        raise BadInput(f"{kind!r} is not one of {', '.join(KINDS)}", field="kind")
    text = with_table(_START, "wheel" if kind == KINDS[0] else "winding")
    document = tomlkit.parse(text)
    document["name"] = name
    if kind == KINDS[1]:
        first = tomlkit.table()
        first["kind"], first["ratio"] = "planetary", 15.0
        tables_of(document, "stage").insert(0, first)
    put_text(project, tomlkit.dumps(document))


def replace_with(project: Path, name: str, fields: Mapping[str, str]) -> str:
    """Change some fields of a drive's wheel, supply, match or search; return its file as it was.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    fields : mapping of str to str
        By field, as typed: ``"wheel.speed"``.

    Returns
    -------
    str
        TOML.
    """
    before = _text(_texts(project), name)
    replace_drive(project, name, typed_text(before, fields, lists=False))
    return before


def add_table(project: Path, name: str, key: str) -> str:
    """Add a table to a drive, with typical values.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    key : str
        ``"motor"``, ``"stage"``, ``"burst"``, ``"wheel"`` or ``"winding"``.

    Returns
    -------
    str
        Its file as it was.
    """
    before = _text(_texts(project), name)
    replace_drive(project, name, with_table(before, key))
    return before


def remove_table(project: Path, name: str, place: str) -> str:
    """Take a table out of a drive.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    place : str
        ``"motor.1"``, ``"wheel"``.

    Returns
    -------
    str
        Its file as it was.

    Raises
    ------
    BadInput
        The rest is no drive.
    """
    before = _text(_texts(project), name)
    replace_drive(project, name, without_table(before, place))
    return before


def take(
    project: Path,
    name: str,
    pairs: tuple[tuple[int, ...], ...],
    inertia: float,
    motor: str = "",
    motors: int = 0,
) -> str:
    """Change train and wheel of a drive, and motor and number when named; return its file as it was.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    pairs, inertia, motor, motors
        As for :func:`take_drive`. SI.

    Returns
    -------
    str
        TOML.
    """
    before = _text(_texts(project), name)
    replace_drive(project, name, take_drive(before, pairs, inertia, motor, motors))
    return before


def put_text(project: Path, text: str) -> DriveFile:
    """Keep a drive's file as text, checked."""
    with opened(project) as file:
        return file.put_drive(text)


def drop(project: Path, name: str) -> str:
    """Forget a drive; return its text."""
    text = _text(_texts(project), name)
    with opened(project) as file:
        file.drop_drive(name)
    return text


def replace_drive(project: Path, name: str, text: str) -> DriveFile:
    """Keep a drive's text in place of the drive of that name, which may change its name.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive so far.
    text : str
        TOML.

    Returns
    -------
    DriveFile
        What it says.

    Raises
    ------
    BadInput
        All that is wrong in it, or a name that another drive has; nothing is kept.
    """
    found = drive_from_text(text, "form")
    with opened(project) as file, file.transaction():
        known = [one for one, _ in file.drive_texts()]
        if found.name != name and found.name in known:
            raise BadInput(f"there is a drive {found.name!r} already; choose another name", field="name")
        file.put_drive(text)
        if found.name != name and name in known:
            file.drop_drive(name)
    return found


def save_drive(project: Path, name: str, typed: Mapping[str, str]) -> tuple[str, DriveFile]:
    """Keep a drive as typed into the form; comments in its file stay.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    typed : mapping of str to str
        By field.

    Returns
    -------
    before : str
        Its file as it was.
    found : DriveFile
        What it says now.

    Raises
    ------
    BadFile
        Everything that can't be read; nothing is kept.
    """
    before = _text(_texts(project), name)
    return before, replace_drive(project, name, typed_text(before, typed))


def field_of(place: str | None) -> str:
    """Name the form's field that a reader's message is about.

    Parameters
    ----------
    place : str, optional
        As the message names it: ``"[[motor]] 2, voltage"``.

    Returns
    -------
    str
        ``"motor.1.voltage"``.
    """
    parts = []
    for word in re.sub(r'(\]\] \d+) ".*?"(?=,|$)', r"\1", place or "").split(", "):
        listed, single = re.fullmatch(r"\[\[([\w.-]+)\]\] (\d+)", word), re.fullmatch(r"\[([\w.-]+)\]", word)
        if listed:
            parts.append(f"{listed[1]}.{int(listed[2]) - 1}")
        else:
            parts.append(single[1] if single else word)
    return ".".join(part for part in parts if part)


def _texts(project: Path) -> dict[str, str]:
    with opened(project, read_only=True) as file:
        return dict(file.drive_texts())


def _text(texts: dict[str, str], name: str) -> str:
    if name not in texts:
        raise BadInput(
            f"there is no drive {name!r}; there is: {', '.join(texts) or 'none yet'}", field="drive"
        )
    return texts[name]
