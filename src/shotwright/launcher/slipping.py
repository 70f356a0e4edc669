"""Many balls through wheels and hoods: the compiled equations behind arrays with names."""

from __future__ import annotations

import itertools
import math
import os
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.plain import Result
from shotwright.launcher.compression import Compression

FloatArray = NDArray[np.float64]

TOLERANCE = 1e-6  # of one step, as a share of the fastest surface's speed
_CHUNK = 2000  # balls; below, a thread costs more than it saves
_TABLE = 240  # points of the table of force against squeeze


@dataclass(frozen=True, slots=True)
class Surface:
    """One surface that touches the ball, for n balls at once; numbers stand for all of them.

    Parameters
    ----------
    name : str
        As people call it: ``"wheel"``, ``"hood"``.
    back, side : float or ndarray
        Arms -sin psi and -cos psi times (distance from the ball's centre)/r. [-]
    grip : float or ndarray
        Friction coefficient. [-]
    rim_speed : float or ndarray
        Before the shot; 0 for a hood. [m/s]
    reduced_mass : float or ndarray
        I/R^2; inf for what does not give way. [kg]
    drive : float or ndarray
        Motor's torque over radius while the ball passes. [N]
    normal_force : float or ndarray
        Preload of a surface along the path. [N]
    curve_share : float or ndarray
        Part of m v^2/rho that is added to the preload: -1/2 inside the curve, 1/2 outside. [-]
    wheel_radius, axis_distance : float or ndarray, optional
        Of a wheel that the ball passes on a straight path; its force follows from the squeeze. [m]
    """

    name: str
    back: ArrayLike
    side: ArrayLike
    grip: ArrayLike
    rim_speed: ArrayLike = 0.0
    reduced_mass: ArrayLike = math.inf
    drive: ArrayLike = 0.0
    normal_force: ArrayLike = 0.0
    curve_share: ArrayLike = 0.0
    wheel_radius: ArrayLike | None = None
    axis_distance: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class Passage:
    """Balls as they enter, and their path, for n balls at once; numbers stand for all of them.

    Parameters
    ----------
    mass, radius, inertia_factor : float or ndarray
        [kg], [m], [-]
    speed : float or ndarray
        On entry. [m/s]
    start, end : float or ndarray
        Path of the centre; 0 is level with the axes of wheels that the ball passes. [m]
    path_radius : float or ndarray
        rho of a curved path; inf for a straight one. [m]
    entry_length, entry_power : float or ndarray
        The preload rises as (s/length)^power. [m], [-]
    drag : float or ndarray
        Resistance of the squeezed ball to rolling. [N]
    backspin, sidespin : float or ndarray
        Surface speeds of spin on entry. [m/s]
    """

    mass: ArrayLike
    radius: ArrayLike
    inertia_factor: ArrayLike
    speed: ArrayLike
    start: ArrayLike
    end: ArrayLike
    path_radius: ArrayLike = math.inf
    entry_length: ArrayLike = 0.0
    entry_power: ArrayLike = 1.5
    drag: ArrayLike = 0.0
    backspin: ArrayLike = 0.0
    sidespin: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class SlipRun(Result):
    """How n balls left k surfaces.

    Parameters
    ----------
    speed, backspin, sidespin : ndarray, shape (n,)
        Of the centre; surface speeds r omega. [m/s]
    rim_speeds, heats, slips : ndarray, shape (n, k)
        Afterwards [m/s]; turned to heat [J]; left at the end, 0 where it grips [m/s].
    grip_place, grip_time : ndarray, shape (n, k)
        Where and when the last grip began, from the start; -1 where there was none. [m], [s]
    motor_work, squeeze_loss : ndarray, shape (n,)
        [J]
    time, place : ndarray, shape (n,)
        At the end. [s], [m]
    left, stuck, lifted : ndarray of bool, shape (n,)
        Whether the ball came out; came to rest inside; lost touch with a surface on the way.
    """

    speed: FloatArray
    backspin: FloatArray
    sidespin: FloatArray
    rim_speeds: FloatArray
    heats: FloatArray
    slips: FloatArray
    grip_place: FloatArray
    grip_time: FloatArray
    motor_work: FloatArray
    squeeze_loss: FloatArray
    time: FloatArray
    place: FloatArray
    left: NDArray[np.bool_]
    stuck: NDArray[np.bool_]
    lifted: NDArray[np.bool_]


