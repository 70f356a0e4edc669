"""The rate of the jerk at the end of flights, from the equations of motion."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.laws import PackedLaw
from shotwright.flight.model import FlightModel
from shotwright.flight.motion import Body, Rate, acceleration

FloatArray = NDArray[np.float64]

_STEP = 1e-3  # s: truncation and rounding are both below 1e-6 of the snap of a ball in air
_AGREES = 0.03  # of the jerk: a difference that is farther off has a corner of a law between its points


def snap_of(
    velocity: Rate, spin: float, pull: Rate, jerk: Rate, body: Body, drag: PackedLaw, lift: PackedLaw
) -> tuple[float, float, float]:
    """Rate of the jerk along the flight, by a second difference of the equations of motion.

    Parameters
    ----------
    velocity, pull, jerk : tuple of float
        Velocity relative to the air [m/s], acceleration [m/s^2] and jerk [m/s^3]; the fourth number of each
        is not used.
    spin : float
        Magnitude. [rad/s]
    body : Body
        The ball in this air.
    drag, lift : PackedLaw
        Its coefficients.

    Returns
    -------
    tuple of float
        Snap; zero where a law has a corner within a millisecond. [m/s^4]
    """
    e, f = _STEP, 0.5 * _STEP * _STEP
    speed = math.sqrt(velocity[0] ** 2 + velocity[1] ** 2 + velocity[2] ** 2)
    turn = e * body.decay * speed * spin
    x = acceleration(
        velocity[0] + e * pull[0] + f * jerk[0],
        velocity[1] + e * pull[1] + f * jerk[1],
        velocity[2] + e * pull[2] + f * jerk[2],
        spin - turn,
        body,
        drag,
        lift,
    )
    y = acceleration(velocity[0], velocity[1], velocity[2], spin, body, drag, lift)
    z = acceleration(
        velocity[0] - e * pull[0] + f * jerk[0],
        velocity[1] - e * pull[1] + f * jerk[1],
        velocity[2] - e * pull[2] + f * jerk[2],
        spin + turn,
        body,
        drag,
        lift,
    )
    off, size = 0.0, 0.0
    for k in range(3):
        off += abs(0.5 * (x[k] - z[k]) / e - jerk[k])
        size += abs(jerk[k])
    if off > _AGREES * size:
        return 0.0, 0.0, 0.0
    s = 1.0 / (e * e)
    return (
        s * (x[0] - 2.0 * y[0] + z[0]),
        s * (x[1] - 2.0 * y[1] + z[1]),
        s * (x[2] - 2.0 * y[2] + z[2]),
    )


def snaps(
    model: FlightModel, starts: FloatArray, bodies: FloatArray, ends: FloatArray, *, plain: bool
) -> FloatArray:
    """Find the snap at the end of flights.

    Parameters
    ----------
    model : FlightModel
        Its laws.
    starts : ndarray, shape (n, 7)
        `motion.State` of each release. [m], [m/s], [rad/s]
    bodies : ndarray, shape (n, 11)
        `motion.Body` of each ball. [SI, as each of its fields says]
    ends : ndarray, shape (n, 16)
        `path.Values` of each end. [SI, as each of its fields says]
    plain : bool
        Whether to take the plain text or the compiled one.

    Returns
    -------
    ndarray, shape (n, 3)
        [m/s^4]

    Notes
    -----
    The spin that is left at the end is taken from the mean of the air speeds at release and end; what that
    is off changes the snap of a fast-decaying spin by a few hundredths.
    """
    found = np.empty((len(ends), 3))
    if not plain:
        from shotwright.flight.kernel import with_arrays

        _compiled()(starts, bodies, ends, with_arrays(model.drag), with_arrays(model.lift), found)
        return found
    for i in range(len(ends)):
        _row(i, starts, bodies, ends, model.drag, model.lift, found)
    return found


def _row(
    i: int,
    starts: FloatArray,
    bodies: FloatArray,
    ends: FloatArray,
    drag: PackedLaw,
    lift: PackedLaw,
    found: FloatArray,
) -> None:
    s, b, e = starts[i], bodies[i], ends[i]
    body = Body(b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10])
    velocity = (e[4] - b[8], e[5] - b[9], e[6] - b[10], 0.0)
    before = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5])
    after = math.sqrt(velocity[0] ** 2 + velocity[1] ** 2 + velocity[2] ** 2)
    spin = s[6] * math.exp(-body.decay * 0.5 * (before + after) * e[0])
    pull, jerk = (e[7], e[8], e[9], 0.0), (e[10], e[11], e[12], 0.0)
    found[i, 0], found[i, 1], found[i, 2] = snap_of(velocity, spin, pull, jerk, body, drag, lift)


@functools.cache
def _compiled() -> Callable[..., None]:
    from shotwright.flight.kernel import compile_plain

    return compile_plain(_rows, cache=True)


def _rows(
    starts: FloatArray,
    bodies: FloatArray,
    ends: FloatArray,
    drag: PackedLaw,
    lift: PackedLaw,
    found: FloatArray,
) -> None:
    for i in range(len(found)):
        _row(i, starts, bodies, ends, drag, lift, found)
