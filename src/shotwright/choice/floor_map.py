"""Hit probability over the whole floor, coarse first, with the best setting at each place."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.choice.aim_table import FASTEST, AimTable, aim_table
from shotwright.choice.floor_cells import SCORES, FloorCase, Settings, chances, launch_values
from shotwright.choice.floor_flown import BEND_TELLS, Flown, bend_effect, linear_gaps, settings_among
from shotwright.choice.floor_gaps import GapTrend, gap_trend
from shotwright.flight.aiming import aim_point
from shotwright.flight.chance import COLUMNS, Scatter, Surroundings
from shotwright.flight.model import FlightModel
from shotwright.game.records import Ball, Obstacle, Target
from shotwright.trials.records import Prototype

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
Run = Callable[["FloorMapper", Sequence[IntArray]], Sequence["FloorValues"]]

STRIDES = (16, 4, 1)  # of the places that each round adds: one in 256, one in 16, all
CHUNK = 256  # places
_ELEVATIONS = 25
_NORMALS = 4000
_ODD_BALLS = 1000
_SURE = 2.5  # standard errors
LINEAR_GOOD_TO = 0.002
_CHECKING = 12_000  # balls at each
_CHECKED = 24  # places of the check at the end


@dataclass(frozen=True, slots=True)
class Floor:
    """The places of a map.

    Parameters
    ----------
    x, y : tuple of float
        Rising. Place number i * len(x) + j is (x[j], y[i]). [m]
    """

    x: tuple[float, ...]
    y: tuple[float, ...]

    def places(self, numbers: IntArray) -> FloatArray:
        """Return places by number, (n, 2). [m]."""
        row, column = np.divmod(numbers, len(self.x))
        return np.column_stack([np.asarray(self.x)[column], np.asarray(self.y)[row]])

    def rounds(self) -> list[IntArray]:
        """Numbers of the places that each round adds."""
        row, column = np.divmod(np.arange(len(self.x) * len(self.y)), len(self.x))
        done = np.zeros(len(row), dtype=bool)
        found = []
        for stride in STRIDES:
            now = (row % stride == stride // 2) & (column % stride == stride // 2) & ~done
            if stride == 1:
                now = ~done
            done |= now
            if now.any():
                found.append(np.flatnonzero(now))
        return found


def floor_of(x_range: tuple[float, float], y_range: tuple[float, float], step: float) -> Floor:
    """Lay places over a part of the floor, half a step from its edges.

    Parameters
    ----------
    x_range, y_range : tuple of float
        [m]
    step : float
        [m]

    Returns
    -------
    Floor
        The places.

    Raises
    ------
    BadInput
        A range that is empty, a step that is not positive or leaves more than a million places.
    """
    for low, high in (x_range, y_range):
        if not (math.isfinite(low + high) and high > low):
            raise BadInput(f"{low:g} to {high:g} m is not a part of the floor", field="floor")
    if not (math.isfinite(step) and step > 0):
        raise BadInput(f"{step:g} m is not a step; type one above zero, such as 5 cm", field="step")
    counts = [max(1, round((high - low) / step)) for low, high in (x_range, y_range)]
    if counts[0] * counts[1] > 1_000_000:
        raise BadInput(
            f"a step of {step:g} m makes {counts[0] * counts[1]} places; at most a million are mapped",
            field="step",
        )
    lines = [
        tuple((low + (high - low) * (np.arange(n) + 0.5) / n).tolist())
        for (low, high), n in zip((x_range, y_range), counts, strict=True)
    ]
    return Floor(lines[0], lines[1])


@dataclass(frozen=True, slots=True)
class FloorValues:
    """What a map holds of each of n places.

    Parameters
    ----------
    code : ndarray of int, shape (n,)
        `floor_cells.SCORES` or why nothing scores; -1: not computed yet.
    chance, low, high : ndarray, shape (n,)
        Mean of the hit probability over the draws, and its central 95 %. NaN where nothing scores. [-]
    speed, elevation, azimuth : ndarray, shape (n,)
        The setting. [m/s], [rad], [rad]
    beyond : ndarray, shape (n,)
        How far beyond the middle of the opening is aimed. [m]
    lost : ndarray, shape (n,)
        Share of the hits that solids in the way take. [-]
    gap : ndarray, shape (n,)
        What was added to the linearised chance. [-]
    bent : ndarray of bool, shape (n,)
        Whether the path's bend past the edge tells, so that the gap comes from flown balls.
    """

    code: IntArray
    chance: FloatArray
    low: FloatArray
    high: FloatArray
    speed: FloatArray
    elevation: FloatArray
    azimuth: FloatArray
    beyond: FloatArray
    lost: FloatArray
    gap: FloatArray
    bent: NDArray[np.bool_]

    @classmethod
    def empty(cls, count: int) -> FloorValues:
        """Return values of places that are not computed yet."""
        plain = {name: np.full(count, np.nan) for name in cls.__dataclass_fields__}
        plain |= {"code": np.full(count, -1), "bent": np.zeros(count, dtype=bool)}
        return cls(**plain)

    def put(self, numbers: IntArray, part: FloorValues) -> None:
        """Enter the values of some places."""
        for name in self.__dataclass_fields__:
            getattr(self, name)[numbers] = getattr(part, name)


@dataclass(frozen=True, slots=True, eq=False)
class FloorMapper:
    """Computes any places of one map; small enough to travel to a worker.

    Parameters
    ----------
    case : FloorCase
        What all places share.
    flown : Flown
        Balls and solids.
    floor : Floor
        The places.
    trend : GapTrend, optional
        What the linearised flight is off by anywhere.
    odd : ndarray, shape (o, 2)
        Places where flown balls say otherwise than the trend; what is nearer than `near` to one is flown. [m]
    near : float
        [m]
    """

    case: FloorCase
    flown: Flown
    floor: Floor
    trend: GapTrend | None = None
    odd: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    near: float = 0.0

    def __call__(self, numbers: IntArray) -> FloorValues:
        """Return the values of places by number; the same for the same numbers, whoever computes them."""
        places = self.floor.places(numbers)
        settings, lost = settings_among(self.case, self.flown, places)
        found = FloorValues.empty(len(numbers))
        found.code[:] = settings.code
        own = np.flatnonzero(settings.code == SCORES)
        if not len(own):
            return found
        some = settings.some(own)
        draws = chances(self.case, some)
        gap, bent = self.gaps(some)
        draws = np.clip(draws + gap[:, None], 0.0, 1.0) * (1.0 - lost[own])[:, None]
        found.chance[own] = draws.mean(axis=1)
        found.low[own], found.high[own] = np.quantile(draws, [0.025, 0.975], axis=1)
        found.speed[own], found.elevation[own], found.azimuth[own] = launch_values(self.case, some)
        found.beyond[own], found.lost[own], found.gap[own], found.bent[own] = (
            some.beyond,
            lost[own],
            gap,
            bent,
        )
        return found

    def gaps(self, settings: Settings) -> tuple[FloatArray, NDArray[np.bool_]]:
        """Say what the linearised flight is off by, and where the path's bend tells."""
        bent = bend_effect(self.case, self.flown, settings) > BEND_TELLS
        if len(self.odd):
            apart = np.linalg.norm(settings.place[:, None] - self.odd, axis=2).min(axis=1)
            bent |= apart < self.near
        gap = np.zeros(len(bent)) if self.trend is None else self.trend.at(settings.place)
        own = np.flatnonzero(bent)
        if len(own):
            gap[own] = linear_gaps(self.case, self.flown, settings.some(own), _NORMALS)[0]
        return gap, bent

    def settings_of(self, values: FloorValues, numbers: IntArray) -> Settings:
        """Return the settings of places of a map that score, by number."""
        table, places = self.case.table, self.floor.places(numbers)
        rows = np.zeros(len(numbers))
        if len(table.elevations) > 1:
            step = table.elevations[1] - table.elevations[0]
            rows = (values.elevation[numbers] - table.elevations[0]) / step
        distance = np.linalg.norm(aim_point(self.case.target)[:2] - places, axis=1)
        columns = table.between(table.at(distance), rows)
        found = values.code[numbers], places, rows, values.beyond[numbers], values.chance[numbers], columns
        return Settings(*found)

    def with_trend(self, values: FloorValues) -> FloorMapper:
        """Fly balls at the places of the first round; return a mapper that adds the trend of their gaps."""
        done = np.flatnonzero((values.code == SCORES) & ~values.bent)
        gap, error = np.zeros(0), np.zeros(0)
        if len(done):
            settings = self.settings_of(values, done)
            gap, error = linear_gaps(self.case, self.flown, settings, len(self.flown.normals))
        return replace(self, trend=gap_trend(self.floor.places(done), gap, error))

    def with_odd(self, values: FloorValues) -> FloorMapper:
        """Fly balls at the places of the first rounds; return a mapper that knows where the trend fails."""
        done = np.flatnonzero((values.code == SCORES) & ~values.bent)
        if not len(done):
            return self
        gap, error = linear_gaps(self.case, self.flown, self.settings_of(values, done), _ODD_BALLS)
        odd = np.abs(gap - values.gap[done]) > LINEAR_GOOD_TO + _SURE * np.maximum(error, 1.0 / _ODD_BALLS)
        step = STRIDES[1] * max(
            float(line[1] - line[0]) if len(line) > 1 else 0.0 for line in (self.floor.x, self.floor.y)
        )
        return replace(self, odd=self.floor.places(done[odd]), near=step)

    def chunks(self, numbers: IntArray) -> list[IntArray]:
        """Cut places into chunks; always the same ones, so that sums are the same bit for bit."""
        return [numbers[k : k + CHUNK] for k in range(0, len(numbers), CHUNK)]


