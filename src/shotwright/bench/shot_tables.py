"""The shot table of a prototype: build it, keep it, and say what new shots changed."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress, silent
from shotwright.base.quantities import parse_quantity
from shotwright.bench.shot_table_words import table_words
from shotwright.bench.speed_source import SpeedSource
from shotwright.bench.workbook import Workbook, opened, read_workbook
from shotwright.choice.hit import as_scatter, launcher_from_trials
from shotwright.flight.aiming import aim_point
from shotwright.flight.model import flight_model
from shotwright.game.records import FiringPosition, Target
from shotwright.trials.records import Prototype
from shotwright.tuning.line import firing_line
from shotwright.tuning.records import RowChange, ShotTable
from shotwright.tuning.table import build_table

FloatArray = NDArray[np.float64]

SEED = 1
_MOST_ROWS = 60
_NEAREST = 0.3  # m
_PLACES_IN_ROOM = 5  # between the middle of the opening and where a ball touches its edge
_FINEST = 0.02  # m
_ROWS = 16  # of a table whose step nobody named


def shot_table(
    project: Path,
    prototype: str | None = None,
    *,
    target: str | None = None,
    position: str | None = None,
    distances: str | None = None,
    step: str | None = None,
    elevation: str | None = None,
    level: str | None = None,
    setting: str | None = None,
    keep: bool = False,
    seed: int = SEED,
    progress: Progress = silent,
) -> ShotTable:
    """Build the shot table of a prototype from its trials.

    Parameters
    ----------
    project : Path
        The project file.
    prototype : str, optional
        The chosen one, or the only one, when left out.
    target, position : str, optional
        Opening; firing position through which the line runs, with its spread of place and heading. The first
        pair of the game when left out.
    distances : str, optional
        As typed, ``"1.5 m .. 5 m"``; half to one and a half times the position's distance when left out.
    step : str, optional
        Between rows, as typed.
    elevation : str, optional
        Fixed elevation, as typed; chosen when left out.
    level : str, optional
        Hit probability that the notches must keep, as typed.
    setting : str, optional
        What is set for the speed, by its name in the launcher file; ``"speed"`` for the launch speed itself.
    keep : bool
        Keep the table in the project, so that the next one says what changed.
    seed : int
        The same seed gives the same numbers.
    progress : Progress
        Told how far it is.

    Returns
    -------
    ShotTable
        Rows, notches, error of interpolation, changes.

    Raises
    ------
    BadInput
        Something typed can't be used.
    NoAnswer
        No trials, or nothing scores along the line.
    """
    book = read_workbook(project)
    with opened(project, read_only=True) as file:
        kept = file.facts()
    found = table_of_book(
        book,
        prototype,
        target=target,
        position=position,
        distances=distances,
        step=step,
        elevation=elevation,
        level=level,
        setting=setting,
        kept=kept,
        seed=seed,
        progress=progress,
    )
    if keep:
        keep_table(project, found)
    return found


def keep_table(project: Path, found: ShotTable) -> None:
    """Keep a table in the project, in place of the one before."""
    with opened(project) as file:
        file.set_fact(fact_key(found.prototype, found.target), _kept_form(found))


def fact_key(prototype: str, target: str) -> str:
    """Return the key under which a project keeps a table."""
    return f"shot table of {prototype} at {target}"


def table_of_book(
    book: Workbook,
    prototype: str | None = None,
    *,
    target: str | None = None,
    position: str | None = None,
    distances: str | None = None,
    step: str | None = None,
    elevation: str | None = None,
    level: str | None = None,
    setting: str | None = None,
    kept: dict[str, Any] | None = None,
    seed: int = SEED,
    progress: Progress = silent,
) -> ShotTable:
    """Do the work of :func:`shot_table` on a loaded project.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    prototype, target, position, distances, step, elevation, level, setting, seed, progress
        As for :func:`shot_table`.
    kept : dict, optional
        Facts of the project, for the table that was kept last.

    Returns
    -------
    ShotTable
        As :func:`shot_table`.
    """
    game = book.needed_game()
    name = prototype or book.chosen or (book.prototypes[0].name if len(book.prototypes) == 1 else None)
    if name is None:
        names = ", ".join(p.name for p in book.prototypes) or "none yet"
        raise BadInput(f"name a prototype, or choose one; there is: {names}", field="prototype")
    chosen = book.some_prototypes((name,))[0]
    pairs = book.pairs(position, target)
    if not pairs:
        raise BadInput("that position does not fire at that target in the game", field="position")
    place, opening = pairs[0]
    model = flight_model(game.ball, game.weather)
    trials = book.trials_of(chosen.name)
    low, high, size = _distances(distances, step, place, opening)
    every = 2 * max(math.ceil(size / 2 / _fine(opening, model.radius)), 1)
    spots = np.asarray(low + size / every * np.arange(round((high - low) / size) * every + 1), dtype=float)
    wanted = None if level is None else _fraction(level)
    fixed = None if elevation is None else _elevation(elevation, chosen)
    launcher = launcher_from_trials(model, game, chosen, trials, np.random.default_rng([seed, 0]))
    progress(0.02, "laying the line of fire")
    scatter = as_scatter(launcher.spread)
    source = SpeedSource(book, model, chosen, launcher, setting, seed)
    angles = (chosen.elevation_low, chosen.elevation_high) if fixed is None else (fixed, fixed)
    sets = source.make(angles)
    slowest, fastest = sets.range_of()
    able = dataclasses.replace(
        chosen,
        speed_low=max(slowest, chosen.speed_low or 0.0),
        speed_high=min(fastest, chosen.speed_high or math.inf),
    )
    line = firing_line(model, game, able, place, opening, spots, scatter, game.obstacles)
    built = build_table(
        line,
        scatter,
        sets,
        every=every,
        elevation=fixed,
        level=wanted,
        progress=lambda f, what="": progress(0.05 + 0.9 * f, what),
    )
    found = ShotTable(
        prototype=chosen.name,
        target=opening.name,
        position=place.name,
        origin=launcher.origin,
        shots=launcher.spread.shots,
        trials=launcher.spread.trials,
        setting_name=sets.name,
        setting_unit=sets.unit,
        setting_source=sets.source,
        fixed_elevation=built.fixed_elevation,
        step_m=size,
        rows=built.rows,
        between=built.between,
        smoothing_loss=built.smoothing_loss,
        flown_gap=built.flown_gap,
        level=built.level,
        notches=built.notches,
        gaps_m=built.gaps,
        measured=source.measured,
        changes=(),
        compared_with="",
        seed=seed,
        words=(),
    )
    found = _compared(found, (kept or {}).get(fact_key(chosen.name, opening.name)))
    progress(1.0, "done")
    return dataclasses.replace(found, words=table_words(found, (low, high)))


def _fraction(typed: str) -> float:
    value = parse_quantity(typed, "fraction", "level")
    if not 0.0 < value < 1.0:
        raise BadInput(f"{typed!r} is not a hit probability; type e.g. 80 %", field="level")
    return value


def _elevation(typed: str, prototype: Prototype) -> float:
    value = parse_quantity(typed, "angle", "elevation")
    low, high = prototype.elevation_low, prototype.elevation_high
    if not low - 1e-9 <= value <= high + 1e-9:
        raise BadInput(
            f"{typed} is outside what {prototype.name} can be set to, {math.degrees(low):g} to "
            f"{math.degrees(high):g}°",
            field="elevation",
        )
    return value


def _fine(target: Target, radius: float) -> float:
    """Distance between places at which notches are told apart: a part of the room in the opening. [m]."""
    if target.radius is not None:
        room = target.radius
    else:
        room = (max(w for _, w in target.corners) - min(w for _, w in target.corners)) / 2
    return max((room - radius) / _PLACES_IN_ROOM, _FINEST)


def _distances(
    typed: str | None, step: str | None, position: FiringPosition, target: Target
) -> tuple[float, float, float]:
    """First and last row, and the step between rows. [m]."""
    middle = aim_point(target)
    own = math.hypot(position.x - middle[0], position.y - middle[1])
    if typed is None:
        low, high = max(0.5 * own, _NEAREST), 1.5 * own
    else:
        ends = typed.split("..")
        if len(ends) != 2:
            raise BadInput(f"{typed!r} is no range; type e.g. '1.5 m .. 5 m'", field="distances")
        low, high = (parse_quantity(end, "length", "distances") for end in ends)
        if not _NEAREST <= low < high:
            raise BadInput(
                f"{typed!r} is no range of distances: rising, from {_NEAREST} m on", field="distances"
            )
    if step is None:
        # a round step that makes about a dozen rows, should some fall out of reach
        rough = (high - low) / _ROWS
        size = next(s for s in (0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 100.0) if s >= 0.75 * rough)
        low, high = math.ceil(low / size - 1e-9) * size, math.floor(high / size + 1e-9) * size
    else:
        size = parse_quantity(step, "length", "step")
    if not size > 0 or (high - low) / size > _MOST_ROWS or high - low < size:
        raise BadInput(
            f"a step of {size:g} m makes no table from {low:g} to {high:g} m; 2 to {_MOST_ROWS} rows",
            field="step",
        )
    return low, low + size * math.floor((high - low) / size + 1e-9), size


# ------------------------------------------------------------------ what new shots changed


def _kept_form(found: ShotTable) -> dict[str, Any]:
    rows = [
        [row.distance_m, row.setting.value, row.speed_m_s, row.elevation_deg, row.hit.value]
        for row in found.rows
        if math.isfinite(row.setting.value)
    ]
    return {
        "setting": [found.setting_name, found.setting_unit],
        "shots": found.shots,
        "trials": list(found.trials),
        "rows": rows,
    }


def _compared(found: ShotTable, kept: Any) -> ShotTable:
    """Add what changed against the table that was kept last; rows that it does not reach are left out."""
    if not isinstance(kept, dict) or len(kept.get("rows", [])) < 2:
        return found
    before = np.array(kept["rows"], dtype=float)
    same = kept.get("setting") == [found.setting_name, found.setting_unit]
    changes = []
    for row in found.rows:
        if not before[0, 0] - 1e-9 <= row.distance_m <= before[-1, 0] + 1e-9:
            continue
        setting, speed, elevation, hit = (
            float(np.interp(row.distance_m, before[:, 0], before[:, k])) for k in range(1, 5)
        )
        changes.append(
            RowChange(
                row.distance_m,
                row.setting.value - setting if same else math.nan,
                row.speed_m_s - speed,
                row.elevation_deg - elevation,
                row.hit.value - hit,
            )
        )
    words = f"{kept.get('shots')} shots of {', '.join(kept.get('trials', []))}"
    return dataclasses.replace(found, changes=tuple(changes), compared_with=words)