def run(
    passage: Passage,
    surfaces: Sequence[Surface],
    compression: Compression | None = None,
    *,
    peak_squeeze: float = 0.0,
    tolerance: float = TOLERANCE,
) -> SlipRun:
    """Send balls through wheels and hoods and follow slip and grip until they leave.

    m v' = sum(F cos b + N sin b) - drag; alpha m w' = sum(arm F); M u' = drive - F. A contact that slips has
    F = mu N towards its slip; one that grips has the F that keeps it so, up to mu N. After each change it is
    asked anew, of all contacts without slip together, which of them grip.

    Parameters
    ----------
    passage : Passage
        Balls and path.
    surfaces : sequence of Surface
        What touches them.
    compression : Compression, optional
        Law for wheels that the ball passes; each side takes half of a squeeze.
    peak_squeeze : float
        Typical largest squeeze of both sides, from which the way back of a measured law starts. [m]
    tolerance : float
        Allowed error of one step, as a share of the fastest surface's speed; forces that stay constant
        between changes are followed exactly, whatever it is. [-]

    Returns
    -------
    SlipRun
        One row for each ball.

    Notes
    -----
    Gravity, air and the bending of the wheels are left out, and the ball is guided: it does not move aside.
    """
    from shotwright.launcher import slip_kernel as kernel

    balls, contacts = _rows(passage, surfaces)
    load, free = _tables(compression, peak_squeeze)
    _hertz(contacts, compression)
    follow = kernel.follower()
    n, k = contacts.shape[:2]
    edges = [0, n]
    if n > _CHUNK:
        edges = np.linspace(0, n, 1 + 4 * max(1, n // (4 * _CHUNK))).astype(int).tolist()

    def chunk(ends: tuple[int, int]) -> FloatArray:
        return follow(balls[slice(*ends)], contacts[slice(*ends)], load, free, tolerance)

    if len(edges) == 2:
        out = chunk((0, n))
    else:
        with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
            out = np.concatenate(list(pool.map(chunk, itertools.pairwise(edges))))
    each = out[:, kernel.OUT_WIDTH :].reshape(n, kernel.OUT_EACH, k)
    state = out[:, kernel.OUT_STATE]
    return SlipRun(
        speed=out[:, kernel.OUT_SPEED],
        backspin=out[:, kernel.OUT_BACK],
        sidespin=out[:, kernel.OUT_SIDE],
        rim_speeds=each[:, 0],
        heats=each[:, 1],
        slips=each[:, 2],
        grip_place=each[:, 3],
        grip_time=each[:, 4],
        motor_work=out[:, kernel.OUT_MOTOR],
        squeeze_loss=out[:, kernel.OUT_SQUEEZE],
        time=out[:, kernel.OUT_TIME],
        place=out[:, kernel.OUT_PLACE],
        left=state == kernel.LEFT,
        stuck=state != kernel.LEFT,
        lifted=out[:, kernel.OUT_LIFTED] > 0,
    )


def _rows(passage: Passage, surfaces: Sequence[Surface]) -> tuple[FloatArray, FloatArray]:
    from shotwright.launcher import slip_forces as at

    ball: Mapping[int, ArrayLike] = {
        at.MASS: passage.mass,
        at.RADIUS: passage.radius,
        at.ALPHA: passage.inertia_factor,
        at.SPEED: passage.speed,
        at.BACK: passage.backspin,
        at.SIDE: passage.sidespin,
        at.START: passage.start,
        at.END: passage.end,
        at.CURVE: passage.path_radius,
        at.RAMP: passage.entry_length,
        at.POWER: passage.entry_power,
        at.DRAG: passage.drag,
    }
    columns = [
        {
            at.PASSING: 0.0 if one.wheel_radius is None else 1.0,
            at.ARM_BACK: one.back,
            at.ARM_SIDE: one.side,
            at.RIM: one.rim_speed,
            at.INVERSE: 1.0 / np.asarray(one.reduced_mass, float),
            at.GRIP: one.grip,
            at.FORCE: one.normal_force,
            at.SHARE: one.curve_share,
            at.DRIVE: one.drive,
            at.WHEEL: 0.0 if one.wheel_radius is None else one.wheel_radius,
            at.AXIS: one.axis_distance,
        }
        for one in surfaces
    ]
    every = [*ball.values(), *(value for column in columns for value in column.values())]
    n = max(np.size(value) for value in every)
    balls = np.empty((n, at.BALL_WIDTH))
    contacts = np.empty((n, len(surfaces), at.CONTACT_WIDTH))
    for column, value in ball.items():
        balls[:, column] = value
    for i, named in enumerate(columns):
        for column, value in named.items():
            contacts[:, i, column] = value
    return balls, contacts


def _hertz(contacts: FloatArray, compression: Compression | None) -> None:
    """Give passing wheels the stiffness of one side, when the law is Hertz's."""
    from shotwright.launcher import slip_forces as at
    from shotwright.launcher.compression import Hertz

    passing = contacts[:, :, at.PASSING] > 0
    if isinstance(compression, Hertz):
        contacts[:, :, at.FORCE][passing] = compression.stiffness * 2**1.5
        contacts[:, :, at.SHARE][passing] = 1 - compression.loss


def _tables(compression: Compression | None, peak: float) -> tuple[FloatArray, FloatArray]:
    """Tables of one side's force against its own squeeze, closing and opening, for the compiled equations."""
    from shotwright.launcher.compression import Hertz

    if compression is None or isinstance(compression, Hertz):
        nothing = np.zeros((3, 2))
        nothing[0, 0] = 1.0
        return nothing, nothing
    reach = max(compression.reach, peak, 1e-6)
    squeeze = np.linspace(0.0, reach, _TABLE)
    peak = peak if peak > 0 else compression.reach
    return tuple(  # type: ignore[return-value]  # two of them
        np.vstack([[squeeze[1] / 2, 0.0], np.column_stack([force, np.gradient(force, squeeze / 2)])])
        for force in (compression.force(squeeze), compression.force_back(squeeze, peak))
    )
