"""What was typed into the form of a drive, as the text of its file; comments stay."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT

from shotwright.base.errors import BadInput
from shotwright.bench.drive_fields import BREAKER, LISTS, READINGS, SHEET, SINGLE, Asked
from shotwright.bench.entry import LIST_OF
from shotwright.powertrain.motor import generic_motors

MOST = 40  # tables of one kind, and rows of readings
_NEW: dict[str, dict[str, object]] = {
    "wheel": {
        "motors": 1,
        "inertia": "20 kg cm^2",
        "ball_inertia": "5 kg cm^2",
        "speed": "1900 rpm",
    },
    "winding": {"stiffness": "600 N/m", "preload": "20 mm", "stroke": "80 mm"},
}


def typed_text(before: str, typed: Mapping[str, str], lists: bool = True) -> str:
    """Return the drive file that says what was typed.

    Parameters
    ----------
    before : str
        The file so far.
    typed : mapping of str to str
        By field; tables of a list that are not named are left out of the new file.
    lists : bool
        Whether motors, stages and bursts are among them; else they stay as they are.

    Returns
    -------
    str
        TOML.
    """
    document = tomlkit.parse(before)
    if typed.get("name", "").strip() not in ("", str(document.get("name", "drive"))):
        document["name"] = typed["name"].strip()
    for key, (_, asked) in SINGLE.items():
        part = below(typed, key)
        if not part:
            continue
        if key not in document:
            if not any(part.values()):
                continue
            document[key] = tomlkit.table()
        write_table(document[key], asked, part)
    for key, (_, asked) in LISTS.items() if lists else ():
        _write_list(document, key, asked, below(typed, key))
    return tomlkit.dumps(document)


def below(typed: Mapping[str, str], key: str) -> dict[str, str]:
    """Return the fields of a table without the table's name in front."""
    head = f"{key}."
    return {name[len(head) :]: value.strip() for name, value in typed.items() if name.startswith(head)}


def tables_of(document: Any, key: str) -> AoT:
    """Return the tables [[key]] of a document, made when there are none."""
    if key not in document:
        document[key] = tomlkit.aot()
    found = document[key]
    assert isinstance(found, AoT)
    return found


def _write_list(document: Any, key: str, asked: tuple[Asked, ...], typed: dict[str, str]) -> None:
    places = sorted({int(name.split(".")[0]) for name in typed if name.split(".")[0].isdigit()})[:MOST]
    if not places and key not in document:
        return
    tables = tables_of(document, key)
    for i in reversed(range(len(tables))):
        if i not in places:
            del tables[i]
    for order, i in enumerate(places):
        if order >= len(tables):
            tables.append(tomlkit.table())
        part = below(typed, str(i))
        if key == "motor":
            write_motor(tables[order], part)
        else:
            write_listed(tables[order], asked, part)
    if not places:
        del document[key]


def write_listed(table: Any, asked: tuple[Asked, ...], typed: dict[str, str]) -> None:
    """Write one table of a list; what is asked of another kind of it goes.

    Parameters
    ----------
    table : tomlkit table
        Changed in place.
    asked : tuple of Asked
        Its fields.
    typed : dict of str to str
        By key; what is not named stays.
    """
    kind = typed.get("kind", "")
    for one in asked:
        if one.when and one.when != kind:
            table.pop(one.key, None)
    write_table(table, tuple(one for one in asked if one.when in ("", kind)), typed)


def write_motor(table: Any, typed: dict[str, str]) -> None:
    """Write a motor as typed: a class, a data sheet or readings, and nothing of the others."""
    by = typed.get("by", "")
    asked = [one for one in LISTS["motor"][1] if one.key != "by"]
    dropped = [one for one in asked if one.when and one.when != by]
    for one in dropped:
        table.pop(one.key, None)
    if by in (SHEET, READINGS):
        table.pop("class", None)
        if not typed.get("name"):
            typed["name"] = "my motor"  # a class has a name, what was measured needs one
    elif str(table.get("class", "")) != by:
        table["class"] = by
    write_table(table, tuple(one for one in asked if one not in dropped), typed)
    rows = []
    if by == READINGS:
        numbers = sorted({int(name.split(".")[1]) for name in typed if name.startswith("reading.")})
        rows = [below(typed, f"reading.{i}") for i in numbers[:MOST]]
        rows = [{k: v for k, v in row.items() if v} for row in rows if any(row.values())]
    known = [dict(one) for one in table.get("reading", [])]
    if rows == known:
        return
    table.pop("reading", None)
    if rows:
        readings = tomlkit.aot()
        for row in rows:
            made = tomlkit.table()
            made.update(row)
            readings.append(made)
        table["reading"] = readings


