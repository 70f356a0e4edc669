"""Values of a shot table's cells: numbers in SI, shot numbers, hits, dates, words."""

from __future__ import annotations

import datetime
import math
import re
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity, unit_scale
from shotwright.trials.measure.headers import Column

_PLAIN = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_YES = frozenset(["yes", "y", "1", "true", "x", "hit", "in", "✓", "✔", "ja", "oui", "si"])
_NO = frozenset(["no", "n", "0", "false", "miss", "missed", "out", "nein", "non", "✗", "✘"])
NOTHING = frozenset(("", "-", "–", "—"))
_DATES = (
    (re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})"), (1, 2, 3)),
    (re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})"), (3, 2, 1)),
)


class Unreadable(Exception):
    """A cell that can't be read; the text says why."""


def is_formula(cell: Any) -> bool:
    """Whether a cell holds a formula's text instead of a value."""
    return isinstance(cell, str) and cell.lstrip().startswith("=")


def read_value(column: Column, cell: Any) -> Any:
    """Read one cell that is not blank.

    Parameters
    ----------
    column : Column
        What it means, and the unit of bare numbers.
    cell : object
        Text, or a number, date or truth value from a spreadsheet.

    Returns
    -------
    float, int, str, bool or datetime.date
        In SI.

    Raises
    ------
    Unreadable
        With the reason in words.
    """
    if is_formula(cell) and column.field != "remark":
        raise Unreadable(f"{cell.strip()[:40]!r} is a formula without a value; save the value instead")
    kind = column.kind
    if kind == "text":
        return as_words(cell)
    if kind == "whole":
        return _whole(cell)
    if kind == "hit":
        return _hit(cell)
    if kind == "date":
        return _date(cell)
    return _quantity(column, cell)


def as_words(cell: Any) -> str:
    """Cell as text: a whole number without ``.0``, a date as year-month-day."""
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, datetime.datetime) and cell.time() == datetime.time(0):
        return cell.date().isoformat()
    return str(cell).strip()


def _quantity(column: Column, cell: Any) -> float:
    if isinstance(cell, bool) or not isinstance(cell, int | float | str):
        raise Unreadable(f"{as_words(cell)!r} is not a number")
    if isinstance(cell, str):
        text = cell.strip().replace("−", "-").replace("\u00a0", " ")
        if _PLAIN.fullmatch(text):
            number = float(text.replace(",", "."))
        else:
            return _checked(column, _with_own_unit(column, text), cell)
    else:
        number = float(cell)
    if not column.unit:
        raise Unreadable(f"{as_words(cell)!r} has no unit; {column.missing_unit()}")
    return _checked(column, number * column.scale, cell)


def _with_own_unit(column: Column, text: str) -> float:
    """Quantity whose cell names the unit, in SI."""
    match = _PLAIN.match(text)
    if not match:
        raise Unreadable(f"{text[:40]!r} is not a number; leave the cell empty where nothing was measured")
    unit = text[match.end() :].strip()
    if re.match(r"[.,]\d", unit):
        raise Unreadable(f"{text[:40]!r}: more than one point or comma; write thousands without a mark")
    try:
        if any(letter.isdigit() for letter in unit):  # 5 ft 3 in
            return parse_quantity(text, column.kind, column.field)
        scale, offset = unit_scale(unit, column.kind, column.field, text)
    except BadInput as bad:
        raise Unreadable(bad.problem) from None
    return float(match[0].replace(",", ".")) * scale + offset


def _checked(column: Column, value: float, cell: Any) -> float:
    """Value with the header's sign, held against what can be."""
    if not math.isfinite(value):
        raise Unreadable(f"{as_words(cell)!r} is not a finite number")
    if column.kind == "length" and abs(value) > 1000.0:
        raise Unreadable(f"{as_words(cell)!r} is more than 1000 m; check the unit of {column.header!r}")
    if column.kind == "speed" and not 0.0 <= value <= 300.0:
        raise Unreadable(f"{as_words(cell)!r} is not a launch speed; 0 to 300 m/s")
    if column.kind == "angle" and abs(value) > math.pi / 2 + 1e-9:
        raise Unreadable(f"{as_words(cell)!r} is not an elevation; -90 to 90 deg, up from the horizontal")
    return value * column.sign + 0.0


def _whole(cell: Any) -> int:
    try:
        text = as_words(cell).lstrip("#").strip()
        number = int(text.rstrip(".")) if "." not in text.rstrip(".") else int(float(text))
        if number < 1 or number > 10**9 or float(text) != number:
            raise ValueError
    except (ValueError, OverflowError):
        raise Unreadable(f"{as_words(cell)[:40]!r} is not a shot number; 1, 2, 3, ...") from None
    return number


def _hit(cell: Any) -> bool:
    word = as_words(cell).lower()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise Unreadable(f"{word[:40]!r} is neither hit nor miss; write yes or no")


def _date(cell: Any) -> datetime.date:
    if isinstance(cell, datetime.datetime):
        return cell.date()
    if isinstance(cell, datetime.date):
        return cell
    text = as_words(cell)
    for pattern, (year, month, day) in _DATES:
        match = pattern.match(text)
        if match:
            try:
                return datetime.date(int(match[year]), int(match[month]), int(match[day]))
            except ValueError:
                break
    raise Unreadable(f"{text[:40]!r} is not a date; write year-month-day, 2026-01-17")
