"""Shot grids from polynomials: a million settings evaluated for the price of a few thousand flights.

For each elevation the speeds that get to the opening's plane begin at a boundary v0(elevation). There the
crossing data go with a root of v - v0, where the ball only just reaches the plane; in

    x = sqrt((v - v0) / (v1 - v0))

they are analytic. Each panel of elevations holds Chebyshev series in (elevation, x). A row of a grid is a
product of matrices; the row's own values of x then follow Chebyshev's recurrence.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight.crossing import Crossings, Status
from shotwright.flight.line_of_fire import LineOfFire

FloatArray = NDArray[np.float64]

# time; u, w of the crossing; velocity along u, w, n
QUANTITIES = 6
TO_FLY = 0  # no status of a flight: the cell is left to the flight itself
GUARD = 1e-4  # m/s: a speed that near the boundary is flown
_ROUNDING = 1e-12
_BLOCK = 256  # cells at once, so that the recurrence stays inside the processor's cache


@dataclass(frozen=True, slots=True)
class Piece:
    """Series over a part of a panel's speeds.

    Parameters
    ----------
    low, high : float
        Part of x. [-]
    series : ndarray, shape (6, i, j)
        Chebyshev coefficients of the quantities in (elevation, x), each scaled to its part.
    """

    low: float
    high: float
    series: FloatArray


@dataclass(frozen=True, slots=True)
class Panel:
    """Elevations that share series.

    Parameters
    ----------
    low, high : float
        Elevations. [rad]
    boundary : ndarray, shape (i,)
        Chebyshev series of v0 in elevation. [m/s]
    edge : bool
        Whether slower balls miss; otherwise v0 is only the slowest speed of the fit.
    fastest : float
        v1. [m/s]
    pieces : tuple of Piece
        Rising in x; empty where no series is good enough, so that every cell is flown.
    """

    low: float
    high: float
    boundary: FloatArray
    edge: bool
    fastest: float
    pieces: tuple[Piece, ...]

    def scaled(self, elevations: FloatArray) -> FloatArray:
        """Elevations scaled to -1 ... 1."""
        return (2.0 * elevations - self.low - self.high) / (self.high - self.low)

    def slowest(self, elevations: FloatArray) -> FloatArray:
        """v0 at each elevation. [m/s]."""
        return np.asarray(chebyshev.chebval(self.scaled(elevations), self.boundary))


@dataclass(frozen=True, slots=True)
class ShotGrid(Result):
    """Where the balls of a grid of settings cross the plane of the opening.

    Parameters
    ----------
    speeds : ndarray, shape (m,)
        [m/s]
    elevations : ndarray, shape (k,)
        [rad]
    status : ndarray of uint8, shape (k, m)
        `Status` of each flight.
    values : ndarray, shape (6, k, m)
        Time since release [s]; u and w of the crossing [m]; velocity along u, w and the normal [m/s]. NaN for
        a ball that does not cross.
    flown : int
        How many cells were flown.
    """

    speeds: FloatArray
    elevations: FloatArray
    status: NDArray[np.uint8]
    values: FloatArray
    flown: int


@dataclass(frozen=True, slots=True, eq=False)
class ShotSurrogate:
    """Series for the shots of one line of fire at one azimuth; solids in the way are not looked at.

    Parameters
    ----------
    line : LineOfFire
        Release point, opening, spin.
    azimuth : float
        [rad]
    speed_range, elevation_range : tuple of float
        Where it holds. [m/s], [rad]
    panels : tuple of Panel
        Rising in elevation. Between panels no ball gets to the plane.
    flights : int
        Flights behind it.
    error : float
        Largest difference from flights that the series were not fitted to. [m]
    """

    line: LineOfFire
    azimuth: float
    speed_range: tuple[float, float]
    elevation_range: tuple[float, float]
    panels: tuple[Panel, ...]
    flights: int
    error: float

    def on_grid(self, speeds: FloatArray, elevations: FloatArray) -> ShotGrid:
        """Evaluate every pair of rising speeds (m,) and elevations (k,). [m/s], [rad]."""
        _within(speeds, self.speed_range, "speeds", "m/s")
        _within(elevations, self.elevation_range, "elevations", "rad")
        status = np.empty((len(elevations), len(speeds)), dtype=np.uint8)
        values = np.empty((QUANTITIES, len(elevations), len(speeds)))
        done = 0
        for panel in self.panels:
            # rounding may put the last row of a range a little outside it
            begin = max(done, int(np.searchsorted(elevations, panel.low - _ROUNDING)))
            end = max(begin, int(np.searchsorted(elevations, panel.high + _ROUNDING)))
            _miss(status[done:begin], values[:, done:begin])
            if end > begin:
                _fill(panel, speeds, elevations[begin:end], status[begin:end], values[:, begin:end])
            done = end
        _miss(status[done:], values[:, done:])
        row, column = np.nonzero(status == TO_FLY)
        if len(row):
            flown = self.line.fly(speeds[column], elevations[row], np.full(len(row), self.azimuth))
            status[row, column] = flown.status
            values[:, row, column] = quantities(self.line, flown)
        return ShotGrid(speeds, elevations, status, values, len(row))


def _within(values: FloatArray, limits: tuple[float, float], name: str, unit: str) -> None:
    slack = _ROUNDING * max(1.0, abs(limits[1]))
    rising = values.ndim == 1 and (np.diff(values) > 0).all()
    if not (rising and len(values) and limits[0] - slack <= values[0] <= values[-1] <= limits[1] + slack):
        raise BadInput(
            f"the {name} of a grid must rise and lie within {limits[0]:g} to {limits[1]:g} {unit}, the range "
            "that the series cover",
            field=name,
        )


def _miss(status: NDArray[np.uint8], values: FloatArray) -> None:
    """Enter balls that fall to the floor."""
    status[:] = Status.FLOOR
    values[:] = np.nan


def quantities(line: LineOfFire, flown: Crossings) -> FloatArray:
    """Collect what a grid holds of each flight.

    Parameters
    ----------
    line : LineOfFire
        Its opening.
    flown : Crossings
        n flights to the opening's plane.

    Returns
    -------
    ndarray, shape (6, n)
        As `ShotGrid.values`. [s], [m], [m/s]
    """
    axes = np.array(line.target.axes())
    place = (flown.position - np.asarray(line.target.centre)) @ axes[:2].T
    found = np.vstack([flown.time, place.T, (flown.velocity @ axes.T).T])
    found[:, flown.status != Status.CROSSED] = np.nan
    return found


def _fill(
    panel: Panel,
    speeds: FloatArray,
    elevations: FloatArray,
    status: NDArray[np.uint8],
    values: FloatArray,
) -> None:
    """Evaluate the rows of one panel in place."""
    if not panel.pieces:
        status[:] = TO_FLY
        return
    at = chebyshev.chebvander(panel.scaled(elevations), panel.pieces[0].series.shape[1] - 1)
    slowest = panel.slowest(elevations)
    run = compiled_rows()
    for piece in panel.pieces:
        size, _, terms = piece.series.shape
        rows = np.tensordot(at, piece.series, axes=(1, 1)).reshape(len(elevations), size * terms)
        run(
            np.ascontiguousarray(rows).reshape(len(elevations), size, terms),
            speeds,
            slowest,
            panel.fastest,
            panel.edge,
            piece.low,
            piece.high,
            status,
            values,
        )


def fill_rows(
    rows: FloatArray,
    speeds: FloatArray,
    slowest: FloatArray,
    fastest: float,
    edge: bool,
    low: float,
    high: float,
    status: NDArray[np.uint8],
    values: FloatArray,
) -> None:
    """Evaluate one piece at every elevation; this text runs compiled, and plain in a test.

    Parameters
    ----------
    rows : ndarray, shape (k, 6, j)
        Chebyshev series in x of each elevation. [s], [m], [m/s]
    speeds : ndarray, shape (m,)
        Rising. [m/s]
    slowest : ndarray, shape (k,)
        v0 of each elevation. [m/s]
    fastest : float
        v1. [m/s]
    edge : bool
        Whether slower balls miss.
    low, high : float
        Part of x that the piece covers. [-]
    status : ndarray of uint8, shape (k, m)
        Takes the status of the cells that the piece covers, and `TO_FLY` beside the boundary. [-]
    values : ndarray, shape (6, k, m)
        Takes the quantities. [s], [m], [m/s]
    """
    terms = rows.shape[2]
    cheb, sums = np.empty((terms, _BLOCK)), np.empty(_BLOCK)
    for i in range(len(slowest)):
        v0 = slowest[i]
        span = fastest - v0
        first = np.searchsorted(speeds, v0 + span * low * low)
        last = np.searchsorted(speeds, v0 + span * high * high)
        if high == 1.0:
            last = np.searchsorted(speeds, fastest * (1.0 + 1e-12))
        if low == 0.0:
            near = np.searchsorted(speeds, v0 - GUARD) if edge else first
            beside = np.searchsorted(speeds, v0 + GUARD) if edge else first
            status[i, :near] = Status.FLOOR
            for q in range(QUANTITIES):
                values[q, i, :near] = math.nan
            status[i, near:beside] = TO_FLY
            first = max(first, beside)
        for begin in range(first, last, _BLOCK):
            count = min(_BLOCK, last - begin)
            for c in range(count):
                x = math.sqrt(max(speeds[begin + c] - v0, 0.0) / span)
                cheb[0, c] = 1.0
                cheb[1, c] = (2.0 * x - low - high) / (high - low)
            for j in range(2, terms):
                for c in range(count):
                    cheb[j, c] = 2.0 * cheb[1, c] * cheb[j - 1, c] - cheb[j - 2, c]
            for q in range(QUANTITIES):
                _sum_terms(rows[i, q], cheb, sums, count)
                values[q, i, begin : begin + count] = sums[:count]
            status[i, begin : begin + count] = Status.CROSSED


def _sum_terms(series: FloatArray, cheb: FloatArray, sums: FloatArray, count: int) -> None:
    """Set the first `count` sums to those of the series; eight terms at a time keep the adders busy."""
    for c in range(count):
        sums[c] = 0.0
    for j in range(0, len(series), 8):
        a0, a1, a2, a3 = series[j], series[j + 1], series[j + 2], series[j + 3]
        a4, a5, a6, a7 = series[j + 4], series[j + 5], series[j + 6], series[j + 7]
        t0, t1, t2, t3 = cheb[j], cheb[j + 1], cheb[j + 2], cheb[j + 3]
        t4, t5, t6, t7 = cheb[j + 4], cheb[j + 5], cheb[j + 6], cheb[j + 7]
        for c in range(count):
            low = (a0 * t0[c] + a1 * t1[c]) + (a2 * t2[c] + a3 * t3[c])
            high = (a4 * t4[c] + a5 * t5[c]) + (a6 * t6[c] + a7 * t7[c])
            sums[c] += low + high


@functools.cache
def compiled_rows() -> Callable[..., None]:
    """Return `fill_rows` compiled.

    Returns
    -------
    callable
        Takes the same.
    """
    from shotwright.flight.kernel import compile_plain

    return compile_plain(fill_rows, cache=True)
