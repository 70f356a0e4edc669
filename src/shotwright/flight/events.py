"""The exact time at which a flight turns or falls through a plane, inside one step of the integrator.

Along a step the distance d from a plane is first read from the quintic through place, velocity and
acceleration at both ends, in Bernstein form: its six control values enclose the curve, so "no event" is
certain up to the quintic's own error, `_MARGIN`. What remains is solved on the integrator's own solution: it
is restarted from the step's begin, and a Taylor series takes the last microseconds. Whether a flight whose
turning point lies near the plane crosses it is decided at that exact turning point, so two crossings in one
step are not lost.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from shotwright.flight.dop853 import advance
from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body, Rate, State, acceleration, jerk

_MARGIN = 1e-5  # m; a hundred times the largest error of the quintic at the largest step
_NOISE = 1e-13  # m; control values nearer than this do not count as a change of direction
_CLOSE = 1e-5  # s; from here the cubic Taylor series is exact to 1e-20 m
SHORTEST = 1e-6  # s; no step is halved below it
_ROUNDS = 12
_BISECTIONS = 24

NEVER = math.inf

Controls = tuple[float, float, float, float, float, float]


class Plane(NamedTuple):
    """The plane n . x = offset; the front is where n points.

    Parameters
    ----------
    x, y, z : float
        Unit normal n. [-]
    offset : float
        [m]
    """

    x: float
    y: float
    z: float
    offset: float


def distance(plane: Plane, state: State, rate: Rate, body: Body) -> tuple[float, float, float]:
    """Distance of the ball's centre in front of the plane, and its first two rates.

    Parameters
    ----------
    plane : Plane
        The plane.
    state : State
        Place, velocity relative to the air, spin.
    rate : Rate
        Acceleration and spin rate.
    body : Body
        The ball in this air.

    Returns
    -------
    tuple of float
        [m], [m/s], [m/s^2].
    """
    px, py, pz, ux, uy, uz, _ = state
    ax, ay, az, _ = rate
    return (
        plane.x * px + plane.y * py + plane.z * pz - plane.offset,
        plane.x * (ux + body.wind_x) + plane.y * (uy + body.wind_y) + plane.z * (uz + body.wind_z),
        plane.x * ax + plane.y * ay + plane.z * az,
    )


def controls(begin: tuple[float, float, float], end: tuple[float, float, float], h: float) -> Controls:
    """Bernstein control values of the quintic through value, slope and curvature at both ends.

    Parameters
    ----------
    begin, end : tuple of float
        Value [m], first rate [m/s], second rate [m/s^2].
    h : float
        Length of the step. [s]

    Returns
    -------
    tuple of float
        Six control values. [m]
    """
    d0, v0, a0 = begin
    d1, v1, a1 = end
    return (
        d0,
        d0 + 0.2 * h * v0,
        d0 + 0.4 * h * v0 + 0.05 * h * h * a0,
        d1 - 0.4 * h * v1 + 0.05 * h * h * a1,
        d1 - 0.2 * h * v1,
        d1,
    )


def path_controls(
    state: State, rate: Rate, end: State, end_rate: Rate, h: float, body: Body
) -> tuple[Controls, Controls, Controls]:
    """Control values of the ball's path over a step.

    Parameters
    ----------
    state, rate, end, end_rate : State, Rate
        At the step's begin and end.
    h : float
        Length of the step. [s]
    body : Body
        The ball in this air.

    Returns
    -------
    tuple of Controls
        For x, y and z. [m]
    """
    x, y, z = Plane(1.0, 0.0, 0.0, 0.0), Plane(0.0, 1.0, 0.0, 0.0), Plane(0.0, 0.0, 1.0, 0.0)
    return (
        controls(distance(x, state, rate, body), distance(x, end, end_rate, body), h),
        controls(distance(y, state, rate, body), distance(y, end, end_rate, body), h),
        controls(distance(z, state, rate, body), distance(z, end, end_rate, body), h),
    )


def value_at(c: Controls, s: float) -> float:
    """Value of the curve at part `s` of the step.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]
    s : float
        0 to 1. [-]

    Returns
    -------
    float
        [m]
    """
    r = 1.0 - s
    return r * r * r * (r * r * c[0] + 5.0 * r * s * c[1] + 10.0 * s * s * c[2]) + s * s * s * (
        10.0 * r * r * c[3] + 5.0 * r * s * c[4] + s * s * c[5]
    )


def slope_at(c: Controls, s: float) -> float:
    """Slope of the curve by part of the step, at part `s`.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]
    s : float
        0 to 1. [-]

    Returns
    -------
    float
        [m]
    """
    r = 1.0 - s
    return 5.0 * (
        r * r * (r * r * (c[1] - c[0]) + 4.0 * r * s * (c[2] - c[1]) + 6.0 * s * s * (c[3] - c[2]))
        + s * s * s * (4.0 * r * (c[4] - c[3]) + s * (c[5] - c[4]))
    )


def changes_of_direction(c: Controls) -> int:
    """Count the sign changes between control values: at least as many as the curve turns (Descartes).

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]

    Returns
    -------
    int
        0 and 1 are exact.
    """
    count, last = 0, 0.0
    for difference in (c[1] - c[0], c[2] - c[1], c[3] - c[2], c[4] - c[3], c[5] - c[4]):
        if abs(difference) > _NOISE:
            if last * difference < 0.0:
                count += 1
            last = difference
    return count


def clears(c: Controls) -> bool:
    """Whether the curve certainly stays on one side of zero.

    Parameters
    ----------
    c : tuple of float
        Six control values. [m]

    Returns
    -------
    bool
        False when it may touch zero.
    """
    least = min(c[0], c[1], c[2], c[3], c[4], c[5])
    most = max(c[0], c[1], c[2], c[3], c[4], c[5])
    return least > _MARGIN or most < -_MARGIN


def turn(
    plane: Plane,
    c: Controls,
    state: State,
    rate: Rate,
    h: float,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
) -> tuple[float, float]:
    """Find where the distance turns, in a step in which it turns once.

    Parameters
    ----------
    plane : Plane
        The plane.
    c : tuple of float
        Control values over the step. [m]
    state, rate : State, Rate
        At the step's begin.
    h : float
        Length of the step. [s]
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.

    Returns
    -------
    tuple of float
        Time from the step's begin [s] and distance there [m].
    """
    rising = c[1] > c[0]
    low, high = 0.0, 1.0
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if (slope_at(c, middle) > 0.0) == rising:
            low = middle
        else:
            high = middle
    at, found = h * low, 0.0
    for _ in range(_ROUNDS):
        there, _error = advance(state, rate, at, body, drag, lift)
        pull = acceleration(there[3], there[4], there[5], there[6], body, drag, lift)
        jx, jy, jz = jerk(there, pull, body, drag, lift)
        j = plane.x * jx + plane.y * jy + plane.z * jz
        d, v, a = distance(plane, there, pull, body)
        x = 0.0
        for _newton in range(3):
            bend = a + j * x
            if bend != 0.0:
                x -= (v + a * x + 0.5 * j * x * x) / bend
        x = min(max(x, -at), h - at)
        at += x
        found = d + x * (v + x * (0.5 * a + x * j / 6.0))
        if abs(x) < _CLOSE:
            break
    return at, found


def fall(
    plane: Plane,
    c: Controls,
    span: tuple[float, float],
    state: State,
    rate: Rate,
    h: float,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
) -> float:
    """Find where the distance falls through zero, in a span at whose ends it is > 0 and <= 0.

    Parameters
    ----------
    plane : Plane
        The plane.
    c : tuple of float
        Control values over the step. [m]
    span : tuple of float
        Times from the step's begin that enclose the crossing. [s]
    state, rate : State, Rate
        At the step's begin.
    h : float
        Length of the step. [s]
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.

    Returns
    -------
    float
        Time from the step's begin. [s]
    """
    low, high = span[0] / h, span[1] / h
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if value_at(c, middle) > 0.0:
            low = middle
        else:
            high = middle
    at = h * high
    for _ in range(_ROUNDS):
        there, _error = advance(state, rate, at, body, drag, lift)
        pull = acceleration(there[3], there[4], there[5], there[6], body, drag, lift)
        jx, jy, jz = jerk(there, pull, body, drag, lift)
        j = plane.x * jx + plane.y * jy + plane.z * jz
        d, v, a = distance(plane, there, pull, body)
        x = _falling_root(d, v, a, j)
        x = min(max(x, span[0] - at), span[1] - at)
        at += x
        if abs(x) < _CLOSE:
            break
    return at


def first_fall(
    plane: Plane,
    state: State,
    rate: Rate,
    end: State,
    end_rate: Rate,
    h: float,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
) -> float:
    """First time inside a step at which the distance goes from > 0 to <= 0.

    Parameters
    ----------
    plane : Plane
        The plane.
    state, rate, end, end_rate : State, Rate
        At the step's begin and end.
    h : float
        Length of the step. [s]
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.

    Returns
    -------
    float
        Time from the step's begin, `NEVER`, or -1 when the step turns too often to be sure. [s]
    """
    c = controls(distance(plane, state, rate, body), distance(plane, end, end_rate, body), h)
    if clears(c):
        return NEVER
    turns = changes_of_direction(c)
    if turns > 1 and h > SHORTEST:
        return -1.0
    if c[0] > 0.0 and c[5] <= 0.0:
        return fall(plane, c, (0.0, h), state, rate, h, body, drag, lift)
    if turns == 0 or c[5] > 0.0 >= c[0]:
        return NEVER
    at, found = turn(plane, c, state, rate, h, body, drag, lift)
    if c[0] > 0.0:  # both ends in front: did it dip through?
        return fall(plane, c, (0.0, at), state, rate, h, body, drag, lift) if found <= 0.0 else NEVER
    return fall(plane, c, (at, h), state, rate, h, body, drag, lift) if found > 0.0 else NEVER


def _falling_root(d: float, v: float, a: float, j: float) -> float:
    """Root of d + v x + a x^2/2 + j x^3/6 with falling slope; the turning point if there is none."""
    under = v * v - 2.0 * a * d
    if under < 0.0:
        return -v / a
    root = math.sqrt(under)
    x = 2.0 * d / (root - v) if v < 0.0 or a == 0.0 else -(v + root) / a
    for _ in range(3):
        slope = v + x * (a + 0.5 * x * j)
        if slope < 0.0:
            x -= (d + x * (v + x * (0.5 * a + x * j / 6.0))) / slope
    return x
