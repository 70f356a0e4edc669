"""Settings with which a launcher on paper reaches an opening from a firing position."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.flight.aiming import aim_point
from shotwright.flight.crossing import Crossings, fly_to_floor, fly_to_plane
from shotwright.flight.model import FlightModel
from shotwright.flight.opening import passes
from shotwright.game.records import Ball, FiringPosition, Obstacle, Target
from shotwright.launcher.description import Described
from shotwright.launcher.release import Releases
from shotwright.launcher.shots import drawn_inputs, grid_of, varying

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_STEPS = 49  # of the setting that carries farthest
_ROWS = {0: 1, 1: 25, 2: 9, 3: 5}  # values of each other setting, by how many there are
_ROUNDS = 2  # of azimuth and setting in turn
_HALVINGS = 22
_STANDS_STILL = 1e-3  # m/s: a ball that was not thrown still needs a velocity to be flown


@dataclass(frozen=True, slots=True)
class Aims:
    """Settings whose mean shot crosses the middle of an opening. Arrays of one length k.

    Parameters
    ----------
    values : mapping of str to ndarray, shape (k,)
        Each setting. [SI]
    azimuth : ndarray, shape (k,)
        Of the aim line. [rad]
    scores : ndarray of bool, shape (k,)
        Whether the mean shot also clears edge and obstacles.
    """

    values: Mapping[str, FloatArray]
    azimuth: FloatArray
    scores: BoolArray

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.azimuth)

    def at(self, row: int) -> dict[str, float]:
        """Return the settings of one aim. [SI]."""
        return {name: float(column[row]) for name, column in self.values.items()}


def greatest_speed(described: Described, ball: Ball) -> float:
    """Speed of the mean shot at the setting that throws fastest, among the ends of all settings.

    Parameters
    ----------
    described : Described
        The launcher on paper.
    ball : Ball
        The mean ball is thrown.

    Returns
    -------
    float
        [m/s]
    """
    ends = grid_of(described, [2] * len(described.settings))
    settings = {name: column[:, None] for name, column in ends.items()}
    inputs = drawn_inputs(described, ball, settings, np.zeros((1, len(varying(described, ball)))))
    return float(described.release({name: column.ravel() for name, column in inputs.items()}).speed.max())


def flown(
    model: FlightModel,
    releases: Releases,
    position: FiringPosition,
    target: Target,
    azimuth: ArrayLike,
    *,
    obstacles: Sequence[Obstacle] = (),
    place: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
) -> Crossings:
    """Fly releases from a firing position to an opening's plane.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    releases : Releases
        n shots; one that was not thrown falls to the floor.
    position : FiringPosition
        Where the launcher stands.
    target : Target
        The opening.
    azimuth : float or ndarray, shape (n,)
        Of the aim line. [rad]
    obstacles : sequence of Obstacle
        What may be in the way.
    place : pair of float or ndarray, shape (n,)
        How far the robot is off in x and in y. [m]
    mass, diameter : float or ndarray, shape (n,), optional
        Of each ball. [kg], [m]

    Returns
    -------
    Crossings
        One row for each shot.
    """
    return fly_to_plane(
        model,
        *on_field(releases, position, azimuth, place),
        np.asarray(target.centre, dtype=float),
        target.axes()[2],
        obstacles=obstacles,
        mass=mass,
        diameter=diameter,
    )


def on_field(
    releases: Releases,
    position: FiringPosition,
    azimuth: ArrayLike,
    place: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Place, velocity and spin of releases from a firing position.

    Parameters
    ----------
    releases : Releases
        n shots; one that was not thrown falls to the floor.
    position : FiringPosition
        Where the launcher stands.
    azimuth : float or ndarray, shape (n,)
        Of the aim line. [rad]
    place : pair of float or ndarray, shape (n,)
        How far the robot is off in x and in y. [m]

    Returns
    -------
    tuple of ndarray, shape (n, 3)
        [m], [m/s], [rad/s]
    """
    x, y = position.x + np.asarray(place[0], dtype=float), position.y + np.asarray(place[1], dtype=float)
    point, velocity, spin = releases.in_field(x, y, azimuth)
    velocity[:, 2] = np.where(releases.speed > 0, velocity[:, 2], -_STANDS_STILL)
    return point, velocity, spin


def bearing(position: FiringPosition, target: Target) -> float:
    """Azimuth from a firing position to the middle of an opening. [rad]."""
    x, y = aim_point(target)[:2]
    return math.atan2(y - position.y, x - position.x)


def misses(position: FiringPosition, target: Target, crossings: Crossings) -> tuple[FloatArray, FloatArray]:
    """How far crossings lie from the middle of an opening.

    Parameters
    ----------
    position : FiringPosition
        Where the shots come from.
    target : Target
        The opening.
    crossings : Crossings
        n flights to its plane.

    Returns
    -------
    along, cross : ndarray, shape (n,)
        Beyond the middle (above it, on an upright opening) and to the left of the aim line; NaN for a flight
        that did not cross. [m]
    """
    heading = bearing(position, target)
    ahead = np.array([math.cos(heading), math.sin(heading), 0.0])
    left = np.array([-math.sin(heading), math.cos(heading), 0.0])
    beyond = np.cross(left, target.axes()[2])
    # in the opening's plane, away from the launcher and up
    beyond *= math.copysign(1.0, float(beyond @ (ahead + np.array([0.0, 0.0, 1.0]))))
    beyond /= np.linalg.norm(beyond)
    off = np.where(crossings.crossed[:, None], crossings.position - aim_point(target), np.nan)
    return off @ beyond, off @ left