def write_table(table: Any, asked: tuple[Asked, ...], typed: dict[str, str]) -> None:
    """Write into a table what was typed; lines that say the same already stay.

    Parameters
    ----------
    table : tomlkit table
        Changed in place.
    asked : tuple of Asked
        Its fields.
    typed : dict of str to str
        By key; what is not named stays.
    """
    for one in asked:
        if one.key not in typed:
            continue
        text, old = typed[one.key], table.get(one.key)
        if one.kind == "breaker":
            _write_breaker(table, one.key, text, typed.get(f"{one.key}.kind", BREAKER.options[0]))
        elif not text:
            table.pop(one.key, None)
        elif one.options and not one.needed and old is None and text == one.options[0]:
            continue  # the usual answer needs no line
        else:
            value = _value(one.kind, text)
            if old is None or (old.unwrap() if hasattr(old, "unwrap") else old) != value:
                table[one.key] = value


def _write_breaker(table: Any, key: str, rating: str, kind: str) -> None:
    old = table.get(key)
    if not rating:
        table.pop(key, None)
    elif isinstance(old, Mapping):
        if str(old.get("rating", "")) != rating:
            old["rating"] = rating  # type: ignore[index]  # tomlkit's tables are mutable mappings
        if str(old.get("kind", BREAKER.options[0])) != kind:
            old["kind"] = kind  # type: ignore[index]  # as above
            if kind == BREAKER.options[0]:
                old.pop("closes_at", None)  # type: ignore[attr-defined]  # as above
    elif kind != BREAKER.options[0]:
        made = tomlkit.inline_table()
        made["rating"], made["kind"] = rating, kind
        table[key] = made
    elif str(old or "") != rating:
        table[key] = rating


def _value(kind: str, text: str) -> Any:
    """Value as the file holds it; text that is none stays text, for the reader to complain of."""
    try:
        if kind == "whole":
            return int(text)
        if kind == "number":
            return float(text)
        if kind == "wholes":
            return [int(one) for one in re.split(r"[,\s]+", text) if one]
    except ValueError:
        return text
    if kind == "quantities" or kind.startswith(LIST_OF):
        return [one.strip() for one in text.split(",") if one.strip()]
    return text


def take_drive(
    text: str, pairs: tuple[tuple[int, ...], ...], inertia: float, motor: str = "", motors: int = 0
) -> str:
    """Return a drive file with another train and wheel, and, when named, motor and number.

    Parameters
    ----------
    text : str
        The file so far.
    pairs : tuple of tuple of int
        Driving and driven teeth of each stage.
    inertia : float
        Of the wheel. [kg m^2]
    motor : str
        Which of the file's motors turns it; as it is when empty.
    motors : int
        How many; as it is when 0.

    Returns
    -------
    str
        TOML.
    """
    document = tomlkit.parse(text)
    document.pop("stage", None)
    stages = tomlkit.aot()
    for pair in pairs:
        one = tomlkit.table()
        one["kind"], one["teeth"] = "spur", list(pair)
        stages.append(one)
    if pairs:
        document["stage"] = stages
    document["wheel"]["inertia"] = f"{1e4 * inertia:.4g} kg cm^2"
    if motors:
        document["wheel"]["motors"] = motors
    tables = tables_of(document, "motor")
    names = [str(one.get("name", one.get("class", ""))) for one in tables]
    if motor in names and names.index(motor) > 0:
        chosen = tables[names.index(motor)]
        del tables[names.index(motor)]
        tables.insert(0, chosen)
    return tomlkit.dumps(document)


def with_table(text: str, key: str) -> str:
    """Return a drive file with one more table of a kind, filled with typical values.

    Parameters
    ----------
    text : str
        The file so far.
    key : {"motor", "stage", "burst", "wheel", "winding"}
        Which.

    Returns
    -------
    str
        TOML.

    Raises
    ------
    BadInput
        No such table, too many, or one that is there already.
    """
    document = tomlkit.parse(text)
    if key in _NEW and key not in document:
        document[key] = tomlkit.table()
        document[key].update(_NEW[key])
        return tomlkit.dumps(document)
    if key not in LISTS or len(tables_of(document, key)) >= MOST:
        raise BadInput(f"{key!r} can't be added", field="table")
    tables, made = tables_of(document, key), tomlkit.table()
    if key == "motor":
        taken = {str(one.get("name", one.get("class", ""))) for one in tables}
        free = [one.name for one in generic_motors() if one.name not in taken]
        made["class"] = free[0] if free else generic_motors()[0].name
        if not free:
            made["name"] = f"motor {len(tables) + 1}"
    elif key == "stage":
        made["kind"], made["teeth"] = "spur", [12, 24]
    else:
        taken = {str(one.get("start", "")) for one in tables}
        made["start"] = next(start for start in (f"{k} s" for k in range(1, MOST + 2)) if start not in taken)
        made["shots"] = 1
    tables.append(made)
    return tomlkit.dumps(document)


def without_table(text: str, place: str) -> str:
    """Return a drive file without one table: ``"motor.1"``, ``"wheel"``; BadInput when it is not there."""
    document = tomlkit.parse(text)
    key, _, number = place.partition(".")
    if not number and key in _NEW and key in document:
        del document[key]
    elif key in LISTS and number.isdigit() and int(number) < len(document.get(key, [])):
        del document[key][int(number)]
        if not document[key]:
            del document[key]
    else:
        raise BadInput(f"there is no {place}", field="table")
    return tomlkit.dumps(document)
