"""The map that a sweep gives: numbers, lines, picture, words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.sweep_axes import Axis, SweepAxis
from shotwright.choice.contours import level_lines
from shotwright.choice.sweeping import Grid, MeanMaps
from shotwright.notebook.figures.sweep_map import MapLine, MapPanel, even_edges, sweep_map

FloatArray = NDArray[np.float64]
Shown = Literal["range", "spin", "hit"]

_HIT_EDGES = (0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99, 1.0)
_SIDE = 720.0  # px


@dataclass(frozen=True, slots=True)
class PositionLine(Result):
    """Where on the map the mean shot crosses the middle of an opening.

    Parameters
    ----------
    position, target : str
        Names.
    lines : tuple of lines
        Each a tuple of points (x, y) in the units of the axes; empty when no setting gets there.
    """

    position: str
    target: str
    lines: tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True, slots=True)
class SweepCell(Result):
    """One cell of the map: its two settings and its hit probability."""

    x: float
    y: float
    hit_probability: float


@dataclass(frozen=True, slots=True)
class SweepMap(Result):
    """A prototype on paper over two settings.

    Parameters
    ----------
    prototype : str
        Which.
    position, target : str, optional
        Whose hit probability is mapped; None where it is not.
    x, y : SweepAxis
        The two inputs; all else at its mean.
    shown : {"range", "spin", "hit"}
        What was asked for.
    speed_m_s, range_m, backspin_rev_s : tuple of rows
        Of the mean shot: one row for each value of y, in it one value for each of x.
    hit_probability : tuple of rows, optional
        From `draws` shots at each cell, the same draws at all. [-]
    lines : tuple of PositionLine
        One for each firing position and target; obstacles are left out of them.
    best : SweepCell, optional
        The cell with the most hits.
    draws, seed : int
        Shots at each cell, and the seed of the draws.
    flights : int
        Balls flown.
    svg : str
        The map as a picture.
    words : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    prototype: str
    position: str | None
    target: str | None
    x: SweepAxis
    y: SweepAxis
    shown: Shown
    speed_m_s: tuple[tuple[float, ...], ...]
    range_m: tuple[tuple[float, ...], ...]
    backspin_rev_s: tuple[tuple[float, ...], ...]
    hit_probability: tuple[tuple[float, ...], ...] | None
    lines: tuple[PositionLine, ...]
    best: SweepCell | None
    draws: int
    seed: int
    flights: int
    svg: str
    words: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


def make_map(
    prototype: str,
    pair: tuple[str, str] | None,
    axes: tuple[Axis, Axis],
    grid: Grid,
    shown: Shown,
    maps: MeanMaps,
    names: tuple[tuple[str, str], ...],
    chances: FloatArray | None,
    draws: int,
    seed: int,
) -> SweepMap:
    """Put a map together.

    Parameters
    ----------
    prototype : str
        Which.
    pair : (str, str), optional
        Position and target of the hit map.
    axes : tuple of Axis
        Across and up.
    grid : Grid
        The cells.
    shown : {"range", "spin", "hit"}
        What is shaded.
    maps : MeanMaps
        What the mean shots do.
    names : tuple of (str, str)
        Position and target of each line.
    chances : ndarray, optional
        Hit probability of each cell.
    draws, seed : int
        Behind `chances`.

    Returns
    -------
    SweepMap
        The map.
    """
    across, up = axes[0].shown(grid.x), axes[1].shown(grid.y)
    x, y = np.array(across.values), np.array(up.values)
    lines = tuple(
        PositionLine(
            position, target, tuple(tuple(map(tuple, line.tolist())) for line in level_lines(x, y, beyond))
        )
        for (position, target), beyond in zip(names, maps.beyond, strict=True)
    )
    turns = maps.backspin / (2 * math.pi)
    best = None
    if chances is not None and chances.max() > 0:
        row, column = np.unravel_index(int(np.argmax(chances)), chances.shape)
        best = SweepCell(float(x[column]), float(y[row]), float(chances[row, column]))
    values = {"range": maps.range, "spin": turns, "hit": chances}[shown]
    assert values is not None
    panel = MapPanel(
        title=_title(prototype, pair, shown),
        x_label=f"{across.label} [{across.unit}]" if across.unit else across.label,
        y_label=f"{up.label} [{up.unit}]" if up.unit else up.label,
        x=x,
        y=y,
        values=100 * values if shown == "hit" else values,
        edges=tuple(100 * edge for edge in _HIT_EDGES) if shown == "hit" else even_edges(values),
        unit={"range": " m", "spin": " rev/s", "hit": " %"}[shown],
        lines=tuple(MapLine(f"{p}, {t}", [np.array(line) for line in found.lines])
                    for (p, t), found in zip(names, lines, strict=True)),
        best=(best.x, best.y) if best else None,
    )  # fmt: skip
    mean_flights = grid.cells * (len(names) + 1)
    return SweepMap(
        prototype=prototype,
        position=pair[0] if pair else None,
        target=pair[1] if pair else None,
        x=across,
        y=up,
        shown=shown,
        speed_m_s=_rows(maps.speed),
        range_m=_rows(maps.range),
        backspin_rev_s=_rows(turns),
        hit_probability=None if chances is None else _rows(chances),
        lines=lines,
        best=best,
        draws=draws,
        seed=seed,
        flights=mean_flights + (0 if chances is None else grid.cells * draws),
        svg=sweep_map(panel, key="sweep", width=_SIDE).svg(),
        words=_words(prototype, pair, across, up, shown, values, lines, best, draws),
    )


def _rows(field: FloatArray) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in field.tolist())


def _title(prototype: str, pair: tuple[str, str] | None, shown: Shown) -> str:
    what = {"range": "range to the floor", "spin": "backspin", "hit": "hit probability"}[shown]
    where = f" from {pair[0]} at {pair[1]}" if pair else ""
    return f"Predicted {what} of {prototype}{where}"


def _words(
    prototype: str,
    pair: tuple[str, str] | None,
    x: SweepAxis,
    y: SweepAxis,
    shown: Shown,
    values: FloatArray,
    lines: tuple[PositionLine, ...],
    best: SweepCell | None,
    draws: int,
) -> tuple[str, ...]:
    unit, scale = {"range": (" m", 1.0), "spin": (" rev/s", 1.0), "hit": (" %", 100.0)}[shown]
    low, high = scale * float(np.min(values)), scale * float(np.max(values))
    title = _title(prototype, pair, shown)
    words = [f"{title}: {low:.3g} to {high:.3g}{unit} over {x.label} and {y.label}. Nothing was measured."]
    if best:
        words.append(
            f"Most hits, {100 * best.hit_probability:.0f} % of {draws} draws, at {x.label} {best.x:.4g} "
            f"{x.unit} and {y.label} {best.y:.4g} {y.unit}; at the best of many cells chance adds a little."
        )
    elif shown == "hit":
        words.append("No cell scores a hit.")
    missed = [f"{line.position} at {line.target}" for line in lines if not line.lines]
    if missed:
        words.append(f"No setting on the map carries the ball from {', '.join(missed)}.")
    return tuple(words)


def write_map(found: SweepMap, path: Path) -> None:
    """Write the picture of a map.

    Parameters
    ----------
    found : SweepMap
        The map.
    path : Path
        An SVG file; replaced when it is there.

    Raises
    ------
    BadInput
        The file can't be written.
    """
    try:
        path.write_text(found.svg, encoding="utf-8")
    except OSError as reason:
        raise BadInput(f"can't be written ({reason.strerror})", file=str(path)) from None
