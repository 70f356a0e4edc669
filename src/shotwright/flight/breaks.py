"""Where a coefficient law breaks: the corners and jumps of piecewise laws, the knots of a table.

The error estimate of a high-order step trusts that the law is smooth along it. A step that passes a break is
therefore cut just before it, and the break is hopped over by a step too short to matter.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body, Rate, State

HOP = 4e-7  # s; a jump of 1 m/s^2 over it is worth 1e-13 m
_PARTS = 4

Cubic = tuple[float, float, float, float]


def first_break(
    state: State,
    rate: Rate,
    end: State,
    end_rate: Rate,
    h: float,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
) -> float:
    """First time within a step at which a law passes to another of its pieces.

    Parameters
    ----------
    state, rate, end, end_rate : State, Rate
        At the step's begin and end.
    h : float
        Length of the step. [s]
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.

    Returns
    -------
    float
        Time from the step's begin, inf without a break. [s]

    Notes
    -----
    The step is looked at in four parts; a piece that is entered and left within one part is not seen. The
    error estimate is left to judge it.
    """
    x = _velocity_controls(state[3], rate[0], end[3], end_rate[0], h)
    y = _velocity_controls(state[4], rate[1], end[4], end_rate[1], h)
    z = _velocity_controls(state[5], rate[2], end[5], end_rate[2], h)
    spin, gain = state[6], end[6] - state[6]
    here = _piece(_speed(x, y, z, 0.0), spin, body, drag, lift)
    low, high = 0.0, math.inf
    for part in range(1, _PARTS + 1):
        s = part / _PARTS
        if _piece(_speed(x, y, z, s), spin + s * gain, body, drag, lift) != here:
            high = s
            break
        low = s
    if high > 1.0:
        return math.inf
    while (high - low) * h > 0.25 * HOP:
        middle = 0.5 * (low + high)
        if _piece(_speed(x, y, z, middle), spin + middle * gain, body, drag, lift) == here:
            low = middle
        else:
            high = middle
    return h * high


def _velocity_controls(u0: float, a0: float, u1: float, a1: float, h: float) -> Cubic:
    return u0, u0 + h * a0 / 3.0, u1 - h * a1 / 3.0, u1


def _speed(x: Cubic, y: Cubic, z: Cubic, s: float) -> float:
    """Speed at part `s` of a step."""
    r = 1.0 - s
    a, b, c, d = r * r * r, 3.0 * r * r * s, 3.0 * r * s * s, s * s * s
    ux = a * x[0] + b * x[1] + c * x[2] + d * x[3]
    uy = a * y[0] + b * y[1] + c * y[2] + d * y[3]
    uz = a * z[0] + b * z[1] + c * z[2] + d * z[3]
    return math.sqrt(ux * ux + uy * uy + uz * uz)


def _piece(speed: float, spin: float, body: Body, drag: PackedLaw, lift: PackedLaw) -> int:
    """Number of the pieces in force."""
    by_reynolds = _passed(drag.breaks, body.reynolds_per_speed * speed)
    return 1000 * by_reynolds + _passed(lift.breaks, body.radius * spin / max(speed, 1e-9))


def _passed(breaks: Sequence[float], x: float) -> int:
    count = 0
    for at in breaks:
        if x > at:
            count += 1
    return count