def floor_range(model: FlightModel, releases: Releases) -> FloatArray:
    """Distance from below the release point to where each ball meets the floor.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    releases : Releases
        n shots, fired along +x.

    Returns
    -------
    ndarray, shape (n,)
        [m]
    """
    point, velocity, spin = releases.in_field(0.0, 0.0, 0.0)
    velocity[:, 2] = np.where(releases.speed > 0, velocity[:, 2], -_STANDS_STILL)
    landed = fly_to_floor(model, point, velocity, spin).position
    return np.asarray(np.hypot(landed[:, 0], landed[:, 1]))


def aims_at(
    model: FlightModel,
    described: Described,
    position: FiringPosition,
    target: Target,
    *,
    obstacles: Sequence[Obstacle] = (),
) -> Aims:
    """Find settings whose mean shot crosses the middle of an opening.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    described : Described
        The launcher; without settings its one shot is judged as it is.
    position : FiringPosition
        Where it stands.
    target : Target
        The opening.
    obstacles : sequence of Obstacle
        What may be in the way.

    Returns
    -------
    Aims
        For each value of the other settings, every value of the one that carries farthest; empty when none
        reaches.
    """
    heading = bearing(position, target)
    if not described.settings:
        nothing = np.zeros(1)
        return _judged(model, described, position, target, obstacles, {}, nothing + heading)
    lead = _lead(model, described)
    others = len(described.settings) - 1
    counts = [_STEPS if i == lead else _ROWS.get(others, 3) for i in range(others + 1)]
    grid = grid_of(described, counts)
    name = described.settings[lead].name
    along, _ = _missed(model, described, position, target, grid, heading)
    shape = tuple(counts)
    columns = {key: np.moveaxis(value.reshape(shape), lead, -1) for key, value in grid.items()}
    miss = np.moveaxis(along.reshape(shape), lead, -1)
    with np.errstate(invalid="ignore"):
        where = np.nonzero(miss[..., :-1] * miss[..., 1:] <= 0)
    fixed = {key: column[..., :-1][where] for key, column in columns.items()}
    low, high = fixed[name].copy(), columns[name][..., 1:][where]
    azimuth = np.full(len(low), heading)
    rising = miss[..., 1:][where] > miss[..., :-1][where]
    distance = math.hypot(*(aim_point(target)[:2] - (position.x, position.y)))
    for _ in range(_ROUNDS):
        fixed[name] = _crossing_value(
            model, described, position, target, fixed, name, (low, high), rising, azimuth
        )
        _, aside = _missed(model, described, position, target, fixed, azimuth)
        azimuth = azimuth - np.nan_to_num(aside) / distance
    return _judged(model, described, position, target, obstacles, fixed, azimuth)


def _crossing_value(
    model: FlightModel,
    described: Described,
    position: FiringPosition,
    target: Target,
    fixed: Mapping[str, FloatArray],
    name: str,
    ends: tuple[FloatArray, FloatArray],
    rising: BoolArray,
    azimuth: FloatArray,
) -> FloatArray:
    """Halve the brackets until the mean shot crosses the middle."""
    low, high = ends[0].copy(), ends[1].copy()
    for _ in range(_HALVINGS if len(low) else 0):
        middle = 0.5 * (low + high)
        along, _ = _missed(model, described, position, target, {**fixed, name: middle}, azimuth)
        beyond = np.where(np.isfinite(along), along > 0, ~rising) == rising
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return np.asarray(0.5 * (low + high))


def _judged(
    model: FlightModel,
    described: Described,
    position: FiringPosition,
    target: Target,
    obstacles: Sequence[Obstacle],
    values: Mapping[str, FloatArray],
    azimuth: FloatArray,
) -> Aims:
    if len(azimuth) == 0:
        return Aims(values, azimuth, np.zeros(0, dtype=bool))
    releases = _releases(model, described, values, len(azimuth))
    crossings = flown(model, releases, position, target, azimuth, obstacles=obstacles)
    scores = passes(target, crossings, model.radius)
    keep = np.isfinite(misses(position, target, crossings)[0]) | scores | (len(values) == 0)
    keep |= ~crossings.crossed  # stopped by an obstacle: an aim all the same
    return Aims({k: v[keep] for k, v in values.items()}, azimuth[keep], scores[keep])


def _releases(
    model: FlightModel, described: Described, values: Mapping[str, FloatArray], count: int
) -> Releases:
    means = described.means(model.ball)
    return described.release({k: np.broadcast_to(values.get(k, v), (count,)) for k, v in means.items()})


def _missed(
    model: FlightModel,
    described: Described,
    position: FiringPosition,
    target: Target,
    values: Mapping[str, FloatArray],
    azimuth: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    count = len(next(iter(values.values())))
    if count == 0:
        return np.zeros(0), np.zeros(0)
    releases = _releases(model, described, values, count)
    return misses(position, target, flown(model, releases, position, target, azimuth))


def _lead(model: FlightModel, described: Described) -> int:
    """Which setting changes the range most over its own range, the others in the middle."""
    if len(described.settings) == 1:
        return 0
    middles = [0.5 * (one.low + one.high) for one in described.settings]
    rows = np.tile(middles, (2 * len(middles), 1))
    for i, one in enumerate(described.settings):
        rows[2 * i, i], rows[2 * i + 1, i] = one.low, one.high
    values = {one.name: rows[:, i] for i, one in enumerate(described.settings)}
    reach = floor_range(model, _releases(model, described, values, len(rows)))
    return int(np.argmax(np.abs(reach[1::2] - reach[0::2])))
