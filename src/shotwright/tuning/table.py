"""Build a shot table: the smooth setting over the distance, what it hits, the fewest notches."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.base.progress import Progress, silent
from shotwright.flight.chance import Scatter, scatter_of_rows
from shotwright.tuning.line import FiringLine, Place
from shotwright.tuning.monotone import MonotoneCurve, monotone_fit
from shotwright.tuning.notches import Cover, fewest_notches, reach_of
from shotwright.tuning.records import Between, Notch, TableRow
from shotwright.tuning.speed_setting import SpeedSetting

FloatArray = NDArray[np.float64]

_ELEVATIONS = 7
_LINE_ENDS = 13  # elevations tried at either end of the line
_ALIKE = 0.003  # hit probability that a fixed elevation may cost before a sloping one is taken
_SEARCH, _COMMON, _FINAL = 24, 60, 400  # draws: for the elevations, for the curve, for a row


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """The settings of a table as functions of the distance.

    Parameters
    ----------
    speed : MonotoneCurve
        Launch speed over distance. [m/s]
    limits : tuple of float
        Least and greatest speed that can be set. [m/s]
    near, far : float
        Distances of the first and last row. [m]
    line : tuple of float
        Ends of the line. [m]
    elevation : tuple of float
        At the ends of the line; straight between them. [rad]
    """

    speed: MonotoneCurve
    limits: tuple[float, float]
    near: float
    far: float
    line: tuple[float, float]
    elevation: tuple[float, float]

    def speeds(self, distance: FloatArray) -> FloatArray:
        """Launch speed at each distance, within what can be set. [m/s]."""
        return np.clip(self.speed(distance), *self.limits)

    def elevations(self, distance: FloatArray) -> FloatArray:
        """Elevation at each distance. [rad]."""
        return np.interp(distance, self.line, self.elevation)


@dataclass(frozen=True, slots=True, eq=False)
class Built:
    """A table before it is told.

    Parameters
    ----------
    rows : tuple of TableRow
        By rising distance.
    between : Between
        Error of interpolation.
    smoothing_loss : float
        [-]
    flown_gap : float
        Largest correction of the integral by flown balls. [-]
    level : float
        [-]
    notches : tuple of Notch
        The fewest.
    gaps : tuple of (float, float)
        [m]
    fixed_elevation : bool
        One elevation serves all.
    """

    rows: tuple[TableRow, ...]
    between: Between
    smoothing_loss: float
    flown_gap: float
    level: float
    notches: tuple[Notch, ...]
    gaps: tuple[tuple[float, float], ...]
    fixed_elevation: bool


def build_table(
    line: FiringLine,
    scatter: Scatter,
    setting: SpeedSetting,
    *,
    every: int,
    elevation: float | None = None,
    level: float | None = None,
    progress: Progress = silent,
) -> Built:
    """Build a shot table along a line.

    Parameters
    ----------
    line : FiringLine
        Its places; every so many is a row.
    scatter : Scatter
        Draws of the launch spread and of the calibration error, arrays of m.
    setting : SpeedSetting
        What is set for a speed.
    every : int
        Places from row to row, an even number.
    elevation : float, optional
        Fixed elevation; chosen when left out. [rad]
    level : float, optional
        Hit probability that the notches must keep; ten points below the least of the rows when left out. [-]
    progress : Progress
        Told how far it is.

    Returns
    -------
    Built
        Rows, error of interpolation, notches.

    Raises
    ------
    NoAnswer
        Fewer than two rows from which anything scores.
    """
    search, common, final = (_some(scatter, n) for n in (_SEARCH, _COMMON, _FINAL))
    ends = _elevation_line(
        line, search, elevation, every, lambda f: progress(0.45 * f, "choosing the elevation")
    )
    kept, own, best = _own_best(
        line, common, ends, every, lambda f: progress(0.45 + 0.2 * f, "finding the curve")
    )
    distances = np.array([place.distance for place in kept])
    whole = line.distances
    curve = Curve(
        monotone_fit(distances, own),
        line.speeds,
        float(distances[0]),
        float(distances[-1]),
        (float(whole[0]), float(whole[-1])),
        ends,
    )
    speeds, angles = curve.speeds(distances), curve.elevations(distances)
    smooth = _along(line, kept, speeds, angles, common)
    progress(0.7, "hit probability of the rows")
    of_rows = list(zip(kept, speeds, angles, strict=True))[::2]
    flown = np.array([line.fly(place, float(v), float(e), final) for place, v, e in of_rows])
    line = line.with_flown(distances[::2], flown[:, 0], flown[:, 1])
    rows = [_row(line, place, float(v), float(e), setting, final) for place, v, e in of_rows]
    between = _between(line, kept, speeds, angles, common)
    wanted = max(min(row.hit.value for row in rows) - 0.1, 0.0) if level is None else level
    progress(0.8, "covering the distances with notches")
    cover, tried, chances = _notches(line, curve, common, wanted)
    notches = tuple(
        _notch(one, span, known, setting)
        for one, span, known in zip(tried, cover.spans, chances, strict=True)
    )
    return Built(
        rows=tuple(rows),
        between=between,
        smoothing_loss=float(np.max(best - smooth)),
        flown_gap=float(np.max(np.abs(flown[:, 0]))),
        level=wanted,
        notches=notches,
        gaps=cover.gaps,
        fixed_elevation=abs(ends[1] - ends[0]) < 1e-9,
    )


def _some(scatter: Scatter, count: int) -> Scatter:
    total = len(np.ravel(scatter.speed))
    return scatter_of_rows(scatter, np.linspace(0, total - 1, min(count, total)).round().astype(int))


def _elevation_line(
    line: FiringLine, scatter: Scatter, fixed: float | None, every: int, told: Callable[[float], None]
) -> tuple[float, float]:
    """Elevations at the ends of the straight line that hits most; one elevation where that is as good."""
    low, high = line.prototype.elevation_low, line.prototype.elevation_high
    if fixed is not None or high - low < 1e-9:
        one = low if fixed is None else fixed
        return one, one
    grid = np.linspace(low, high, _ELEVATIONS)
    places = line.places[::every]
    best = np.zeros((len(places), len(grid)))
    for i, place in enumerate(places):
        told(i / len(places))
        best[i] = [line.best_speed(place, float(e), scatter)[1] for e in grid]
    distances = np.array([place.distance for place in places])
    share = (distances - distances[0]) / max(distances[-1] - distances[0], 1e-9)
    ends = np.linspace(low, high, _LINE_ENDS)
    worth = np.empty((_LINE_ENDS, _LINE_ENDS))
    for a, near in enumerate(ends):
        for b, far in enumerate(ends):
            angles = near + (far - near) * share
            worth[a, b] = np.mean([np.interp(e, grid, row) for e, row in zip(angles, best, strict=True)])
    level = int(np.argmax(np.diag(worth)))
    if worth[level, level] >= worth.max() - _ALIKE:
        return float(ends[level]), float(ends[level])
    first, second = divmod(int(np.argmax(worth)), _LINE_ENDS)
    return float(ends[first]), float(ends[second])


def _own_best(
    line: FiringLine,
    scatter: Scatter,
    ends: tuple[float, float],
    every: int,
    told: Callable[[float], None],
) -> tuple[list[Place], FloatArray, FloatArray]:
    """Best speed of each row, and of the middle between two, by itself; the longest run that scores."""
    places = line.places[:: every // 2]
    distances = np.array([place.distance for place in places])
    angles = np.interp(distances, [distances[0], distances[-1]], ends)
    speeds, chances = np.full(len(distances), np.nan), np.zeros(len(distances))
    for i, place in enumerate(places):
        told(i / len(distances))
        speeds[i], chances[i] = line.best_speed(place, float(angles[i]), scatter)
    first, last = _longest_run(np.isfinite(speeds))
    first += first % 2  # a row, not a middle
    last -= last % 2
    if last - first < 2:
        raise NoAnswer(
            f"from {distances[0]:.2f} to {distances[-1]:.2f} m nothing within the settings of "
            f"{line.prototype.name} scores at two distances; name other distances"
        )
    run = slice(first, last + 1)
    return list(places[run]), speeds[run], chances[run]


def _longest_run(good: NDArray[np.bool_]) -> tuple[int, int]:
    best, start = (0, -1), None
    for i, ok in enumerate([*good, False]):
        if ok and start is None:
            start = i
        if not ok and start is not None:
            best = max(best, (start, i - 1), key=lambda run: run[1] - run[0])
            start = None
    return best


def _along(
    line: FiringLine, places: list[Place], speeds: FloatArray, angles: FloatArray, scatter: Scatter
) -> FloatArray:
    """Mean hit probability of one setting at each place."""
    return np.array(
        [
            float(line.chances(place, np.array([v]), float(e), scatter).mean())
            for place, v, e in zip(places, speeds, angles, strict=True)
        ]
    )


def _row(
    line: FiringLine,
    place: Place,
    speed: float,
    elevation: float,
    setting: SpeedSetting,
    scatter: Scatter,
) -> TableRow:
    chance = line.chances(place, np.array([speed]), elevation, scatter)[0]
    low, high = np.quantile(chance, [0.025, 0.975])
    hit = Estimate(
        float(chance.mean()), float(low), float(high), method="posterior mean and central interval"
    )
    return TableRow(place.distance, speed, math.degrees(elevation), setting.of(speed, elevation), hit)


def _between(
    line: FiringLine,
    places: list[Place],
    speeds: FloatArray,
    angles: FloatArray,
    scatter: Scatter,
) -> Between:
    """Compare the middle between two rows, read by a straight line, with the curve there."""
    middles = slice(1, None, 2)
    v = (speeds[:-1:2] + speeds[2::2]) / 2
    e = (angles[:-1:2] + angles[2::2]) / 2
    read = _along(line, places[middles], v, e, scatter)
    there = _along(line, places[middles], speeds[middles], angles[middles], scatter)
    return Between(
        speed_m_s=float(np.max(np.abs(v - speeds[middles]))),
        elevation_deg=math.degrees(float(np.max(np.abs(e - angles[middles])))),
        hit=float(max(np.max(there - read), 0.0)),
    )


def _notches(
    line: FiringLine, curve: Curve, scatter: Scatter, level: float
) -> tuple[Cover, list[tuple[float, float]], list[FloatArray]]:
    """Cover the distances with the fewest settings of the curve: what is tried is that of each place."""
    places = [p for p in line.places if curve.near - 1e-9 <= p.distance <= curve.far + 1e-9]
    distances = np.array([place.distance for place in places])
    tried = list(zip(curve.speeds(distances).tolist(), curve.elevations(distances).tolist(), strict=True))
    table = np.zeros((len(places), len(places)))
    for k, (speed, elevation) in enumerate(tried):
        for way in (range(k, -1, -1), range(k + 1, len(places))):
            for i in way:
                found = line.chances(places[i], np.array([speed]), elevation, scatter)
                table[i, k] = found.mean()
                if table[i, k] < level:
                    break
    cover = fewest_notches(reach_of(distances, table, level), curve.near, curve.far)
    chosen = [np.array([distances, table[:, k]]) for k in cover.chosen]
    return cover, [tried[k] for k in cover.chosen], chosen


def _notch(
    tried: tuple[float, float],
    span: tuple[float, float],
    known: FloatArray,
    setting: SpeedSetting,
) -> Notch:
    """Tell one notch; `known` holds distances and its hit probability there."""
    (speed, elevation), (distances, chances) = tried, known
    inside = chances[(distances >= span[0]) & (distances <= span[1])]
    ends = np.interp(span, distances, chances)
    return Notch(
        speed_m_s=speed,
        elevation_deg=math.degrees(elevation),
        setting=setting.of(speed, elevation).value,
        from_m=span[0],
        to_m=span[1],
        least_hit=float(min([*inside, *ends])),
    )