def floor_mapper(
    model: FlightModel,
    ball: Ball,
    prototype: Prototype,
    target: Target,
    scatter: Scatter,
    around: Surroundings,
    solids: Sequence[Obstacle],
    floor: Floor,
    seed: int,
) -> FloorMapper:
    """Prepare a map: tabulate the shots that every place shares.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    ball : Ball
        Mean diameter and mass.
    prototype : Prototype
        Release height, speeds, elevations, spin.
    target : Target
        The opening.
    scatter : Scatter
        Draws of the launch spread, arrays of m.
    around : Surroundings
        Placement and balls, the same at every place.
    solids : sequence of Obstacle
        What stands in the way.
    floor : Floor
        The places.
    seed : int
        Of the balls that are flown.

    Returns
    -------
    FloorMapper
        Ready for any places.

    Raises
    ------
    NoAnswer
        There is wind: the same flight is then not the same in every direction.
    """
    if any(abs(w) > 1e-9 for w in model.wind):
        raise NoAnswer("the map is made for still air; this game's weather has wind, so ask hit instead")
    middle = aim_point(target)
    corners = np.array([(x, y) for x in (floor.x[0], floor.x[-1]) for y in (floor.y[0], floor.y[-1])])
    farthest = float(np.linalg.norm(corners - middle[:2], axis=1).max())
    table = _table(model, prototype, float(middle[2]), farthest)
    speeds = (prototype.speed_low or 0.0, prototype.speed_high or FASTEST)
    case = FloorCase(table, target, model.radius, speeds, scatter, around)
    normals = np.random.default_rng([seed, 3]).standard_normal((_NORMALS, COLUMNS))
    flown = Flown(model, ball, prototype.release_height, prototype.spin_parameter, tuple(solids), normals)
    return FloorMapper(case, flown, floor)


