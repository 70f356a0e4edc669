"""Flights to a plane, to the floor, and as a curve."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight import path
from shotwright.flight.dop853 import advance
from shotwright.flight.model import FlightModel
from shotwright.flight.motion import Body, Rate, State, acceleration
from shotwright.flight.obstacles import pack_obstacles
from shotwright.flight.snap import snaps
from shotwright.flight.step_curve import Plane
from shotwright.game.records import Obstacle

FloatArray = NDArray[np.float64]

NO_FLOOR = -math.inf
_FEW = 12  # flights that the plain equations fly sooner than the compiled ones are loaded


class Status(IntEnum):
    """How a flight ended."""

    CROSSED = path.CROSSED
    FLOOR = path.FLOOR
    OBSTACLE = path.OBSTACLE
    TIMED_OUT = path.TIMED_OUT


@dataclass(frozen=True, slots=True)
class Crossings(Result):
    """Where flights ended, one row for each.

    Parameters
    ----------
    status : ndarray of uint8, shape (n,)
        `Status` of each flight; everything else belongs to that end.
    time : ndarray, shape (n,)
        Since release. [s]
    position : ndarray, shape (n, 3)
        Of the ball's centre. [m]
    velocity : ndarray, shape (n, 3)
        [m/s]
    acceleration : ndarray, shape (n, 3)
        [m/s^2]
    jerk : ndarray, shape (n, 3)
        Rate of the acceleration. [m/s^3]
    apex_height : ndarray, shape (n,)
        Greatest height of the ball's centre from release to the end. [m]
    apex_time : ndarray, shape (n,)
        When. [s]
    clearance : ndarray, shape (n,)
        Least distance of the ball's surface from any obstacle up to the end; inf without obstacles. [m]
    snap : ndarray, shape (n, 3) or (0, 3)
        Rate of the jerk, where it was asked for; no rows where it was not. [m/s^4]
    """

    status: NDArray[np.uint8]
    time: FloatArray
    position: FloatArray
    velocity: FloatArray
    acceleration: FloatArray
    jerk: FloatArray
    apex_height: FloatArray
    apex_time: FloatArray
    clearance: FloatArray
    snap: FloatArray = field(default_factory=lambda: np.empty((0, 3)))

    def first(self, count: int) -> Crossings:
        """Return the first `count` flights."""
        return Crossings(**{one.name: getattr(self, one.name)[:count] for one in fields(self)})

    @property
    def crossed(self) -> NDArray[np.bool_]:
        """Which flights crossed the plane from its front."""
        return np.asarray(self.status == Status.CROSSED)


def fly_to_plane(
    model: FlightModel,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    plane_point: ArrayLike,
    plane_normal: ArrayLike,
    *,
    obstacles: Sequence[Obstacle] = (),
    floor: float | None = None,
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
    time_limit: float = 10.0,
    tolerance: float = path.TOLERANCE,
    snap: bool = False,
    plain: bool | None = None,
) -> Crossings:
    """Fly to the first crossing of a plane from its front.

    The front is where the normal points: n . (x - p) falls from > 0 to <= 0. A ball that starts behind the
    plane passes it from behind first, and that does not count.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    position : array_like, shape (3,) or (n, 3)
        Release point of the ball's centre. [m]
    velocity : array_like, shape (3,) or (n, 3)
        [m/s]
    spin : array_like, shape (3,) or (n, 3)
        Spin vector; see :func:`shotwright.flight.model.launch_vectors`. [rad/s]
    plane_point, plane_normal : array_like, shape (3,)
        A point of the plane [m] and its normal, of any length [-].
    obstacles : sequence of Obstacle
        Solids that end the flight when the ball's surface touches them.
    floor : float, optional
        Height of the ball's centre that ends the flight; None: its radius, which is a floor at z = 0;
        `NO_FLOOR`: none. [m]
    mass, diameter : array_like, shape (n,), optional
        Of each ball; drag, radius, buoyancy and spin decay follow. [kg], [m]
    time_limit : float
        [s]
    tolerance : float
        Allowed estimate of the velocity's error in one step. [m/s]
    snap : bool
        Whether to find the snap as well.
    plain : bool, optional
        Whether to fly by the plain equations, which load no compiler and suit a few hundred flights, or by
        the compiled ones; None: plain up to a dozen flights. The two agree to 1e-9 m, not to the last bit.

    Returns
    -------
    Crossings
        One row for each flight.

    Raises
    ------
    BadInput
        A number that is not finite, shapes that don't fit, a mass or diameter that is not positive.

    Notes
    -----
    The crossing point is good to 1e-8 m times |v|/|v_n|, v_n the velocity across the plane; see
    `docs/flight.md` for the tests that show it.
    """
    normal = np.asarray(plane_normal, dtype=float)
    point = np.asarray(plane_point, dtype=float)
    length = float(np.linalg.norm(normal))
    finite = np.isfinite(point).all() and math.isfinite(length)
    if normal.shape != (3,) or point.shape != (3,) or not (length > 0 and finite):
        raise BadInput(
            "a plane needs a point and a normal of three finite numbers, not all zero", field="plane"
        )
    _check_limits(floor, time_limit, tolerance)
    unit = normal / length
    plane = Plane(float(unit[0]), float(unit[1]), float(unit[2]), float(unit @ point))
    starts, bodies = _rows(model, position, velocity, spin, mass, diameter)
    floors = bodies[:, 1].copy() if floor is None else np.full(len(starts), float(floor))
    solids = pack_obstacles(obstacles)
    if plain is None:
        plain = len(starts) <= _FEW
    fly = _fly_plainly if plain else _fly_compiled
    status, values = fly(model, starts, bodies, plane, floors, solids, time_limit, tolerance)
    return Crossings(
        status=status,
        time=values[:, 0],
        position=values[:, 1:4],
        velocity=values[:, 4:7],
        acceleration=values[:, 7:10],
        jerk=values[:, 10:13],
        apex_height=values[:, 13],
        apex_time=values[:, 14],
        clearance=values[:, 15],
        snap=snaps(model, starts, bodies, values, plain=plain) if snap else np.empty((0, 3)),
    )


def fly_to_floor(
    model: FlightModel,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    *,
    floor: float | None = None,
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
    obstacles: Sequence[Obstacle] = (),
    time_limit: float = 10.0,
    tolerance: float = path.TOLERANCE,
    plain: bool | None = None,
) -> Crossings:
    """Fly until the ball touches the floor; flights that do have `Status.FLOOR`.

    Parameters
    ----------
    model, position, velocity, spin
        As in :func:`fly_to_plane`.
    floor, mass, diameter, obstacles, time_limit, tolerance, plain
        As in :func:`fly_to_plane`.

    Returns
    -------
    Crossings
        One row for each flight.

    Raises
    ------
    BadInput
        As in :func:`fly_to_plane`.
    """
    # a plane under the sky that no flight reaches from above before it meets the floor
    return fly_to_plane(
        model,
        position,
        velocity,
        spin,
        (0.0, 0.0, -1e9),
        (0.0, 0.0, 1.0),
        obstacles=obstacles,
        floor=floor,
        mass=mass,
        diameter=diameter,
        time_limit=time_limit,
        tolerance=tolerance,
        plain=plain,
    )


def trace(
    model: FlightModel, position: ArrayLike, velocity: ArrayLike, spin: ArrayLike, times: ArrayLike
) -> FloatArray:
    """Path of one flight, for drawings; it meets neither floor nor plane.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    position, velocity, spin : array_like, shape (3,)
        As in :func:`fly_to_plane`. [m], [m/s], [rad/s]
    times : array_like, shape (k,)
        Times since release, not falling. [s]

    Returns
    -------
    ndarray, shape (k, 3)
        Places of the ball's centre. [m]

    Raises
    ------
    BadInput
        Times that fall or are not finite; otherwise as in :func:`fly_to_plane`.
    """
    at = np.atleast_1d(np.asarray(times, dtype=float))
    if not np.isfinite(at).all() or (np.diff(at, prepend=0.0) < 0).any():
        raise BadInput("times along a flight must be finite, start at 0 or later and not fall", field="times")
    starts, bodies = _rows(model, position, velocity, spin, None, None)
    if len(starts) != 1:
        raise BadInput(f"a path belongs to one flight, not to {len(starts)}", field="velocity")
    state, body = _state(starts[0]), Body(*bodies[0].tolist())
    rate = acceleration(*state[3:], body, model.drag, model.lift)
    now, places = 0.0, []
    for time in at.tolist():
        state, rate = _onward(state, rate, time - now, body, model)
        now = time
        places.append(state[:3])
    return np.array(places, dtype=float).reshape(-1, 3)


def _state(row: FloatArray) -> State:
    px, py, pz, ux, uy, uz, w = row.tolist()
    return px, py, pz, ux, uy, uz, w


def _onward(state: State, rate: Rate, span: float, body: Body, model: FlightModel) -> tuple[State, Rate]:
    """Advance by `span` in as many steps as the tolerance asks for."""
    h = min(span, path.first_step(state, rate))
    while span > 0.0:
        h = min(h, span, path.longest_step(state, rate))
        end, error = advance(state, rate, h, body, model.drag, model.lift)
        grown = path.next_step(h, error, path.TOLERANCE)
        if error <= path.TOLERANCE or h < 1e-6:
            span = span - h if h < span else 0.0
            state, rate = end, acceleration(*end[3:], body, model.drag, model.lift)
        h = grown
    return state, rate


def _fly_compiled(
    model: FlightModel,
    starts: FloatArray,
    bodies: FloatArray,
    plane: Plane,
    floors: FloatArray,
    solids: Sequence[float],
    time_limit: float,
    tolerance: float,
) -> tuple[NDArray[np.uint8], FloatArray]:
    from shotwright.flight.kernel import fly_many  # loads the compiler

    return fly_many(starts, bodies, model.drag, model.lift, plane, floors, solids, time_limit, tolerance)


def _fly_plainly(
    model: FlightModel,
    starts: FloatArray,
    bodies: FloatArray,
    plane: Plane,
    floors: FloatArray,
    solids: Sequence[float],
    time_limit: float,
    tolerance: float,
) -> tuple[NDArray[np.uint8], FloatArray]:
    status, values = np.empty(len(starts), np.uint8), np.empty((len(starts), path.WIDTH))
    for i, (start, body, floor) in enumerate(zip(starts, bodies, floors.tolist(), strict=True)):
        status[i], values[i] = path.fly(
            _state(start),
            Body(*body.tolist()),
            model.drag,
            model.lift,
            plane,
            floor,
            solids,
            time_limit,
            tolerance,
        )
    return status, values


def _rows(
    model: FlightModel,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    mass: ArrayLike | None,
    diameter: ArrayLike | None,
) -> tuple[FloatArray, FloatArray]:
    """Pack releases and balls: (n, 7) of `State` and (n, 11) of `Body`."""
    place, v, w = (
        _triples(one, name) for one, name in ((position, "position"), (velocity, "velocity"), (spin, "spin"))
    )
    m = _positive(model.ball.mass if mass is None else mass, "mass", "kg")
    d = _positive(model.ball.diameter if diameter is None else diameter, "diameter", "m")
    lengths = {len(one) for one in (place, v, w, m, d) if len(one) != 1} or {1}
    if len(lengths) > 1:
        raise BadInput(
            f"{sorted(lengths)} rows do not fit together; each input has one row or one per flight",
            field="velocity",
        )
    n = lengths.pop()
    magnitude = np.linalg.norm(w, axis=1)
    starts = np.empty((n, 7))
    starts[:, 0:3] = place
    starts[:, 3:6] = v - np.asarray(model.wind)
    starts[:, 6] = magnitude
    area, volume = math.pi / 4 * d**2, math.pi / 6 * d**3
    floating = model.density * volume / m if model.buoyancy else 0.0
    bodies = np.empty((n, 11))
    bodies[:, 0] = model.density * area / (2 * m)
    bodies[:, 1] = d / 2
    bodies[:, 2] = model.gravity * (1.0 - floating)
    bodies[:, 3] = model.ball.spin_decay * model.density * area / (2 * model.ball.inertia_factor * m)
    bodies[:, 4] = model.density * d / model.viscosity
    bodies[:, 5:8] = w / np.where(magnitude > 0, magnitude, 1.0)[:, None]
    bodies[:, 8:11] = model.wind
    return starts, bodies


def _check_limits(floor: float | None, time_limit: float, tolerance: float) -> None:
    if floor is not None and (math.isnan(floor) or floor == math.inf):
        raise BadInput(f"{floor} is not a height of the floor", field="floor")
    if not (time_limit >= 0 and math.isfinite(time_limit)):
        raise BadInput(f"{time_limit} s is not a time limit; it must be 0 or more", field="time limit")
    if not (tolerance > 0 and math.isfinite(tolerance)):
        raise BadInput(f"{tolerance} m/s is not a tolerance; it must be greater than zero", field="tolerance")


def _triples(values: ArrayLike, name: str) -> FloatArray:
    rows = np.atleast_2d(np.asarray(values, dtype=float))
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise BadInput(f"shape {np.shape(values)} is not (3,) or (n, 3)", field=name)
    bad = ~np.isfinite(rows).all(axis=1)
    if bad.any():
        raise BadInput(
            f"row {int(np.argmax(bad))} is {rows[np.argmax(bad)].tolist()}, not finite", field=name
        )
    return rows


def _positive(values: ArrayLike, name: str, unit: str) -> FloatArray:
    row = np.atleast_1d(np.asarray(values, dtype=float))
    good = np.isfinite(row) & (row > 0)
    if row.ndim != 1 or not good.all():
        shown = row.ravel()[np.argmin(good.ravel())]
        raise BadInput(
            f"{shown:g} {unit} is not a {name}; it must be greater than zero", field=f"ball.{name}"
        )
    return row
