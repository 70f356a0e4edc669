"""The exact time at which a flight turns or falls through a plane, inside one step of the integrator.

Along a step the distance from a plane is first read from the quintic of `step_curve`, whose control values
enclose it: "no event" is certain up to the quintic's own error, `step_curve.MARGIN`. What remains is solved
on the integrator's own solution: it is restarted from the step's begin, and a Taylor series takes the last
microseconds. Whether a flight whose turning point lies near the plane crosses it is decided at that exact
turning point, so two crossings in one step are not lost.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

import math

from shotwright.flight.dop853 import advance
from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body, Rate, State, acceleration, jerk
from shotwright.flight.step_curve import (
    Controls,
    Plane,
    bend_at,
    changes_of_direction,
    distance,
    slope_at,
    value_at,
)

_GUESSES = 5  # of Newton's method on the quintic; what is left is done on the flight itself
_CLOSE = 1e-4  # s; from here the cubic Taylor series is exact to 1e-15 m
_ROUNDS = 12
SHORTEST = 1e-6  # s; no step is halved below it

NEVER = math.inf


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
    low, high, s, rising = 0.0, 1.0, 0.5, c[1] > c[0]
    for _ in range(_GUESSES):
        slope = slope_at(c, s)
        if (slope > 0.0) == rising:
            low = s
        else:
            high = s
        s = _newton(s, slope, bend_at(c, s), low, high)
    at, found = h * s, 0.0
    for _ in range(_ROUNDS):
        there, _error = advance(state, rate, at, body, drag, lift)
        pull = acceleration(there[3], there[4], there[5], there[6], body, drag, lift)
        jx, jy, jz = jerk(there, pull, body, drag, lift)
        j = plane.x * jx + plane.y * jy + plane.z * jz
        d, v, a = distance(plane, there, pull, body)
        x = 0.0
        for _round in range(3):
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
) -> tuple[float, State]:
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
    time : float
        From the step's begin. [s]
    state : State
        State then.
    """
    low, high = span[0] / h, span[1] / h
    s = 0.5 * (low + high)
    for _ in range(_GUESSES):
        value = value_at(c, s)
        if value > 0.0:
            low = s
        else:
            high = s
        s = _newton(s, value, slope_at(c, s), low, high)
    at, there = h * s, state
    for _ in range(_ROUNDS):
        there, _error = advance(state, rate, at, body, drag, lift)
        pull = acceleration(there[3], there[4], there[5], there[6], body, drag, lift)
        jx, jy, jz = jerk(there, pull, body, drag, lift)
        j = plane.x * jx + plane.y * jy + plane.z * jz
        d, v, a = distance(plane, there, pull, body)
        x = _falling_root(d, v, a, j)
        x = min(max(x, span[0] - at), span[1] - at)
        at += x
        there = _nearby(there, pull, (jx, jy, jz), x, body)
        if abs(x) < _CLOSE:
            break
    return at, there


def first_fall(
    plane: Plane,
    c: Controls,
    state: State,
    rate: Rate,
    end: State,
    h: float,
    body: Body,
    drag: PackedLaw,
    lift: PackedLaw,
) -> tuple[float, State]:
    """First time inside a step at which the distance goes from > 0 to <= 0.

    Parameters
    ----------
    plane : Plane
        The plane.
    c : tuple of float
        Control values of the distance over the step; where they clear the plane, don't ask. [m]
    state, rate : State, Rate
        At the step's begin.
    end : State
        At the step's end.
    h : float
        Length of the step. [s]
    body, drag, lift : Body, PackedLaw, PackedLaw
        The ball in this air.

    Returns
    -------
    time : float
        From the step's begin; `NEVER`, or -1 when the step turns too often to be sure. [s]
    state : State
        State then; without a fall that at the step's end.
    """
    turns = changes_of_direction(c)
    if turns > 1 and h > SHORTEST:
        return -1.0, end
    if c[0] > 0.0 and c[5] <= 0.0:
        return fall(plane, c, (0.0, h), state, rate, h, body, drag, lift)
    if turns == 0 or c[5] > 0.0 >= c[0]:
        return NEVER, end
    at, found = turn(plane, c, state, rate, h, body, drag, lift)
    if (found > 0.0) == (c[0] > 0.0):  # it turned back before it reached the plane
        return NEVER, end
    span = (0.0, at) if c[0] > 0.0 else (at, h)
    return fall(plane, c, span, state, rate, h, body, drag, lift)


def _nearby(state: State, rate: Rate, third: tuple[float, float, float], x: float, body: Body) -> State:
    """State a few microseconds on, by its Taylor series up to the jerk."""
    px, py, pz, ux, uy, uz, w = state
    ax, ay, az, aw = rate
    jx, jy, jz = third
    return (
        px + x * (ux + body.wind_x + x * (0.5 * ax + x * jx / 6.0)),
        py + x * (uy + body.wind_y + x * (0.5 * ay + x * jy / 6.0)),
        pz + x * (uz + body.wind_z + x * (0.5 * az + x * jz / 6.0)),
        ux + x * (ax + 0.5 * x * jx),
        uy + x * (ay + 0.5 * x * jy),
        uz + x * (az + 0.5 * x * jz),
        w + x * aw,
    )


def _newton(s: float, value: float, slope: float, low: float, high: float) -> float:
    """Newton's next guess where it stays between `low` and `high`, else the middle."""
    if slope == 0.0:
        return 0.5 * (low + high)
    guess = s - value / slope
    return guess if low <= guess <= high else 0.5 * (low + high)


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
