"""Flights that bounce: off the floor, a rim, a board, obstacles, until they score or come to an end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight import follow as course
from shotwright.flight.contact_shapes import pack_goal, pack_shapes
from shotwright.flight.follow import END_WIDTH, LOG_WIDTH, follow
from shotwright.flight.launches import launch_arrays, state_rows
from shotwright.flight.model import FlightModel
from shotwright.flight.motion import Body
from shotwright.flight.path import TOLERANCE
from shotwright.game.records import Obstacle, Surface, Target

FloatArray = NDArray[np.float64]

MOST_BOUNCES = 50
_FEW = 12  # flights that the plain equations follow sooner than the compiled ones are loaded


class Ending(IntEnum):
    """How a flight with bounces ended."""

    SCORED = course.SCORED
    MISSED = course.MISSED
    STOPPED = course.STOPPED
    NO_BOUNCES_LEFT = course.NO_BOUNCES_LEFT
    STAYS = course.STAYS
    TIMED_OUT = course.TIMED_OUT


@dataclass(frozen=True, slots=True)
class Rebounds(Result):
    """Where flights with bounces ended, one row for each.

    Parameters
    ----------
    ending : ndarray of uint8, shape (n,)
        `Ending` of each flight.
    bounces : ndarray of int, shape (n,)
        Bounces up to there.
    time : ndarray, shape (n,)
        Since release. [s]
    position, velocity, spin : ndarray, shape (n, 3)
        Of the ball at the end. [m], [m/s], [rad/s]
    """

    ending: NDArray[np.uint8]
    bounces: NDArray[np.int64]
    time: FloatArray
    position: FloatArray
    velocity: FloatArray
    spin: FloatArray

    def scored(self, bounces: int | None = None) -> NDArray[np.bool_]:
        """Return which balls scored with at most so many bounces (None: any), shape (n,)."""
        found = self.ending == Ending.SCORED
        return np.asarray(found if bounces is None else found & (self.bounces <= bounces))


@dataclass(frozen=True, slots=True)
class Bounce(Result):
    """One bounce of one flight.

    Parameters
    ----------
    off : str
        What the ball bounced off.
    time : float
        Since release. [s]
    position, normal : ndarray, shape (3,)
        Of the ball's centre [m]; out of the surface [-].
    velocity_before, velocity_after : ndarray, shape (3,)
        [m/s]
    spin_before, spin_after : ndarray, shape (3,)
        [rad/s]
    slid : bool
        False: the ball gripped.
    """

    off: str
    time: float
    position: FloatArray
    normal: FloatArray
    velocity_before: FloatArray
    velocity_after: FloatArray
    spin_before: FloatArray
    spin_after: FloatArray
    slid: bool


@dataclass(frozen=True, slots=True)
class Rebound(Result):
    """One flight with its bounces.

    Parameters
    ----------
    ending : Ending
        How it ended.
    touched : str
        What it touched last, where that ended it; empty otherwise.
    bounces : tuple of Bounce
        In their order.
    time : float
        Of the end, since release. [s]
    position, velocity, spin : ndarray, shape (3,)
        At the end. [m], [m/s], [rad/s]
    """

    ending: Ending
    touched: str
    bounces: tuple[Bounce, ...]
    time: float
    position: FloatArray
    velocity: FloatArray
    spin: FloatArray


def follow_bounces(
    model: FlightModel,
    target: Target | None,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    *,
    bounces: int,
    obstacles: Sequence[Obstacle] = (),
    floor: Surface | None = None,
    mass: ArrayLike | None = None,
    diameter: ArrayLike | None = None,
    time_limit: float = 20.0,
    tolerance: float = TOLERANCE,
) -> Rebounds:
    """Follow flights through their bounces.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    target : Target, optional
        The opening with its rim and board; None: flights end only by what they touch.
    position, velocity, spin : array_like, shape (3,) or (n, 3)
        At release. [m], [m/s], [rad/s]
    bounces : int
        Most bounces; the touch after them ends a flight.
    obstacles : sequence of Obstacle
        Solids; one without a surface stops a ball.
    floor : Surface, optional
        How a ball bounces off the floor at z = 0; None: the floor stops it.
    mass, diameter : array_like, shape (n,), optional
        Of each ball. [kg], [m]
    time_limit : float
        [s]
    tolerance : float
        Allowed estimate of the velocity's error in one step. [m/s]

    Returns
    -------
    Rebounds
        One row for each flight.

    Raises
    ------
    BadInput
        Bounces outside 0 to 50, a surface outside its range, numbers that are not finite.

    Notes
    -----
    With 0 bounces a ball scores as `opening.passes` says. Impacts take no time; rolling is not followed; the
    corners of piecewise drag and lift laws are met by shorter steps alone.
    """
    starts, bodies = state_rows(model, launch_arrays(model, position, velocity, spin, mass, diameter))
    alpha = model.ball.inertia_factor
    shapes, _ = pack_shapes(target, obstacles, floor, alpha)
    goal = pack_goal(target) if target is not None else ()
    _check(bounces, time_limit, tolerance)
    n = len(starts)
    ending, count, ends = np.zeros(n, np.uint8), np.zeros(n, np.int64), np.empty((n, END_WIDTH))
    rest = (alpha, bounces, time_limit, tolerance)
    if n > _FEW:
        from shotwright.flight.follow_many import follow_many

        follow_many(starts, bodies, (model.drag, model.lift), (goal, shapes), rest, (ending, count, ends))
    else:
        log = np.empty((bounces, LOG_WIDTH))
        for i in range(n):
            ending[i], count[i], _, ends[i] = _one(starts[i], bodies[i], model, goal, shapes, rest, log)
    return Rebounds(ending, count, ends[:, 0], ends[:, 1:4], ends[:, 4:7], ends[:, 7:10])


def follow_one(
    model: FlightModel,
    target: Target | None,
    position: ArrayLike,
    velocity: ArrayLike,
    spin: ArrayLike,
    *,
    bounces: int,
    obstacles: Sequence[Obstacle] = (),
    floor: Surface | None = None,
    floor_height: float = 0.0,
    time_limit: float = 20.0,
) -> Rebound:
    """Follow one flight and tell each of its bounces.

    Parameters
    ----------
    model, target, position, velocity, spin, bounces, obstacles, floor, time_limit
        As in :func:`follow_bounces`, for one flight. [m], [m/s], [rad/s], [s]
    floor_height : float
        Of the floor. [m]

    Returns
    -------
    Rebound
        Its end and its bounces.

    Raises
    ------
    BadInput
        As in :func:`follow_bounces`.
    """
    starts, bodies = state_rows(model, launch_arrays(model, position, velocity, spin))
    if len(starts) != 1:
        raise BadInput(f"bounces are told of one flight, not of {len(starts)}", field="velocity")
    alpha = model.ball.inertia_factor
    shapes, names = pack_shapes(target, obstacles, floor, alpha, floor_height=floor_height)
    goal = pack_goal(target) if target is not None else ()
    _check(bounces, time_limit, TOLERANCE)
    log = np.empty((bounces, LOG_WIDTH))
    rest = (alpha, bounces, time_limit, TOLERANCE)
    ending, count, touched, end = _one(starts[0], bodies[0], model, goal, shapes, rest, log)
    told = tuple(
        Bounce(
            off=names[int(row[20])],
            time=float(row[0]),
            position=row[1:4],
            normal=row[4:7],
            velocity_before=row[7:10],
            spin_before=row[10:13],
            velocity_after=row[13:16],
            spin_after=row[16:19],
            slid=bool(row[19]),
        )
        for row in log[:count]
    )
    values = np.array(end)
    return Rebound(
        ending=Ending(ending),
        touched=names.get(touched, ""),
        bounces=told,
        time=float(values[0]),
        position=values[1:4],
        velocity=values[4:7],
        spin=values[7:10],
    )


def _check(bounces: int, time_limit: float, tolerance: float) -> None:
    if not 0 <= bounces <= MOST_BOUNCES:
        raise BadInput(f"{bounces} bounces are not followed; 0 to {MOST_BOUNCES} are", field="bounces")
    if not (time_limit >= 0 and math.isfinite(time_limit)):
        raise BadInput(f"{time_limit} s is not a time limit; it must be 0 or more", field="time limit")
    if not (tolerance > 0 and math.isfinite(tolerance)):
        raise BadInput(f"{tolerance} m/s is not a tolerance; it must be greater than zero", field="tolerance")


def _one(
    start: FloatArray,
    body: FloatArray,
    model: FlightModel,
    goal: tuple[float, ...],
    shapes: tuple[float, ...],
    rest: tuple[float, int, float, float],
    log: FloatArray,
) -> tuple[int, int, int, tuple[float, ...]]:
    px, py, pz, ux, uy, uz, w = start.tolist()
    state = (px, py, pz, ux, uy, uz, w)
    return follow(state, Body(*body.tolist()), model.drag, model.lift, goal, shapes, *rest, log)
