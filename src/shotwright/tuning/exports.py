"""A shot table as files for others: CSV for a spreadsheet, a C header for the robot's program."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from shotwright.tuning.records import ShotTable

_LONGEST = 96  # characters of a line of numbers


def csv_of(table: ShotTable) -> str:
    """Write a table as CSV, units in the header.

    Parameters
    ----------
    table : ShotTable
        The table.

    Returns
    -------
    str
        One line a row, after a comment that says what the table is.
    """
    name = f"{table.setting_name} ({table.setting_unit})" if table.setting_unit else table.setting_name
    header = [
        "distance (m)",
        name,
        f"{name} at least",
        f"{name} at most",
        "elevation (deg)",
        "launch speed (m/s)",
        "hit probability",
        "at least",
        "at most",
    ]
    lines = [f"# {_plain(said)}" for said in table.words[:1]]
    lines.append(",".join(_cell(one) for one in header))
    for row in table.rows:
        values = (
            row.distance_m,
            row.setting.value,
            row.setting.low,
            row.setting.high,
            row.elevation_deg,
            row.speed_m_s,
            row.hit.value,
            row.hit.low,
            row.hit.high,
        )
        lines.append(",".join(f"{v:.6g}" if math.isfinite(v) else "" for v in values))
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if re.search(r'[",\n]', text) else text


def _plain(text: str) -> str:
    """ASCII on one line, safe in a comment."""
    said = " ".join(text.split()).replace("°", " deg").replace("*/", "* /")
    return said.encode("ascii", "replace").decode()


def c_header_of(table: ShotTable) -> str:
    """Write a table as a C header: four arrays, and a function that reads between their rows.

    Parameters
    ----------
    table : ShotTable
        The table; rows without a setting are left out.

    Returns
    -------
    str
        C99, no library needed; beyond the ends it returns the values of the end.
    """
    rows = [row for row in table.rows if math.isfinite(row.setting.value)]
    unit = table.setting_unit or "no unit"
    columns: list[tuple[str, str, Sequence[float]]] = [
        (
            "distance_m",
            "release point to the middle of the opening [m]",
            [r.distance_m for r in rows],
        ),
        ("setting", f"{table.setting_name} [{unit}]", [r.setting.value for r in rows]),
        ("elevation_deg", "above the horizontal [deg]", [r.elevation_deg for r in rows]),
        ("hit", "predicted hit probability, 0 to 1", [r.hit.value for r in rows]),
    ]
    parts = [
        "/* " + "\n   ".join(_plain(words) for words in (*table.words[:1], *table.words[-1:])) + " */",
        "#ifndef SHOT_TABLE_H\n#define SHOT_TABLE_H\n",
        f"#define SHOT_TABLE_ROWS {len(rows)}\n",
    ]
    for name, words, values in columns:
        parts.append(f"/* {_plain(words)} */")
        parts.append(f"static const float shot_table_{name}[SHOT_TABLE_ROWS] = {{\n{_numbers(values)}}};\n")
    parts.append(_READ)
    parts.append("#endif")
    return "\n".join(parts) + "\n"


def _numbers(values: Sequence[float]) -> str:
    lines, line = [], "   "
    for value in values:
        word = f" {_float(value)},"
        if len(line) + len(word) > _LONGEST:
            lines.append(line)
            line = "   "
        line += word
    return "\n".join([*lines, line]) + "\n"


def _float(value: float) -> str:
    shown = f"{value:.7g}"
    return (shown if re.search(r"[.e]", shown) else f"{shown}.0") + "f"


_READ = """\
/* Value of a column at a distance, straight between the rows; beyond the ends, that of the end. */
static inline float shot_table_read(const float *column, float distance_m)
{
    int row = 0;
    if (distance_m <= shot_table_distance_m[0])
        return column[0];
    if (distance_m >= shot_table_distance_m[SHOT_TABLE_ROWS - 1])
        return column[SHOT_TABLE_ROWS - 1];
    while (distance_m > shot_table_distance_m[row + 1])
        row++;
    const float from = shot_table_distance_m[row], to = shot_table_distance_m[row + 1];
    const float share = (distance_m - from) / (to - from);
    return column[row] + share * (column[row + 1] - column[row]);
}
"""
