"""Least distance of a short path from the edge of an opening.

Coordinates of the opening: u, w in its plane, n along its normal. The path is the fourth-degree polynomial
through place, velocity, acceleration, jerk and snap where the ball's centre crosses the plane. This text runs
compiled for a batch and plain for one flight.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

Triple = tuple[float, float, float]
# coefficients of t^0 ... t^4, in (u, w, n)
LocalPath = tuple[Triple, Triple, Triple, Triple, Triple]
# ends (u1, w1, u2, w2) of a straight side; a ring is (radius, 0, 0, 0)
Side = tuple[float, float, float, float]

_SAMPLES = 13
_ROUNDS = 30
LONGEST = 0.3  # s, each side of the crossing
_CENTRE = 1e-12  # m; nearer the axis of a ring than that, every point of the ring is as near
_FLAT = 1e-15  # of the slope's size: rounding


def approach(path: LocalPath, t: float, side: Side, ring: bool) -> tuple[float, float]:
    """Squared distance of a path from one side of an edge, and half its slope.

    Parameters
    ----------
    path : LocalPath
        The path.
    t : float
        Since the crossing. [s]
    side : Side
        The side. [m]
    ring : bool
        Whether the edge is a ring.

    Returns
    -------
    tuple of float
        Half the slope [m^2/s] and the squared distance [m^2].
    """
    p, v, a, j, s = path
    x = p[0] + t * (v[0] + t * (a[0] + t * (j[0] + t * s[0])))
    y = p[1] + t * (v[1] + t * (a[1] + t * (j[1] + t * s[1])))
    z = p[2] + t * (v[2] + t * (a[2] + t * (j[2] + t * s[2])))
    if ring:
        reach = math.sqrt(x * x + y * y)
        if reach < _CENTRE:
            x -= side[0]
        else:
            kept = 1.0 - side[0] / reach
            x, y = x * kept, y * kept
    else:
        du, dw = side[2] - side[0], side[3] - side[1]
        x, y = x - side[0], y - side[1]
        share = min(max((x * du + y * dw) / (du * du + dw * dw), 0.0), 1.0)
        x, y = x - share * du, y - share * dw
    slope = (
        x * (v[0] + t * (2.0 * a[0] + t * (3.0 * j[0] + 4.0 * t * s[0])))
        + y * (v[1] + t * (2.0 * a[1] + t * (3.0 * j[1] + 4.0 * t * s[1])))
        + z * (v[2] + t * (2.0 * a[2] + t * (3.0 * j[2] + 4.0 * t * s[2])))
    )
    return slope, x * x + y * y + z * z


def least_square(path: LocalPath, begin: float, end: float, side: Side, ring: bool) -> float:
    """Least squared distance of a path from one side: its ends, and wherever the distance stops falling.

    Parameters
    ----------
    path : LocalPath
        The path.
    begin, end : float
        Part of it that counts, from and to. [s]
    side : Side
        The side. [m]
    ring : bool
        Whether the edge is a ring.

    Returns
    -------
    float
        [m^2]
    """
    slope, least = approach(path, begin, side, ring)
    step = (end - begin) / (_SAMPLES - 1)
    before = begin
    for k in range(1, _SAMPLES):
        now = begin + k * step
        next_slope, square = approach(path, now, side, ring)
        if k == _SAMPLES - 1:
            least = min(least, square)
        if slope < 0.0 and next_slope >= 0.0:
            least = min(least, _bottom(path, before, slope, now, next_slope, side, ring))
        before, slope = now, next_slope
    return least


def _bottom(
    path: LocalPath, low: float, f_low: float, high: float, f_high: float, side: Side, ring: bool
) -> float:
    """Squared distance where its slope is zero, by the Illinois form of the secant rule."""
    least = math.inf
    small = _FLAT * (f_high - f_low)
    kept = 0
    for _ in range(_ROUNDS):
        t = high - f_high * (high - low) / (f_high - f_low)
        slope, square = approach(path, t, side, ring)
        least = min(least, square)
        if abs(slope) <= small or not low < t < high:
            break
        if slope < 0.0:
            low, f_low = t, slope
            f_high = 0.5 * f_high if kept < 0 else f_high
            kept = -1
        else:
            high, f_high = t, slope
            f_low = 0.5 * f_low if kept > 0 else f_low
            kept = 1
    return least


def _inside(x: float, y: float, sides: Sequence[Side] | FloatArray, ring: bool) -> bool:
    """Whether a point of the plane lies inside the edge, which may have inward corners."""
    if ring:
        radius = sides[0][0]
        return bool(x * x + y * y < radius * radius)
    odd = False
    for i in range(len(sides)):
        side = sides[i]
        x1, y1, x2, y2 = side[0], side[1], side[2], side[3]
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            odd = not odd
    return odd


def signed_distance(
    path: LocalPath, begin: float, end: float, sides: Sequence[Side] | FloatArray, ring: bool
) -> float:
    """Least distance of a path from an edge; negative when it crosses the plane outside.

    Parameters
    ----------
    path : LocalPath
        The path.
    begin, end : float
        Part of it that counts, from and to. [s]
    sides : sequence of Side, or ndarray, shape (k, 4)
        Of the edge, in order. [m]
    ring : bool
        Whether the edge is a ring.

    Returns
    -------
    float
        [m]
    """
    square = math.inf
    for i in range(len(sides)):
        side = sides[i]
        square = min(square, least_square(path, begin, end, (side[0], side[1], side[2], side[3]), ring))
    distance = math.sqrt(square)
    return distance if _inside(path[0][0], path[0][1], sides, ring) else -distance


def crossing_distance(
    i: int,
    ends: tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray],
    frame: FloatArray,
    width: float,
    sides: Sequence[Side] | FloatArray,
    ring: bool,
) -> float:
    """Return `signed_distance` of one flight at its crossing.

    Parameters
    ----------
    i : int
        Its row. [-]
    ends : tuple of ndarray
        Place, velocity, acceleration, jerk (n, 3) and snap (n, 3) or (0, 3) in the field frame, time (n,).
        [m], [m/s], [m/s^2], [m/s^3], [m/s^4], [s]
    frame : ndarray, shape (4, 3)
        Directions u, w, n, and the opening's centre. [-], [m]
    width : float
        Greatest width of the opening. [m]
    sides : sequence of Side, or ndarray, shape (k, 4)
        Of the edge, in order. [m]
    ring : bool
        Whether the edge is a ring.

    Returns
    -------
    float
        [m]
    """
    place, velocity, acceleration, jerk, snap, time = ends
    p = place[i, 0] - frame[3, 0], place[i, 1] - frame[3, 1], place[i, 2] - frame[3, 2]
    v = velocity[i, 0], velocity[i, 1], velocity[i, 2]
    a = acceleration[i, 0] / 2, acceleration[i, 1] / 2, acceleration[i, 2] / 2
    j = jerk[i, 0] / 6, jerk[i, 1] / 6, jerk[i, 2] / 6
    s = (0.0, 0.0, 0.0)
    if len(snap) > 0:
        s = snap[i, 0] / 24, snap[i, 1] / 24, snap[i, 2] / 24
    path = _turned(frame, p), _turned(frame, v), _turned(frame, a), _turned(frame, j), _turned(frame, s)
    speed = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    span = min(1.2 * width / max(speed, 1e-9), LONGEST)
    return signed_distance(path, -min(span, time[i]), span, sides, ring)


def _turned(frame: FloatArray, x: Triple) -> Triple:
    """Coordinates along u, w, n of a vector in the field frame."""
    return (
        frame[0, 0] * x[0] + frame[0, 1] * x[1] + frame[0, 2] * x[2],
        frame[1, 0] * x[0] + frame[1, 1] * x[1] + frame[1, 2] * x[2],
        frame[2, 0] * x[0] + frame[2, 1] * x[1] + frame[2, 2] * x[2],
    )


@functools.cache
def compiled_distances() -> Callable[..., None]:
    """Return `crossing_distance` compiled, as a loop over flights.

    Returns
    -------
    callable
        Takes what `crossing_distance` takes but the row, which of the flights count (n,), and an array (n,)
        that takes the distances, NaN for those that do not count.
    """
    from shotwright.flight.kernel import compile_plain

    return compile_plain(_rows, cache=True)


def _rows(
    ends: tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray],
    frame: FloatArray,
    width: float,
    sides: FloatArray,
    ring: bool,
    counts: NDArray[np.bool_],
    found: FloatArray,
) -> None:
    for i in range(len(found)):
        found[i] = math.nan
        if counts[i]:
            found[i] = crossing_distance(i, ends, frame, width, sides, ring)
