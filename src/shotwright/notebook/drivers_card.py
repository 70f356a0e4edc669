"""The drivers' card: a shot table on one A5 page, large enough to read from the driver's place."""

from __future__ import annotations

import datetime
import json
import math
import tempfile
from collections.abc import Sequence
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from shotwright.notebook.drawing import clean
from shotwright.notebook.wording import day, percent, unbroken
from shotwright.tuning.records import Notch, ShotTable, TableRow

MOST_ROWS = 24  # that one page holds
_MOST_NOTCHES = 8


def card_pdf(table: ShotTable, made_on: datetime.date, version: str) -> bytes:
    """Return a shot table as one A5 page.

    Parameters
    ----------
    table : ShotTable
        The table; rows without a setting are left out, and every second row where there are too many.
    made_on : datetime.date
        Day printed on it; the same table and day give the same bytes.
    version : str
        Of the tool.

    Returns
    -------
    bytes
        The file, a tagged PDF that meets PDF/UA-1.
    """
    import typst  # here and not above: 80 MB that only a printed page needs

    room = files("shotwright.notebook")
    with tempfile.TemporaryDirectory() as folder, as_file(room / "fonts") as fonts:
        work = Path(folder)
        template = (room / "templates" / "card.typ").read_text(encoding="utf-8")
        (work / "card.typ").write_text(template, encoding="utf-8")
        data = json.dumps(_tidy(_data(table, made_on, version)))
        (work / "data.json").write_text(data, encoding="utf-8")

        def made(standard: Any) -> bytes:
            found = typst.compile(
                work / "card.typ",
                root=work,
                font_paths=[fonts],
                ignore_system_fonts=True,
                pdf_standards=standard,
            )
            assert isinstance(found, bytes)
            return found

        try:
            return made("ua-1")
        except typst.TypstError as refused:
            # a name in letters that no font here has: the card without the standard's mark
            if "could not be displayed" not in str(refused):
                raise
            return made(None)


def _data(table: ShotTable, made_on: datetime.date, version: str) -> dict[str, Any]:
    rows: Sequence[TableRow] = [row for row in table.rows if math.isfinite(row.setting.value)]
    while len(rows) > MOST_ROWS:
        rows = rows[::2]
    unit = f" [{table.setting_unit}]" if table.setting_unit else ""
    tilts = not table.fixed_elevation
    columns = ["distance [m]", f"{table.setting_name}{unit}", *(["elevation [°]"] if tilts else []), "hits"]
    notches = [n for n in table.notches if math.isfinite(n.setting)]
    few = notches if len(notches) <= _MOST_NOTCHES else []
    origin = "SIMULATED shots" if table.origin == "simulated" else "shots"
    elevation = "" if tilts else f", elevation {table.rows[0].elevation_deg:.1f}°"
    between = (
        f"Between two rows take the middle: it costs at most {100 * table.between.hit:.1f} points. "
        "Distances run over the floor, from the release point to the middle of the opening."
    )
    return {
        "title": f"Drivers' card: {table.prototype} at {table.target}",
        "heading": f"{table.prototype}: {table.target}",
        "below": f"{day(made_on)}. PREDICTED from {table.shots} {origin}{elevation}.",
        "version": version,
        "made_on": [made_on.year, made_on.month, made_on.day],
        "columns": columns,
        "rows": [_row(row, tilts) for row in rows],
        "notch_heading": f"Fewest notches that keep {percent(table.level)}",
        "notch_columns": [
            columns[1],
            *(["elevation [°]"] if tilts else []),
            "from [m]",
            "to [m]",
            "hits at least",
        ],
        "notches": [_notch(one, tilts) for one in few],
        "notes": [between],
        "warning": "Clear the line of fire and the plane of what spins before a shot; eye protection on.",
    }


def _row(row: TableRow, tilts: bool) -> list[str]:
    tilt = [f"{row.elevation_deg:.1f}"] if tilts else []
    return [f"{row.distance_m:.2f}", shown(row.setting.value), *tilt, percent(row.hit.value)]


def _notch(one: Notch, tilts: bool) -> list[str]:
    tilt = [f"{one.elevation_deg:.1f}"] if tilts else []
    return [shown(one.setting), *tilt, f"{one.from_m:.2f}", f"{one.to_m:.2f}", percent(one.least_hit)]


def shown(setting: float) -> str:
    """Write a setting with as many digits as a person can turn.

    Parameters
    ----------
    setting : float
        In its unit.

    Returns
    -------
    str
        Four digits, no exponent.

    Examples
    --------
    >>> shown(115.394), shown(7.14), shown(2890.4)
    ('115.4', '7.140', '2890')
    """
    places = max(3 - math.floor(math.log10(abs(setting))), 0) if setting else 0
    return f"{setting:.{min(places, 4)}f}"


def _tidy(value: Any) -> Any:
    if isinstance(value, str):
        return unbroken(clean(value))
    if isinstance(value, dict):
        return {name: _tidy(item) for name, item in value.items()}
    return [_tidy(item) for item in value] if isinstance(value, list) else value
