"""Whether a ball passes an opening clear of its edge, and where its centre may cross.

Coordinates of a target: u, w in its plane, n along its normal, out of the front (`Target.axes`). The ball is
a sphere; the edge is a line without thickness. The ball's path near the opening is the cubic through place,
velocity, acceleration and jerk at the crossing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.crossing import Crossings, Status
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

# points (m, 3) in coordinates (u, w, n) -> nearest points of the edge (m, 3)
Nearest = Callable[[FloatArray], FloatArray]

_SAMPLES = 13
_ROUNDS = 12
_AT_ONCE = 5000  # places looked at in one call
_LONGEST = 0.3  # s, each side of the crossing
_CIRCLE_CORNERS = 128


def edge_clearance(target: Target, crossings: Crossings, radius: float | FloatArray) -> FloatArray:
    """Least distance between the ball's surface and the edge of an opening while it passes.

    Parameters
    ----------
    target : Target
        The opening.
    crossings : Crossings
        Flights to the target's plane.
    radius : float or ndarray, shape (n,)
        Of the ball. [m]

    Returns
    -------
    ndarray, shape (n,)
        Least distance of the centre's path from the edge, minus the radius; negative when the ball touches.
        When the centre crosses outside the opening: minus that distance, minus the radius. NaN for a flight
        that did not cross. [m]

    Notes
    -----
    The path is followed for as long as the ball needs to move by the opening's width, at most 0.3 s each
    side. The cubic is off by less than 1e-6 m there for a ball in air; exact without air.
    """
    crossed = crossings.status == Status.CROSSED
    path, limits = _local_path(target, crossings, crossed)
    least = np.full(len(path[0]), np.inf)
    for nearest in _edges(target):
        least = np.minimum(least, _least_distance(path, limits, nearest))
    inside = _inside(target, path[0][:, :2])
    found = np.full(len(crossings.status), np.nan)
    found[crossed] = np.where(inside, least, -least)
    return np.asarray(found - np.asarray(radius, dtype=float))


def passes(target: Target, crossings: Crossings, radius: float | FloatArray) -> NDArray[np.bool_]:
    """Whether each ball scores: through the opening from its front, its surface clear of the edge.

    Parameters
    ----------
    target : Target
        The opening.
    crossings : Crossings
        Flights to the target's plane.
    radius : float or ndarray, shape (n,)
        Of the ball. [m]

    Returns
    -------
    ndarray of bool, shape (n,)
        True for a ball that scores without touching.
    """
    axes = np.array(target.axes())[:2].T
    middle = _inside(target, (crossings.position - np.asarray(target.centre)) @ axes)
    maybe = np.flatnonzero(middle & (crossings.status == Status.CROSSED))
    own = np.broadcast_to(np.asarray(radius, dtype=float), middle.shape)[maybe]
    few = Crossings(**{one.name: getattr(crossings, one.name)[maybe] for one in fields(crossings)})
    scored = np.zeros(len(middle), dtype=bool)
    scored[maybe] = edge_clearance(target, few, own) >= 0.0
    return scored


def scoring_region(target: Target, direction: FloatArray, radius: float) -> FloatArray:
    r"""Where the centre of a ball may cross the plane so that it passes clear, on a straight path.

    Looked at along `direction`, the opening is a foreshortened outline and the ball a disc: the centre must
    stay a radius away from the outline. In the opening's plane each straight edge e is thereby set in by
    r |d x e| / |d . n|, and the limits of a ring's width by r / sin(entry angle).

    Parameters
    ----------
    target : Target
        The opening.
    direction : ndarray, shape (3,)
        Of the ball's velocity at the crossing, any length. [-]
    radius : float
        Of the ball. [m]

    Returns
    -------
    ndarray, shape (k, 2)
        Corners (u, w), anticlockwise seen from the front; shape (0, 2) when nothing fits, or when the ball
        comes from behind. A region that falls into parts is given by its largest part. [m]

    Notes
    -----
    A circle is taken as a polygon of 128 corners and the same area. The path's bend near the opening is left
    out; :func:`edge_clearance` keeps it.
    """
    from shapely.geometry import MultiPolygon, Polygon

    empty = np.empty((0, 2))
    axes = np.array(target.axes())
    d = axes @ (np.asarray(direction, dtype=float) / np.linalg.norm(direction))
    if not d[2] < -1e-9:
        return empty
    # orthonormal axes across the direction, in (u, w, n); their (u, w) part foreshortens the plane
    across = np.linalg.svd(d[None, :])[2][1:]
    shorten = across[:, :2]
    seen: Any = Polygon(_outline(target) @ shorten.T)
    left: Any = seen.buffer(-radius, quad_segs=32)
    if isinstance(left, MultiPolygon):
        left = max(left.geoms, key=lambda part: part.area)
    if left.is_empty or left.area <= 0.0:
        return empty
    corners = np.asarray(left.exterior.coords)[:-1] @ np.linalg.inv(shorten).T
    return corners if _signed_area(corners) > 0 else corners[::-1].copy()


def _outline(target: Target) -> FloatArray:
    if target.radius is None:
        return np.asarray(target.corners, dtype=float)
    angles = np.arange(_CIRCLE_CORNERS) * (2 * math.pi / _CIRCLE_CORNERS)
    step = 2 * math.pi / _CIRCLE_CORNERS
    same_area = target.radius * math.sqrt(step / math.sin(step))
    return same_area * np.column_stack([np.cos(angles), np.sin(angles)])


def _signed_area(corners: FloatArray) -> float:
    x, y = corners.T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _inside(target: Target, points: FloatArray) -> NDArray[np.bool_]:
    """Which points (m, 2) lie inside the opening; a polygon may have inward corners."""
    if target.radius is not None:
        return np.asarray(np.hypot(points[:, 0], points[:, 1]) < target.radius)
    corners = np.asarray(target.corners, dtype=float)
    inside = np.zeros(len(points), dtype=bool)
    for (x1, y1), (x2, y2) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if y1 == y2:
            continue
        straddles = (y1 > points[:, 1]) != (y2 > points[:, 1])
        inside ^= straddles & (points[:, 0] < x1 + (points[:, 1] - y1) * (x2 - x1) / (y2 - y1))
    return inside


def _local_path(
    target: Target, crossings: Crossings, crossed: NDArray[np.bool_]
) -> tuple[tuple[FloatArray, FloatArray, FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
    """Coefficients of the cubic in (u, w, n), and how long to follow it to each side."""
    axes = np.array(target.axes()).T
    place = (crossings.position[crossed] - np.asarray(target.centre)) @ axes
    rates = [one[crossed] @ axes for one in (crossings.velocity, crossings.acceleration, crossings.jerk)]
    outline = _outline(target)
    width = float(np.linalg.norm(outline[:, None] - outline[None], axis=2).max())
    span = np.minimum(1.2 * width / np.maximum(np.linalg.norm(rates[0], axis=1), 1e-9), _LONGEST)
    limits = (-np.minimum(span, crossings.time[crossed]), span)
    return (place, rates[0], rates[1] / 2, rates[2] / 6), limits


def _edges(target: Target) -> list[Nearest]:
    if target.radius is not None:
        return [_ring(target.radius)]
    corners = np.asarray(target.corners, dtype=float)
    return [_segment(a, b) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]


def _ring(radius: float) -> Nearest:
    def nearest(points: FloatArray) -> FloatArray:
        found = np.zeros_like(points)
        reach = np.hypot(points[:, 0], points[:, 1])
        found[:, :2] = points[:, :2] * (radius / np.maximum(reach, 1e-12))[:, None]
        found[reach < 1e-12, 0] = radius
        return found

    return nearest


def _segment(a: FloatArray, b: FloatArray) -> Nearest:
    along = b - a

    def nearest(points: FloatArray) -> FloatArray:
        found = np.zeros_like(points)
        share = np.clip((points[:, :2] - a) @ along / (along @ along), 0.0, 1.0)
        found[:, :2] = a + share[:, None] * along
        return found

    return nearest


def _least_distance(
    path: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
    limits: tuple[FloatArray, FloatArray],
    nearest: Nearest,
) -> FloatArray:
    """Least distance of each path from one edge: its ends, and every place where it stops falling."""
    count = len(path[0])
    shares = np.linspace(0.0, 1.0, _SAMPLES)
    at = limits[0] + shares[:, None] * (limits[1] - limits[0])
    slopes, squares = np.empty((_SAMPLES, count)), np.empty((_SAMPLES, count))
    # a few paths go through all samples in one call; many would not fit the processor's cache
    together = max(1, _AT_ONCE // max(count, 1))
    for i in range(0, _SAMPLES, together):
        part = at[i : i + together]
        rows = np.tile(np.arange(count), len(part))
        slope, square = _approach(path, rows, part.ravel(), nearest)
        slopes[i : i + together] = slope.reshape(part.shape)
        squares[i : i + together] = square.reshape(part.shape)
    least = np.minimum(squares[0], squares[-1])
    step, row = np.nonzero((slopes[:-1] < 0.0) & (slopes[1:] >= 0.0))
    if len(row):
        lows = (at[step, row], slopes[step, row])
        highs = (at[step + 1, row], slopes[step + 1, row])
        np.minimum.at(least, row, _bottom(path, row, lows, highs, nearest))
    return np.asarray(np.sqrt(least))


def _approach(
    path: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
    rows: NDArray[np.intp],
    t: FloatArray,
    nearest: Nearest,
) -> tuple[FloatArray, FloatArray]:
    """Half the slope of the squared distance, and the squared distance, of paths `rows` at times `t`."""
    p, v, a, j = (one[rows] for one in path)
    t = t[:, None]
    place = p + t * (v + t * (a + t * j))
    gap = place - nearest(place)
    slope = np.einsum("ij,ij->i", gap, v + t * (2 * a + 3 * t * j))
    return slope, np.einsum("ij,ij->i", gap, gap)


def _bottom(
    path: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
    rows: NDArray[np.intp],
    lows: tuple[FloatArray, FloatArray],
    highs: tuple[FloatArray, FloatArray],
    nearest: Nearest,
) -> FloatArray:
    """Squared distance where its slope is zero, by the Illinois form of the secant rule."""
    (low, f_low), (high, f_high) = (lows[0].copy(), lows[1].copy()), (highs[0].copy(), highs[1].copy())
    square = np.full(len(rows), np.inf)
    for _ in range(_ROUNDS):
        t = high - f_high * (high - low) / np.where(f_high == f_low, 1.0, f_high - f_low)
        slope, found = _approach(path, rows, t, nearest)
        square = np.minimum(square, found)
        falls = slope < 0.0
        f_high, f_low = (
            np.where(falls, np.where(falls & (t > high), f_high, 0.5 * f_high), slope),
            np.where(falls, slope, 0.5 * f_low),
        )
        low, high = np.where(falls, t, low), np.where(falls, high, t)
    return square
