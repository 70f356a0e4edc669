"""What was typed into the form of a robot, as the text of its file; comments stay."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from importlib import resources
from typing import Any

import tomlkit

from shotwright.base.errors import BadInput
from shotwright.bench.drive_text import MOST, below, tables_of, write_listed, write_motor, write_table
from shotwright.bench.drive_text import with_table as with_drive_table
from shotwright.bench.robot_fields import COUNTS, LISTS, MAY_BE_EMPTY, OPTIONAL, SECTIONS, SINGLE, asked_with
from shotwright.powertrain.motor import generic_motors

_BY_SPRINGS: dict[str, object] = {
    "stiffness": "2000 N/m",
    "preload": "30 mm",
    "stroke": "20 mm",
    "springs": 2,
}
_NEW: dict[str, dict[str, object]] = {
    "drive-base.stage": {"kind": "spur", "teeth": [12, 24]},
    "tilt.stage": {"kind": "spur", "teeth": [12, 24]},
    "drive-base.sprint": {"distance": "2 m"},
    "power.load": {"current": "1 A", "start": "5 s", "duration": "1 s"},
}


def example_text() -> str:
    """Return the robot file of the demonstration, which is invented."""
    yard = resources.files("shotwright.bench") / "yard"
    return (yard / "robot.toml").read_text(encoding="utf-8")


def motor_names(document: Mapping[str, Any]) -> list[str]:
    """Return the motors of a parsed robot file, by name or class."""
    return [str(one.get("name", one.get("class", ""))) for one in document.get("motor", [])]


def table_at(document: Any, place: str) -> Any:
    """Return the table, or the list of tables, at a place such as ``"brake.air"``; None without one."""
    found = document
    for key in place.split(".") if place else ():
        found = found.get(key) if isinstance(found, Mapping) else None
        if found is None:
            return None
    return found


def typed_robot(before: str, typed: Mapping[str, str]) -> str:
    """Return the robot file that says what was typed.

    Parameters
    ----------
    before : str
        The file so far.
    typed : mapping of str to str
        By field; what is not named stays as it is.

    Returns
    -------
    str
        TOML. A motor that got another name keeps its place in drive base and tilt.
    """
    document = tomlkit.parse(before)
    fields = {name: value.strip() for name, value in typed.items()}
    was = motor_names(document)
    for i, table in enumerate(document.get("motor", [])):
        part = below(fields, f"motor.{i}")
        if part:
            write_motor(table, part)
    now = motor_names(document)
    for place in ("drive-base", "tilt"):
        _follow(document.get(place), f"{place}.motor", fields, was, now)
    for place, (_, asked) in SINGLE.items():
        own = below(fields, place) if place else {k: v for k, v in fields.items() if "." not in k}
        _write_single(document, place, asked_with(asked, now), own)
    for place, (_, asked) in LISTS.items():
        for i, table in enumerate((table_at(document, place) or []) if place != "motor" else ()):
            part = below(fields, f"{place}.{i}")
            if part:
                write_listed(table, asked, part)
    return tomlkit.dumps(document)


def _follow(table: Any, field: str, fields: dict[str, str], was: list[str], now: list[str]) -> None:
    """Let a part that names a motor go on naming it by its new name."""
    if table is None:
        return
    for old, new in zip(was, now, strict=True):
        if old != new and old not in now:
            if fields.get(field) == old:
                fields[field] = new
            if table.get("motor") == old:
                table["motor"] = new


def _write_single(document: Any, place: str, asked: tuple[Any, ...], typed: dict[str, str]) -> None:
    keys = [one.key for one in asked if one.key in typed]
    if not keys:
        return
    head, _, key = place.rpartition(".")
    parent = table_at(document, head)
    table = document if not place else parent.get(key) if parent is not None else None
    if table is None:
        if parent is None or not any(typed[one] for one in keys):
            return
        parent[key] = tomlkit.table()
        table = parent[key]
    for one in asked:
        if one.kind == COUNTS and one.key in typed:
            _write_counts(table, one.key, typed[one.key])
    write_table(table, tuple(one for one in asked if one.kind != COUNTS), typed)
    if place in OPTIONAL and not table:
        del parent[key]


def counts_text(held: Mapping[str, Any]) -> str:
    """Return whole numbers by name as they are typed: ``"arm 1, lift 2"``."""
    return ", ".join(f"{name} {number}" for name, number in held.items())


def _write_counts(table: Any, key: str, text: str) -> None:
    counts: dict[str, int | str] = {}
    for one in text.split(","):
        found = re.fullmatch(r"(.+?)\s+(\d+)", one.strip())
        if found:
            counts[found[1]] = int(found[2])
        elif one.strip():
            counts[one.strip()] = ""  # the reader says that there is no number
    if dict(table.get(key, {})) == counts:
        return
    table.pop(key, None)
    if counts:
        made = tomlkit.inline_table()
        made.update(counts)
        table[key] = made


def with_robot_table(text: str, place: str) -> str:
    """Return a robot file with one more table, filled with typical values.

    Parameters
    ----------
    text : str
        The file so far.
    place : str
        ``"motor"``, ``"power.load"``, ``"tilt"``, ...; ``"brake.spring"`` takes the place of the air, and
        the other way round.

    Returns
    -------
    str
        TOML.

    Raises
    ------
    BadInput
        It can't be added, or is there already.
    """
    if place == "motor":
        return with_drive_table(text, place)
    document = tomlkit.parse(text)
    if place in SECTIONS and place not in document:
        _add_section(document, place)
    elif place in ("brake.air", "brake.spring") and place.removeprefix("brake.") not in document.get(
        "brake", {place.removeprefix("brake.")}
    ):
        document["brake"].pop("spring" if place == "brake.air" else "air", None)
        _press(document["brake"], place)
    elif place in _NEW and place.split(".")[0] in document:
        tables = tables_of(document[place.split(".")[0]], place.split(".")[1])
        if len(tables) >= MOST:
            raise BadInput(f"there are {MOST} already; use the file as text", field="table")
        made = tomlkit.table()
        if place == "power.load":
            taken = {str(one.get("name", "")) for one in tables}
            made["name"] = next(n for n in (f"load {k}" for k in range(1, MOST + 2)) if n not in taken)
        made.update(_NEW[place])
        tables.append(made)
    else:
        raise BadInput(f"{place!r} can't be added", field="table")
    return tomlkit.dumps(document)


def _press(brake: Any, place: str) -> None:
    example: Any = tomlkit.parse(example_text())
    made = tomlkit.table()
    made.update(_BY_SPRINGS if place == "brake.spring" else example["brake"]["air"].unwrap())
    brake[place.removeprefix("brake.")] = made


def _add_section(document: Any, place: str) -> None:
    """Copy a section of the example, and what it needs to be complete."""
    example = tomlkit.parse(example_text())
    section: Any = copy.deepcopy(example[place])
    if place in ("drive-base", "tilt"):
        if not document.get("motor"):
            motor = tomlkit.table()
            motor["class"] = generic_motors()[0].name
            tables_of(document, "motor").append(motor)
        names = motor_names(document)
        if section["motor"] not in names:
            section["motor"] = names[0]
    if place == "brake":
        if "drive-base" not in document:
            section["wheel_grip"] = 0.9  # nothing else says how the wheels grip
        if "opponent" not in document:
            document["opponent"] = copy.deepcopy(example["opponent"])
    if place == "power":
        needs = {"tilt": "tilt", "sprint": "drive-base", "push": "drive-base", "turn": "drive-base"}
        loads = section["load"]
        for i in reversed(range(len(loads))):
            origin = loads[i].get("of")
            if origin is not None and needs[origin] not in document:
                del loads[i]
    document[place] = section


def without_robot_table(text: str, place: str) -> str:
    """Return a robot file without one table: ``"motor.1"``, ``"power.load.0"``, ``"tilt"``.

    Raises
    ------
    BadInput
        It is not there, or can't be left out.
    """
    document = tomlkit.parse(text)
    head, _, number = place.rpartition(".")
    tables = table_at(document, head) if head in LISTS else None
    if place in SECTIONS and place in document:
        brake = document.get("brake")
        if place == "drive-base" and brake is not None and "wheel_grip" not in brake:
            brake["wheel_grip"] = document[place].get("grip", 0.9)
        del document[place]
    elif tables is not None and number.isdigit() and int(number) < len(tables):
        if len(tables) == 1 and head not in MAY_BE_EMPTY:
            raise BadInput("is the last one; change it instead", field="table")
        del tables[int(number)]
        if not tables:
            parent, _, key = head.rpartition(".")
            del table_at(document, parent)[key]
    else:
        raise BadInput(f"there is no {place}", field="table")
    return tomlkit.dumps(document)


def without_launcher(text: str, prototypes: tuple[str, ...]) -> str:
    """Return a robot file that names no launcher, where it names one that the project does not have."""
    document = tomlkit.parse(text)
    if str(document.get("launcher", "")) not in prototypes:
        document.pop("launcher", None)
    return tomlkit.dumps(document)
