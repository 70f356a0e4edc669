"""A drive described by a form: what is asked, what is typed so far, and the file that says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.drive_fields import LISTS, ORDER, SINGLE, DriveGroup
from shotwright.bench.drive_text import tables_of, take_drive, typed_text, with_table, without_table
from shotwright.bench.form_tables import fields_of_table, list_groups
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


def _texts(project: Path) -> dict[str, str]:
    with opened(project, read_only=True) as file:
        return dict(file.drive_texts())


def _text(texts: dict[str, str], name: str) -> str:
    if name not in texts:
        raise BadInput(
            f"there is no drive {name!r}; there is: {', '.join(texts) or 'none yet'}", field="drive"
        )
    return texts[name]
