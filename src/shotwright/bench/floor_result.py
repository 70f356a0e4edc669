"""The floor map as it is handed on: numbers, a table of places, a picture, words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.choice.floor_cells import BEHIND, BLOCKED, OUT_OF_REACH, SCORES, TAKEN, TOO_TIGHT
from shotwright.choice.floor_map import Floor, FloorMapper, FloorValues
from shotwright.choice.hit import Launcher
from shotwright.flight.aiming import aim_point
from shotwright.game.records import FiringPosition, Game, Obstacle, Prism, Target
from shotwright.notebook.figures.floor_map import FloorPanel
from shotwright.notebook.figures.floor_map import floor_map as draw_floor_map

FloatArray = NDArray[np.float64]

PLACES = 8  # in the table
_APART = 0.75  # m between places of the table
_SIDE = 720.0  # px
REASONS = {
    SCORES: "",
    OUT_OF_REACH: "no speed that it has gets there",
    BEHIND: "behind the opening",
    TOO_TIGHT: "the ball does not fit at any angle that gets there",
    BLOCKED: "blocked",
    TAKEN: "something stands there",
    -1: "not computed yet",
}
Rows = tuple[tuple[float | None, ...], ...]


@dataclass(frozen=True, slots=True)
class FloorPlace(Result):
    """One place of the table.

    Parameters
    ----------
    name : str
        A firing position's name, or "best 1" and so on.
    x_m, y_m : float
        On the floor.
    hit_probability, low, high : float, optional
        Mean over the draws and central 95 %; None where nothing scores.
    speed_m_s, elevation_deg, azimuth_deg : float, optional
        Its best setting.
    reason : str
        Why nothing scores.
    """

    name: str
    x_m: float
    y_m: float
    hit_probability: float | None
    low: float | None
    high: float | None
    speed_m_s: float | None
    elevation_deg: float | None
    azimuth_deg: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class FloorMap(Result):
    """Hit probability over the floor, with the best setting at each place.

    Parameters
    ----------
    prototype, target : str
        Which.
    placed_as : str
        Firing position whose spread of place and heading holds everywhere.
    defended : bool
        With the defenders in the way.
    origin : {"measured", "simulated"}
        Of the trials.
    x_m, y_m : tuple of float
        Middles of the places. Rows below follow y, values in a row x.
    hit_probability, low, high : tuple of rows
        Mean over the draws of the launch spread, and central 95 %; None where nothing scores. [-]
    speed_m_s, elevation_deg, azimuth_deg : tuple of rows
        The setting; None where nothing scores.
    status : tuple of rows of str
        Empty where it scores, or why not.
    best, positions : tuple of FloorPlace
        The best places at least 0.75 m apart; the game's firing positions on the map.
    computed : float
        Share of the places computed; below 1 the others repeat their neighbours in the picture. [-]
    draws, seed : int
        Behind each place.
    flown_places : float
        Share of the scoring places at which balls were flown since the path bends past the edge. [-]
    checked_places : int
        Other places at which balls were flown to check.
    largest_difference, difference_error : float, optional
        Largest difference of hit rates found there, and its standard error; None while not checked. [-]
    svg : str
        The picture.
    words : tuple of str
        In plain sentences.
    """

    prototype: str
    target: str
    placed_as: str
    defended: bool
    origin: str
    x_m: tuple[float, ...]
    y_m: tuple[float, ...]
    hit_probability: Rows
    low: Rows
    high: Rows
    speed_m_s: Rows
    elevation_deg: Rows
    azimuth_deg: Rows
    status: tuple[tuple[str, ...], ...]
    best: tuple[FloorPlace, ...]
    positions: tuple[FloorPlace, ...]
    computed: float
    draws: int
    seed: int
    flown_places: float
    checked_places: int
    largest_difference: float | None
    difference_error: float | None
    svg: str
    words: tuple[str, ...]


def make_floor_map(
    game: Game,
    launcher: Launcher,
    target: Target,
    placement: FiringPosition,
    mapper: FloorMapper,
    values: FloorValues,
    *,
    defended: bool,
    checked: tuple[float, float, int] | None,
    seed: int,
) -> FloorMap:
    """Put a floor map together.

    Parameters
    ----------
    game, launcher, target, placement
        Which.
    mapper : FloorMapper
        Its places and case.
    values : FloorValues
        Of all places; code -1 where not computed yet.
    defended : bool
        With the defenders in the way.
    checked : tuple of (float, float, int), optional
        What `checked_error` gave. [-]
    seed : int
        Behind the numbers.

    Returns
    -------
    FloorMap
        The map.
    """
    floor, shape = mapper.floor, (len(mapper.floor.y), len(mapper.floor.x))
    best = [_place(values, floor, k, f"best {n + 1}") for n, k in enumerate(_best(values, floor))]
    near = [(p, _nearest(floor, p)) for p in game.positions]
    positions = [_place(values, floor, k, p.name) for p, k in near if k is not None]
    scores = values.code == SCORES
    computed = float(np.mean(values.code >= 0))
    off, error, count = checked or (None, None, 0)
    panel = _panel(game, launcher, target, floor, values, best, defended=defended)
    return FloorMap(
        prototype=launcher.prototype.name,
        target=target.name,
        placed_as=placement.name,
        defended=defended,
        origin=launcher.origin,
        x_m=floor.x,
        y_m=floor.y,
        hit_probability=_rows(values.chance, shape),
        low=_rows(values.low, shape),
        high=_rows(values.high, shape),
        speed_m_s=_rows(values.speed, shape),
        elevation_deg=_rows(np.degrees(values.elevation), shape),
        azimuth_deg=_rows(np.degrees(values.azimuth), shape),
        status=tuple(tuple(REASONS[int(c)] for c in row) for row in values.code.reshape(shape)),
        best=tuple(best),
        positions=tuple(positions),
        computed=computed,
        draws=int(np.size(mapper.case.scatter.speed)),
        seed=seed,
        flown_places=float(np.mean(values.bent[scores])) if scores.any() else 0.0,
        checked_places=count,
        largest_difference=off,
        difference_error=error,
        svg=draw_floor_map(panel, key="floor", width=_SIDE).svg(),
        words=_words(launcher, target, placement, values, best, checked),
    )


def _rows(field: FloatArray, shape: tuple[int, int]) -> Rows:
    return tuple(
        tuple(None if math.isnan(value) else round(value, 6) for value in row)
        for row in field.reshape(shape).tolist()
    )


def _best(values: FloorValues, floor: Floor) -> list[int]:
    """Numbers of the best places, each some way from the others."""
    left = np.where(values.code == SCORES, values.chance, -1.0)
    places = floor.places(np.arange(len(left)))
    found: list[int] = []
    while len(found) < PLACES and left.max() >= 0.0:
        top = int(np.argmax(left))
        found.append(top)
        left[np.linalg.norm(places - places[top], axis=1) < _APART] = -1.0
    return found


def _nearest(floor: Floor, position: FiringPosition) -> int | None:
    """Number of the place nearest to a firing position; None when it lies off the map."""
    x, y = np.asarray(floor.x), np.asarray(floor.y)
    j, i = int(np.argmin(np.abs(x - position.x))), int(np.argmin(np.abs(y - position.y)))
    step = max(x[1] - x[0] if len(x) > 1 else 0.1, y[1] - y[0] if len(y) > 1 else 0.1)
    off = max(abs(x[j] - position.x), abs(y[i] - position.y))
    return i * len(x) + j if off <= step else None


def _place(values: FloorValues, floor: Floor, number: int, name: str) -> FloorPlace:
    x, y = floor.places(np.array([number]))[0].tolist()

    def known(value: float) -> float | None:
        return None if math.isnan(value) else float(value)

    return FloorPlace(
        name=name,
        x_m=round(x, 6),
        y_m=round(y, 6),
        hit_probability=known(values.chance[number]),
        low=known(values.low[number]),
        high=known(values.high[number]),
        speed_m_s=known(values.speed[number]),
        elevation_deg=known(math.degrees(values.elevation[number])),
        azimuth_deg=known(math.degrees(values.azimuth[number])),
        reason=REASONS[int(values.code[number])],
    )


def _panel(
    game: Game,
    launcher: Launcher,
    target: Target,
    floor: Floor,
    values: FloorValues,
    best: list[FloorPlace],
    *,
    defended: bool,
) -> FloorPanel:
    shape = (len(floor.y), len(floor.x))
    code, chance = values.code.reshape(shape), values.chance.reshape(shape)
    if (code < 0).any():
        from scipy.ndimage import distance_transform_edt

        # a coarse picture: every place as the nearest one that is computed
        nearest = distance_transform_edt(code < 0, return_distances=False, return_indices=True)
        code, chance = code[tuple(nearest)], chance[tuple(nearest)]
    standing = (*game.obstacles, *(d.solid for d in game.defenders)) if defended else game.obstacles
    middle = aim_point(target)
    return FloorPanel(
        title=f"Hit probability of {launcher.prototype.name} at {target.name} over the floor",
        x=np.asarray(floor.x),
        y=np.asarray(floor.y),
        chance=chance,
        blocked=np.asarray(code == BLOCKED),
        target=(float(middle[0]), float(middle[1])),
        solids=[(solid.name, _outline(solid)) for solid in standing],
        positions=[(p.name, (p.x, p.y)) for p in game.positions],
        best=(best[0].x_m, best[0].y_m) if best else None,
        origin=launcher.origin,
    )


def _outline(solid: Obstacle) -> FloatArray:
    if isinstance(solid, Prism):
        return np.asarray(solid.footprint, dtype=float)
    angle = 2 * math.pi * np.arange(24) / 24
    return np.column_stack([solid.x + solid.radius * np.cos(angle), solid.y + solid.radius * np.sin(angle)])


def _words(
    launcher: Launcher,
    target: Target,
    placement: FiringPosition,
    values: FloorValues,
    best: list[FloorPlace],
    checked: tuple[float, float, int] | None,
) -> tuple[str, ...]:
    name = launcher.prototype.name
    if not best:
        reasons = sorted({REASONS[int(c)] for c in np.unique(values.code) if c > SCORES})
        return (f"{name} scores in the {target.name} from no place on this map: {', '.join(reasons)}.",)
    top = best[0]
    scores = values.code == SCORES
    half = float(np.mean(np.nan_to_num(values.chance, nan=0.0) >= 0.5))
    chance, low, high = (100 * (one or 0.0) for one in (top.hit_probability, top.low, top.high))
    most = (
        f"{name} scores most in the {target.name} from ({top.x_m:.2f}, {top.y_m:.2f}) m: {chance:.0f} % "
        f"({low:.0f} to {high:.0f} %), at {top.speed_m_s:.1f} m/s and {top.elevation_deg:.0f}°."
    )
    none = 100 * float(np.mean(~scores & (values.code >= 0)))
    share = (
        f"From {100 * half:.0f} % of the floor more balls score than miss; from {none:.0f} % none can. Every "
        f"place has the placement spread of {placement.name}."
    )
    words = [
        most,
        share,
        "The intervals are those of the launch spread; hits counted at a target are not in.",
    ]
    if checked is not None and checked[2]:
        off, error, count = checked
        words.append(
            f"Balls flown at {count} places differ from the map by {100 * off:.1f} % of all shots at most "
            f"(standard error {100 * error:.1f} %)."
        )
    if launcher.origin == "simulated":
        words.append("The trials are simulated.")
    return tuple(words)


def write_floor_map(found: FloorMap, path: Path) -> None:
    """Write the picture of a floor map.

    Parameters
    ----------
    found : FloorMap
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
