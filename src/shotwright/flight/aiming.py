"""The speed and azimuth that carry the ball's centre through a wanted point of an opening."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.chance import Aim
from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.window_edges import IntArray, Margin, refined_edges
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

FASTEST = 60.0  # m/s; beyond any launcher that a crew may build
_LADDER = 28
AIM_TOLERANCE = 1e-12  # m/s
_COARSE = (2e-2, 2e-4)  # m/s
_NEAR = 0.01  # of a speed that is expected
_AZIMUTH_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class _Spin:
    """Backspin that follows the speed, or a fixed one."""

    per_speed: float
    fixed: float | None

    def at(self, speed: FloatArray) -> FloatArray:
        return self.per_speed * speed if self.fixed is None else np.full_like(speed, self.fixed)


def aims_through(
    model: FlightModel,
    target: Target,
    point: FloatArray,
    elevations: FloatArray,
    spin_parameter: float,
    *,
    long_by: FloatArray | float = 0.0,
    fastest: float = FASTEST,
    spin: float | None = None,
    near: FloatArray | None = None,
    tolerance: float = AIM_TOLERANCE,
) -> list[Aim | None]:
    """Find, for each elevation, the aim whose flight crosses the opening's plane at its centre.

    For an opening that faces up the ball comes down through it; for an upright one it comes in from the
    front. The centre is `aim_point`.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target
        The opening.
    point : ndarray, shape (3,)
        Release point. [m]
    elevations : ndarray, shape (k,)
        Launch elevations. [rad]
    spin_parameter : float
        S = r omega / v. [-]
    long_by : float or ndarray, shape (k,)
        Aim this far beyond the centre: farther for an opening that faces up, higher for an upright one. [m]
    fastest : float
        Largest speed tried. [m/s]
    spin : float, optional
        Fixed backspin that does not follow the speed, in place of `spin_parameter`. [rad/s]
    near : ndarray, shape (k,), optional
        Speeds expected, such as those of neighbours; one that is off by more than 1 %, or not finite, costs
        the search that it would have saved. [m/s]
    tolerance : float
        How near the speed is closed in upon. [m/s]

    Returns
    -------
    list of Aim or None
        One for each elevation; None where no speed up to `fastest` gets there.
    """
    _, _, normal = target.axes()
    centre = np.asarray(target.centre, dtype=float)
    flat = aim_point(target)[:2] - point[:2]
    bearing = math.atan2(flat[1], flat[0])
    beyond = beyond_direction(normal, bearing)
    goal = aim_point(target) + np.multiply.outer(np.broadcast_to(long_by, elevations.shape), beyond)
    left = np.cross(normal, beyond)
    spinning = _Spin(spin_parameter / model.radius, spin)

    azimuth = np.full(elevations.shape, bearing)
    speed = np.full(elevations.shape, np.nan)
    for _ in range(_AZIMUTH_ROUNDS):
        speed = _speeds(
            model,
            point,
            elevations,
            azimuth,
            spinning,
            (centre, normal),
            (goal, beyond),
            (fastest, tolerance),
            near,
        )
        miss = _crossing(
            model, point, np.nan_to_num(speed, nan=1.0), elevations, azimuth, spinning, centre, normal
        )
        aside = (miss - goal) @ left
        aside = np.where(np.isfinite(speed) & np.isfinite(aside), aside, 0.0)
        if np.max(np.abs(aside), initial=0.0) < max(1e-9, tolerance):
            break
        distance = np.linalg.norm(goal[:, :2] - point[:2], axis=1)
        sign = 1.0 if _turns_left(left, bearing) else -1.0
        azimuth = azimuth - sign * aside / distance
        near = speed
    return [
        Aim(
            np.asarray(point, dtype=float),
            float(v),
            float(e),
            float(a),
            spin_parameter if spin is None else spin * model.radius / float(v),
        )
        if np.isfinite(v)
        else None
        for v, e, a in zip(speed, elevations, azimuth, strict=True)
    ]


def aim_point(target: Target) -> FloatArray:
    """Middle of an opening: the point that an aim at it means.

    Parameters
    ----------
    target : Target
        The opening.

    Returns
    -------
    ndarray, shape (3,)
        Centre of a circle; centroid of a polygon, or, where that lies outside or near the edge of a bent one,
        centre of the largest circle inside it. [m]
    """
    centre = np.asarray(target.centre, dtype=float)
    if target.radius is not None:
        return centre
    import shapely

    outline = shapely.Polygon(target.corners)
    spoke = shapely.maximum_inscribed_circle(outline)
    middle = outline.centroid
    if not outline.contains(middle) or outline.exterior.distance(middle) < 0.5 * spoke.length:
        middle = shapely.Point(spoke.coords[0])
    u, w, _ = target.axes()
    return np.asarray(centre + middle.x * u + middle.y * w)


def beyond_direction(normal: FloatArray, bearing: float) -> FloatArray:
    """Direction in the opening's plane that a faster ball moves to: away and up.

    Parameters
    ----------
    normal : ndarray, shape (3,)
        Of the plane; unit length. [-]
    bearing : float
        From the launcher to the opening. [rad]

    Returns
    -------
    ndarray, shape (3,)
        Unit vector. [-]
    """
    away = np.array([math.cos(bearing), math.sin(bearing), 1.0])
    in_plane = away - (away @ normal) * normal
    return np.asarray(in_plane / np.linalg.norm(in_plane))


def _turns_left(left: FloatArray, bearing: float) -> bool:
    """Whether `left` points to the side that a growing azimuth turns to."""
    return bool(left @ np.array([-math.sin(bearing), math.cos(bearing), 0.0]) > 0)


def _crossing(
    model: FlightModel,
    point: FloatArray,
    speed: FloatArray,
    elevation: FloatArray,
    azimuth: FloatArray,
    spinning: _Spin,
    centre: FloatArray,
    normal: FloatArray,
) -> FloatArray:
    """Crossing points (k, 3); NaN where the plane is not crossed from the front."""
    velocity, spin = launch_vectors(speed, elevation, azimuth, spinning.at(speed))
    # every search flies a large batch first, so that the compiled equations are loaded anyway
    found = fly_to_plane(model, point, velocity, spin, centre, normal, plain=False)
    crossed = found.status == Status.CROSSED
    return np.where(crossed[:, None], found.position, np.nan)


def _speeds(
    model: FlightModel,
    point: FloatArray,
    elevation: FloatArray,
    azimuth: FloatArray,
    spinning: _Spin,
    plane: tuple[FloatArray, FloatArray],
    aim: tuple[FloatArray, FloatArray],
    limits: tuple[float, float],
    near: FloatArray | None,
) -> FloatArray:
    """Close in on the speed: a ball that falls short, or crosses short of the goal, was too slow."""
    goal, beyond = aim
    fastest, tolerance = limits

    def past(k: NDArray[np.intp], speed: FloatArray) -> FloatArray:
        crossing = _crossing(model, point, speed, elevation[k], azimuth[k], spinning, *plane)
        found = np.einsum("ij,j->i", crossing - goal[k], beyond)
        return np.where(np.isnan(found), -np.inf, found)

    speed = np.full(elevation.shape, np.nan)
    rows = np.arange(len(elevation))
    guessed: IntArray = rows[:0]
    if near is not None:
        guessed = rows[np.isfinite(near) & (near > 0.0) & (near * (1.0 + _NEAR) <= fastest)]
        rungs = near[guessed][:, None] * np.array([1.0 - _NEAR, 1.0 + _NEAR])
        guessed = _close_in(past, guessed, rungs, speed, tolerance, sure=False)
    # A very fast ball with backspin may loop over the opening: climb from below to the first speed that is
    # enough.
    ladder = np.concatenate([[0.1], np.geomspace(0.5, fastest, _LADDER)])
    others = np.setdiff1d(rows, guessed)
    if len(others):
        _close_in(past, others, np.tile(ladder, (len(others), 1)), speed, tolerance, sure=True)
    return speed


def _close_in(
    past: Margin, rows: IntArray, rungs: FloatArray, speed: FloatArray, tolerance: float, *, sure: bool
) -> IntArray:
    """Set `speed` of the rows that find enough above the first of their rungs; say which those are.

    `sure` takes the first rung as too slow.
    """
    climbed = past(np.repeat(rows, rungs.shape[1]), rungs.ravel()).reshape(rungs.shape)
    if sure:
        climbed[:, 0] = -np.inf
    own = np.flatnonzero((climbed[:, 1:] >= 0).any(axis=1) & (climbed[:, 0] < 0))
    rung = 1 + np.argmax(climbed[own, 1:] >= 0, axis=1)
    enough, short = ((rungs[own, at], climbed[own, at]) for at in (rung, rung - 1))
    for step in _COARSE if sure else ():
        near = refined_edges(past, rows[own], enough, short, tolerance=step)
        beyond, faster = past(rows[own], near), past(rows[own], near + 3.0 * step)
        # A ball that just gets there lands some way off, and a faster one a root of the difference further:
        # at near - step or later it is still at 2 * beyond - faster. Where that is beyond the goal for
        # certain, no closer look finds the goal.
        worth = faster >= 1.7 * beyond
        own, near, beyond = own[worth], near[worth], beyond[worth]
        less = np.maximum(near - 2.0 * step, 0.5 * near)
        enough, short = (near, beyond), (less, past(rows[own], less))
    found = refined_edges(past, rows[own], enough, short, tolerance=tolerance)
    reached = np.abs(past(rows[own], found)) < max(1e-6, 20.0 * tolerance)
    speed[rows[own[reached]]] = found[reached]
    return rows[own[reached]]
