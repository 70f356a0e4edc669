"""Tables of a TOML file as groups of a form, and the field that a reader's message is about."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from shotwright.bench.drive_fields import (
    BREAKER,
    READING,
    READINGS,
    ROOM_FOR_READINGS,
    SHEET,
    Asked,
    DriveField,
    DriveGroup,
)
from shotwright.bench.drive_text import MOST


def list_groups(
    place: str, title: str, asked: tuple[Asked, ...], tables: list[dict[str, Any]], *, keep_one: bool
) -> list[DriveGroup]:
    """Return a group for each table of a list.

    Parameters
    ----------
    place, title : str
        Of the list.
    asked : tuple of Asked
        Of each table.
    tables : list of dict
        What the file holds.
    keep_one : bool
        Whether the last one can't be taken out.

    Returns
    -------
    list of DriveGroup
        In the file's order.
    """
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
    """Return the fields of one table, filled in.

    Parameters
    ----------
    place : str
        Of the table; "" is the top of the file.
    asked : tuple of Asked
        Its fields.
    held : mapping
        What it holds.

    Returns
    -------
    list of DriveField
        With what was typed so far.
    """
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
