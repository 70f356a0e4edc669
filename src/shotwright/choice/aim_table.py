"""Shots through one point in still air, tabulated over elevation and distance.

Without wind a flight is the same in every direction. One table of the speed that carries the ball's centre
through a point, of its velocity there, and of how its path moves with each launch value, serves a whole
floor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.crossing import NO_FLOOR, Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.sensitivity import crossing_sensitivities

FloatArray = NDArray[np.float64]

# Columns of the table: speed [m/s]; velocity away and up [m/s]; how far the path moves square to itself, in
# the upright plane of the flight, by speed [m per m/s] (the spin follows it), elevation [m/rad], spin
# parameter [m], mass [m/kg], diameter [m/m].
SPEED, AWAY, UP, BY_SPEED, BY_ELEVATION, BY_SPIN, BY_MASS, BY_DIAMETER = range(8)
COLUMNS = 8

FASTEST = 60.0  # m/s
_STEP = 0.1  # m between distances
_NEAREST = 0.3  # m
_ROUNDS = 30
_CLOSE = 1e-9  # m
_FACING = (-1.0, 0.0, 0.0)  # an upright plane across the flight: paths cross it once however flat they are


@dataclass(frozen=True, slots=True, eq=False)
class AimTable:
    """Shots through a point at one height, from one release height.

    Parameters
    ----------
    elevations : ndarray, shape (j,)
        Rising, evenly spaced. [rad]
    nearest, step : float
        First distance, and the step to the next. [m]
    pieces : ndarray, shape (4, i, j, 8)
        Cubic polynomials in the share of a step, of what stays smooth up to the limit of reach: (d/v)^2, the
        velocity over v, the path's move by speed times v, the other columns. NaN where no speed gets there.
    flights : int
        Flights behind it.
    """

    elevations: FloatArray
    nearest: float
    step: float
    pieces: FloatArray
    flights: int

    def at(self, distances: FloatArray) -> FloatArray:
        """Columns at every elevation, shape (n, j, 8), for distances (n,); NaN out of reach. [m]."""
        place = (np.asarray(distances, dtype=float) - self.nearest) / self.step
        last = self.pieces.shape[1] - 1
        inside = (place >= 0.0) & (place <= last + 1.0)
        i = np.clip(place.astype(int), 0, last)
        t = (place - i)[:, None, None]
        c = self.pieces[:, i]
        found = c[0] + t * (c[1] + t * (c[2] + t * c[3]))
        found[~inside] = np.nan
        with np.errstate(invalid="ignore", divide="ignore"):
            found[found[:, :, SPEED] <= 0.0] = np.nan
        return _spread_out(found, np.asarray(distances, dtype=float)[:, None])

    def between(self, rows: FloatArray, place: FloatArray) -> FloatArray:
        """Columns (n, 8) between elevations, from what `at` gave, at places (n,) counted in steps. [-]."""
        j = len(self.elevations)
        if j < 4:
            return np.asarray(rows[np.arange(len(rows)), np.rint(place).astype(int)])
        first = np.clip(np.floor(place).astype(int) - 1, 0, j - 4)
        x = place - first
        weight = np.stack(
            [
                -(x - 1) * (x - 2) * (x - 3) / 6,
                x * (x - 2) * (x - 3) / 2,
                -x * (x - 1) * (x - 3) / 2,
                x * (x - 1) * (x - 2) / 6,
            ],
            axis=1,
        )
        some = rows[np.arange(len(rows))[:, None], first[:, None] + np.arange(4)]
        found = np.einsum("nk,nkq->nq", weight, some)
        # beside the limit of reach four neighbours are not all there
        own = rows[np.arange(len(rows)), np.rint(place).astype(int)]
        return np.asarray(np.where(np.isfinite(found).all(axis=1)[:, None], found, own))

    def elevation_at(self, place: FloatArray) -> FloatArray:
        """Elevation at places counted in steps. [rad]."""
        if len(self.elevations) == 1:
            return np.full(len(place), self.elevations[0])
        return np.asarray(self.elevations[0] + place * (self.elevations[1] - self.elevations[0]))


def aim_table(
    model: FlightModel,
    release_height: float,
    point_height: float,
    elevations: FloatArray,
    farthest: float,
    spin_parameter: float,
) -> AimTable:
    """Tabulate the shots through a point, for all distances up to one.

    Parameters
    ----------
    model : FlightModel
        Ball and air; the wind is left out.
    release_height, point_height : float
        Of the ball's centre at release, and of the point. [m]
    elevations : ndarray, shape (j,)
        Rising, evenly spaced. [rad]
    farthest : float
        Level distance from release to the point. [m]
    spin_parameter : float
        S = r omega / v. [-]

    Returns
    -------
    AimTable
        From 0.3 m on, in steps of 0.1 m; between them cubic splines.

    Notes
    -----
    The speed is found from the height at which the path passes the distance, which without air is linear in
    1/v^2: the secant rule in 1/v^2.
    """
    count = max(4, math.ceil((farthest - _NEAREST) / _STEP) + 2)
    distances = _NEAREST + _STEP * np.arange(count)
    elevation, distance = (one.ravel() for one in np.meshgrid(elevations, distances, indexing="ij"))
    speed, flights = _speeds(model, release_height, point_height, distance, elevation, spin_parameter)
    columns = np.full((len(speed), COLUMNS), np.nan)
    own = np.flatnonzero(np.isfinite(speed))
    start = np.column_stack([-distance[own], np.zeros(len(own)), np.full(len(own), release_height)])
    spin = spin_parameter * speed[own] / model.radius
    found = crossing_sensitivities(
        model, start, speed[own], elevation[own], 0.0, spin, (0.0, 0.0, point_height), _FACING
    )
    velocity = found.crossings.velocity[: len(own)]
    size = np.hypot(velocity[:, 0], velocity[:, 2])
    up = found.jacobian[:, 1] * (velocity[:, 0] / size)[:, None]  # square to the path
    per_spin = up[:, 3]
    columns[own] = np.column_stack(
        [
            speed[own],
            velocity[:, 0],
            velocity[:, 2],
            up[:, 0] + per_spin * spin_parameter / model.radius,
            up[:, 1],
            per_spin * speed[own] / model.radius,
            up[:, 6],
            up[:, 7],
        ]
    )
    table = _gathered(columns, distance).reshape(len(elevations), count, COLUMNS)
    return AimTable(elevations, _NEAREST, _STEP, _splines(table), flights + 25 * len(own))


def _gathered(columns: FloatArray, distance: FloatArray) -> FloatArray:
    """What stays smooth near and at the limit of reach; `_spread_out` undoes it.

    Without air (d/v)^2 is a straight line in the distance d.
    """
    speed = columns[..., SPEED]
    found = columns.copy()
    found[..., [AWAY, UP]] /= speed[..., None]
    found[..., BY_SPEED] *= speed
    found[..., SPEED] = (distance / speed) ** 2
    return found


def _spread_out(gathered: FloatArray, distance: FloatArray) -> FloatArray:
    found = gathered.copy()
    speed = distance / np.sqrt(gathered[..., SPEED])
    found[..., SPEED] = speed
    found[..., [AWAY, UP]] *= speed[..., None]
    found[..., BY_SPEED] /= speed
    return found


def _speeds(
    model: FlightModel,
    release_height: float,
    point_height: float,
    distance: FloatArray,
    elevation: FloatArray,
    spin_parameter: float,
) -> tuple[FloatArray, int]:
    """Speed that carries the ball through the point; NaN where none up to 60 m/s does."""
    rise = point_height - release_height
    drop = distance * np.tan(elevation) - rise
    speed = np.full(len(distance), np.nan)
    own = np.flatnonzero(drop > 1e-6)
    flights = 0

    def miss(k: NDArray[np.intp], q: FloatArray) -> FloatArray:
        """Height over the point where the path passes it."""
        nonlocal flights
        flights += len(k)
        v = 1.0 / np.sqrt(q)
        velocity, spin = launch_vectors(v, elevation[k], 0.0, spin_parameter * v / model.radius)
        start = np.column_stack([-distance[k], np.zeros(len(k)), np.full(len(k), release_height)])
        flown = fly_to_plane(
            model, start, velocity, spin, (0.0, 0.0, point_height), _FACING, floor=NO_FLOOR, plain=False
        )
        return np.where(flown.status == Status.CROSSED, flown.position[:, 2] - point_height, -np.inf)

    q = 2.0 * np.cos(elevation[own]) ** 2 * drop[own] / (model.gravity * distance[own] ** 2)
    least = 1.0 / FASTEST**2
    q = np.maximum(q, least)
    f = miss(own, q)
    other = np.maximum(0.8 * q, least)
    g = miss(own, other)
    for _ in range(_ROUNDS):
        if not len(own):
            break
        with np.errstate(invalid="ignore", divide="ignore"):
            next_q = other - g * (other - q) / (g - f)
        # too slow to get there, or no slope yet: faster
        next_q = np.where(np.isfinite(next_q), next_q, 0.7 * np.minimum(q, other))
        next_q = np.clip(next_q, np.maximum(0.5 * other, least), 2.0 * other)
        q, f, other = other, g, next_q
        g = miss(own, other)
        done = np.abs(g) < _CLOSE
        speed[own[done]] = 1.0 / np.sqrt(other[done])
        # at the fastest and still below: out of reach
        going = ~done & ~((other <= least) & (g < 0.0)) & ~((other == q) & ~done)
        own, q, f, other, g = own[going], q[going], f[going], other[going], g[going]
    return speed, flights


def _splines(table: FloatArray) -> FloatArray:
    """Cubic splines in distance for each elevation, (4, i, j, 8), over the run of distances in reach."""
    from scipy.interpolate import CubicSpline

    rows, count, _ = table.shape
    pieces = np.full((4, count - 1, rows, COLUMNS), np.nan)
    for j in range(rows):
        good = np.flatnonzero(np.isfinite(table[j]).all(axis=1))
        if len(good) < 4:
            continue
        # in reach from some distance on, up to where more than the fastest is needed
        run = good[: int(np.argmax(np.diff(good, append=good[-1] + 2) > 1)) + 1]
        if len(run) < 4:
            continue
        spline = CubicSpline(np.arange(len(run)), table[j, run])
        pieces[:, run[:-1], j] = spline.c[::-1]
    return pieces
