"""Flights to a plane, to the floor, and as a curve."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight import path
from shotwright.flight.dop853 import advance
from shotwright.flight.lanes.kinds import STEPS, LaneLaws, lane_laws
from shotwright.flight.launches import LaunchArrays, launch_arrays, state_rows
from shotwright.flight.model import FlightModel
from shotwright.flight.motion import Body, Rate, State, acceleration
from shotwright.flight.obstacles import pack_obstacles
from shotwright.flight.snap import snaps
from shotwright.flight.step_curve import Plane
from shotwright.game.records import Obstacle

FloatArray = NDArray[np.float64]

NO_FLOOR = -math.inf
COARSE, FINE = 1e-6, 1e-9  # accuracies, m
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

    def some(self, rows: NDArray[np.intp]) -> Crossings:
        """Return the chosen flights only."""
        columns = {one.name: getattr(self, one.name) for one in fields(self)}
        return Crossings(**{name: value[rows] if len(value) else value for name, value in columns.items()})

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
    accuracy: float = FINE,
    tolerance: float | None = None,
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
    accuracy : float
        Of the crossing point, times |v|/|v_n|: `COARSE` or `FINE`. [m]
    tolerance : float, optional
        Allowed estimate of the velocity's error in one step, for flights that shall be more exact still;
        each is then flown by itself, some ten times slower. [m/s]
    snap : bool
        Whether to find the snap as well.
    plain : bool, optional
        Whether to fly by the plain equations, which load no compiler and suit a few hundred flights, or by
        the compiled ones; None: plain up to a dozen flights. The two agree to `accuracy`.

    Returns
    -------
    Crossings
        One row for each flight.

    Raises
    ------
    BadInput
        A number that is not finite, shapes that don't fit, a mass or diameter that is not positive, an
        accuracy that is not offered.

    Notes
    -----
    v_n is the velocity across the plane. Many flights at once fly in lanes, with steps that are set
    beforehand; what is too delicate for that is flown by itself. See `docs/flight.md` for the tests.
    """
    normal = np.asarray(plane_normal, dtype=float)
    point = np.asarray(plane_point, dtype=float)
    length = float(np.linalg.norm(normal))
    finite = np.isfinite(point).all() and math.isfinite(length)
    if normal.shape != (3,) or point.shape != (3,) or not (length > 0 and finite):
        raise BadInput(
            "a plane needs a point and a normal of three finite numbers, not all zero", field="plane"
        )
    _check_limits(floor, time_limit, accuracy, tolerance)
    unit = normal / length
    plane = Plane(float(unit[0]), float(unit[1]), float(unit[2]), float(unit @ point))
    launches = launch_arrays(model, position, velocity, spin, mass, diameter)
    if plain is None:
        plain = launches.flights() <= _FEW
    laws = None if plain or obstacles or tolerance is not None else lane_laws(model.drag, model.lift)
    if tolerance is None:
        tolerance = path.TOLERANCE if accuracy >= path.TOLERANCE else accuracy
    rules = _Rules(model, plane, floor, pack_obstacles(obstacles), time_limit, tolerance)
    if laws is None:
        status, values = rules.fly_alone(launches, plain=plain)
    else:
        status, values = rules.fly_together(launches, laws, accuracy)
    return Crossings(
        status=status,
        time=values[:, 0],
        position=values[:, 1:4],
        velocity=values[:, 4:7],
        acceleration=values[:, 7:10],
        jerk=values[:, 10:13],
        apex_height=values[:, 13],
        apex_time=values[:, 14],
        clearance=values[:, 15] if laws is None else np.broadcast_to(math.inf, len(values)),
        snap=snaps(model, *state_rows(model, launches), values, plain=plain) if snap else np.empty((0, 3)),
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
    accuracy: float = FINE,
    tolerance: float | None = None,
    plain: bool | None = None,
) -> Crossings:
    """Fly until the ball touches the floor; flights that do have `Status.FLOOR`.

    Parameters
    ----------
    model, position, velocity, spin
        As in :func:`fly_to_plane`.
    floor, mass, diameter, obstacles, time_limit, accuracy, tolerance, plain
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
        accuracy=accuracy,
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
    starts, bodies = state_rows(model, launch_arrays(model, position, velocity, spin))
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


class _Rules(NamedTuple):
    """What is the same for all flights of a call."""

    model: FlightModel
    plane: Plane
    floor: float | None
    solids: tuple[float, ...]
    time_limit: float
    tolerance: float

    def fly_together(
        self, launches: LaunchArrays, laws: LaneLaws, accuracy: float
    ) -> tuple[NDArray[np.uint8], FloatArray]:
        """Fly in lanes, and alone what the lanes leave."""
        from shotwright.flight.lanes.fly import fly_in_lanes  # loads the compiler

        status, values = fly_in_lanes(
            self.model, laws, launches, self.plane, self.floor, self.time_limit, accuracy
        )
        left = np.flatnonzero(status == 0)
        if len(left):
            status[left], found = self.fly_alone(launches.some(left), plain=False)
            values[left] = found[:, : values.shape[1]]
        return status, values

    def fly_alone(self, launches: LaunchArrays, *, plain: bool) -> tuple[NDArray[np.uint8], FloatArray]:
        """Fly each ball with its own steps, by the plain equations or the compiled ones."""
        starts, bodies = state_rows(self.model, launches)
        floors = bodies[:, 1].copy() if self.floor is None else np.full(len(starts), float(self.floor))
        drag, lift = self.model.drag, self.model.lift
        solids, limit, tolerance = self.solids, self.time_limit, self.tolerance
        if not plain:
            from shotwright.flight.kernel import fly_many  # loads the compiler

            return fly_many(starts, bodies, drag, lift, self.plane, floors, solids, limit, tolerance)
        status, values = np.empty(len(starts), np.uint8), np.empty((len(starts), path.WIDTH))
        for i, (start, body, floor) in enumerate(zip(starts, bodies, floors.tolist(), strict=True)):
            status[i], values[i] = path.fly(
                _state(start), Body(*body.tolist()), drag, lift, self.plane, floor, solids, limit, tolerance
            )
        return status, values


def _check_limits(floor: float | None, time_limit: float, accuracy: float, tolerance: float | None) -> None:
    if floor is not None and (math.isnan(floor) or floor == math.inf):
        raise BadInput(f"{floor} is not a height of the floor", field="floor")
    if not (time_limit >= 0 and math.isfinite(time_limit)):
        raise BadInput(f"{time_limit} s is not a time limit; it must be 0 or more", field="time limit")
    if accuracy not in STEPS:
        offered = " or ".join(f"{one:g} m" for one in STEPS)
        raise BadInput(f"{accuracy:g} m is not offered; take {offered}", field="accuracy")
    if tolerance is not None and not (tolerance > 0 and math.isfinite(tolerance)):
        raise BadInput(f"{tolerance} m/s is not a tolerance; it must be greater than zero", field="tolerance")
