"""Measure how a ball bounces: drop and rebound heights into a coefficient of restitution."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.quantities import check_positive, parse_quantity
from shotwright.bench.one_flight import law_of
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.trials.drop_test import DropTest, analyse_drops, level_way
from shotwright.trials.measure.cells import Row, read_cells

_NUMBER = re.compile(r"[-+]?(\d+[.,]?\d*|[.,]\d+)([eE][-+]?\d+)?")
_HEADER = re.compile(r"\s*(drop|rebound)(?:ped|ed)?(?: height)?[\s_(\[/,]*([a-zA-Z\"']*)[\s)\]]*", re.I)
_SOLID = 0.4  # without a spin the inertia does not enter


def drop_test(
    heights: Sequence[str] = (),
    *,
    table: Path | None = None,
    drop_point: str = "bottom",
    rebound_point: str = "bottom",
    height_sd: str | None = None,
    diameter: str | None = None,
    mass: str | None = None,
    drag: str | None = None,
    project: Path | None = None,
) -> DropTest:
    """Turn drop and rebound heights into a coefficient of restitution.

    Parameters
    ----------
    heights : sequence of str
        Drop, rebound, drop, rebound, ... as typed; number and unit may be two words.
    table : Path, optional
        Instead: CSV, TSV or XLSX with the columns ``drop`` and ``rebound``, units in the headers or cells.
    drop_point, rebound_point : {"bottom", "centre", "top"}
        Which point of the ball was measured.
    height_sd : str, optional
        How well one height is read, as typed.
    diameter, mass, drag : str, optional
        The ball, as typed; the project's by default. Without both size and mass air is left out.
    project : Path, optional
        Whose ball and air to use.

    Returns
    -------
    DropTest
        Coefficient, interval, each drop.

    Raises
    ------
    BadInput
        Heights that can't be read or don't come in pairs.
    """
    if (table is None) == (not heights):
        raise BadInput(
            "type drop and rebound heights (1.8m 1.02m 1.8m 1.05m), or name a table: --table drops.csv",
            field="heights",
        )
    typed = _paired(_joined(heights)) if table is None else _rows(table)
    model, air, wide = _ball(diameter, mass, drag, project)
    down = [level_way(_length(one, f"drop {i}"), drop_point, wide) for i, (one, _) in enumerate(typed, 1)]
    up = [level_way(_length(two, f"rebound {i}"), rebound_point, wide) for i, (_, two) in enumerate(typed, 1)]
    sd = None
    if height_sd is not None:
        sd = parse_quantity(height_sd, "length", "height_sd")
        sd = check_positive(sd, "height_sd", height_sd, "height_sd")
    return analyse_drops(down, up, model, air=air, height_sd=sd)


def _length(typed: str, field: str) -> float:
    return parse_quantity(typed, "length", field)


def _joined(words: Sequence[str]) -> list[str]:
    """Put a bare number and the unit typed after it together again."""
    found: list[str] = []
    for word in " ".join(words).split():
        if found and _NUMBER.fullmatch(found[-1]) and not word[0].isdigit() and word[0] not in "+-.,":
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


def _paired(typed: Sequence[str]) -> list[tuple[str, str]]:
    if len(typed) % 2:
        raise BadInput(
            f"an odd number of heights ({len(typed)}) makes no pairs; type a drop and a rebound for each",
            field="heights",
        )
    return list(zip(typed[::2], typed[1::2], strict=True))


def _rows(table: Path) -> list[tuple[str, str]]:
    """Pairs of a table, each cell with its unit."""
    rows = read_cells(table, lambda row: len(_columns(row))).rows
    start = next((i for i, row in enumerate(rows) if len(_columns(row)) == 2), None)
    if start is None:
        raise BadInput(
            'has no columns "drop" and "rebound"; name them in the first row, e.g. drop (cm), rebound (cm)',
            file=table.name,
        )
    columns = _columns(rows[start])
    found = []
    for number, row in enumerate(rows[start + 1 :], start + 2):
        cells = {
            name: str(row[i]).strip() if i < len(row) and row[i] is not None else ""
            for name, (i, _) in columns.items()
        }
        if not any(cells.values()):
            continue
        if not all(cells.values()):
            raise BadInput("has one of drop and rebound only", file=table.name, field=f"row {number}")
        pair = [
            f"{cells[name]} {columns[name][1]}" if _NUMBER.fullmatch(cells[name]) else cells[name]
            for name in ("drop", "rebound")
        ]
        found.append((pair[0], pair[1]))
    if not found:
        raise BadInput("has no drops below its header", file=table.name)
    return found


def _columns(row: Row) -> dict[str, tuple[int, str]]:
    """Our name -> (place in the row, unit of its header)."""
    found = {}
    for i, cell in enumerate(row):
        match = _HEADER.fullmatch(str(cell or ""))
        if match:
            found[match[1].lower()] = (i, match[2])
    return found


def _ball(
    diameter: str | None, mass: str | None, drag: str | None, project: Path | None
) -> tuple[FlightModel, bool, float | None]:
    """Ball in its air, whether air counts, and the ball's diameter where it is known."""
    base, weather = None, Weather()
    if project is not None:
        from shotwright.bench.workbook import read_workbook

        game = read_workbook(project).needed_game()
        base, weather = game.ball, game.weather
    wide, heavy = base.diameter if base else None, base.mass if base else None
    if diameter is not None:
        wide = check_positive(
            parse_quantity(diameter, "length", "diameter"), "diameter", diameter, "diameter"
        )
    if mass is not None:
        heavy = check_positive(parse_quantity(mass, "mass", "mass"), "mass", mass, "mass")
    law = law_of(drag, "drag") if drag else base.drag if base else CoefficientLaw("constant", 0.5)
    air = wide is not None and heavy is not None
    ball = Ball("ball", wide or 1.0, heavy or 1.0, law, CoefficientLaw("none"), inertia_factor=_SOLID)
    return flight_model(ball, weather), air, wide
