"""Results as people read them: sentences first, then a table whose columns know their unit."""

from __future__ import annotations

import datetime
import enum
import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from shotwright.cli.shell import text_width
from shotwright.cli.tables import table

# Endings of field names -> (unit as printed, factor from the number in the field to the printed one).
UNITS: dict[str, tuple[str, float]] = {
    "_m_s": ("m/s", 1.0),
    "_rev_s": ("rev/s", 1.0),
    "_deg": ("°", 1.0),
    "_percent": ("%", 1.0),
    "_kg": ("kg", 1.0),
    "_mm": ("mm", 1.0),
    "_m": ("m", 1.0),
    "_s": ("s", 1.0),
    "_j": ("J", 1.0),
    "": ("", 1.0),
}
CHANCE = ("%", 100.0)
NOTHING = 1e-9  # what rounding leaves of a zero, in any of the units above


class Column(NamedTuple):
    """One column: its title, the field it shows (dots lead inside), and the unit when the name has none."""

    title: str
    field: str
    unit: tuple[str, float] | None = None


def unit_of(field: str) -> tuple[str, float]:
    """Return the printed unit of a field by the ending of its name.

    Examples
    --------
    >>> unit_of("setting.speed_m_s"), unit_of("apex_m"), unit_of("shots")
    (('m/s', 1.0), ('m', 1.0), ('', 1.0))
    """
    return next(unit for ending, unit in UNITS.items() if field.endswith(ending))


def reach(record: Any, field: str) -> Any:
    """Return a field of a record; dots lead inside, and a None on the way is the answer."""
    for name in field.split("."):
        if record is None:
            return None
        record = getattr(record, name)
    return record


def cell(value: Any, unit: tuple[str, float] = ("", 1.0)) -> str:
    """Write one value: an estimate with its interval, a number with four digits, a reason, a word.

    Parameters
    ----------
    value : object
        What a field of a result holds.
    unit : tuple of (str, float)
        Unit as printed, and factor.

    Returns
    -------
    str
        The text; a dash for what is not there.

    Examples
    --------
    >>> cell(9.51234, ("m/s", 1.0)), cell(None), cell(True), cell(("T1", "T2"))
    ('9.512 m/s', '-', 'yes', 'T1, T2')
    """
    # numpy comes along with the records of estimates, so this waits until there is a result to show.
    from shotwright.base.estimate import Estimate, NotEstimated, in_words

    name, factor = unit
    if isinstance(value, Estimate | NotEstimated):
        return in_words(value, name, factor)
    if value is None or value in ("", ()):
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float) and not isinstance(value, enum.Enum):
        return number(value * factor, name)
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return ", ".join(cell(item, unit) for item in value)
    return str(value.value if isinstance(value, enum.Enum) else value)


def number(value: float, unit: str = "") -> str:
    """Write a number with at most four significant digits, percent without decimals, and its unit.

    Examples
    --------
    >>> number(8.46999, "m/s"), number(-2.8e-17, "m"), number(71.4, "%"), number(99.9, "%")
    ('8.47 m/s', '0 m', '71 %', '>99 %')
    >>> number(25080.4, "rpm")
    '25080 rpm'
    """
    if not math.isfinite(value):
        return "-"
    if unit == "%":
        # The chances shown are drawn or counted: a decimal would promise more than they hold.
        edge = "<1 %" if 0 < value < 0.5 else ">99 %" if 99.5 < value < 100 else ""
        return edge or f"{value:.0f} %"
    if abs(value) < NOTHING:
        value = 0.0
    # Whole numbers stay whole, and large ones in plain digits: 25080 rpm, not 2.508e+04.
    if value == int(value) and abs(value) < 1e15:
        shown = str(int(value))
    else:
        shown = f"{value:.0f}" if 1e4 <= abs(value) < 1e9 else f"{value:.4g}"
    return f"{shown}{unit}" if unit in ("°", "") else f"{shown} {unit}"


def table_of(rows: Iterable[Any], columns: Sequence[Column]) -> str:
    """Write records as a table, one row each; empty when there are none.

    Parameters
    ----------
    rows : iterable of records
        Parts of a result.
    columns : sequence of Column
        What to show of each.

    Returns
    -------
    str
        The table. A column that is empty in every row is left out.
    """
    cells = [[cell(reach(row, c.field), c.unit or unit_of(c.field)) for c in columns] for row in rows]
    kept = [i for i in range(len(columns)) if any(row[i] != "-" for row in cells)]
    if not kept:
        return ""
    return table([columns[i].title for i in kept], [[row[i] for i in kept] for row in cells], text_width())


def blocks(*parts: str) -> str:
    """Put a blank line between parts that are not empty."""
    return "\n\n".join(part for part in parts if part)