def _table(model: FlightModel, prototype: Prototype, height: float, farthest: float) -> AimTable:
    low, high = prototype.elevation_low, prototype.elevation_high
    elevations = np.array([low]) if high - low < 1e-9 else np.linspace(low, high, _ELEVATIONS)
    return aim_table(model, prototype.release_height, height, elevations, farthest, prototype.spin_parameter)


def rounds_of(mapper: FloorMapper, run: Run, seen: Callable[[FloorValues], None]) -> FloorMapper:
    """Compute a map, coarse first.

    Parameters
    ----------
    mapper : FloorMapper
        What to compute.
    run : callable
        Takes a mapper and chunks of place numbers, returns what the mapper gives for each, in order.
    seen : callable
        Shown the values after each round: one place in 256, one in 16, all.

    Returns
    -------
    FloorMapper
        The mapper of the last round.
    """
    values = FloorValues.empty(len(mapper.floor.x) * len(mapper.floor.y))
    rounds = mapper.floor.rounds()
    for number, places in enumerate(rounds):
        if number == 1:
            mapper = mapper.with_trend(values)
        if number == 2:
            mapper = mapper.with_odd(values)
        # in the last round all of them, now that the trend is known and where it fails
        last = number == len(rounds) - 1
        chunks = mapper.chunks(np.arange(len(values.code)) if last else places)
        for chunk, part in zip(chunks, run(mapper, chunks), strict=True):
            values.put(chunk, part)
        seen(values)
    return mapper


def checked_error(mapper: FloorMapper, values: FloorValues, seed: int) -> tuple[float, float, int]:
    """Fly balls at some of the places of a map that were not flown, and compare; solids are left out.

    Parameters
    ----------
    mapper : FloorMapper
        The map.
    values : FloorValues
        Of all its places.
    seed : int
        Of the choice of places and of the balls, which are others than the map's.

    Returns
    -------
    tuple of (float, float, int)
        Largest difference of hit rates found [-], its standard error [-], places flown.
    """
    rng = np.random.default_rng([seed, 4])
    able = np.flatnonzero((values.code == SCORES) & (values.lost == 0.0) & ~values.bent)
    if not len(able):
        return 0.0, 0.0, 0
    chosen = np.sort(rng.choice(able, min(_CHECKED, len(able)), replace=False))
    normals = rng.standard_normal((_CHECKING, COLUMNS))
    settings = mapper.settings_of(values, chosen)
    gap, error = linear_gaps(mapper.case, replace(mapper.flown, normals=normals), settings, _CHECKING)
    off = np.abs(gap - values.gap[chosen])
    return float(off.max()), float(error[np.argmax(off)]), len(chosen)
