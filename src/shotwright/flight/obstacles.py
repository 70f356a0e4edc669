"""The first touch between a flying ball and a solid, and how near it comes.

A ball touches a solid when its centre is a radius away from it. The distance D from an upright prism or post
is a convex function of place, and along the path its second rate is never below -A, A the largest
acceleration. Two values and two slopes of D therefore bound it from below between two times: an interval is
passed over only when that bound shows that nothing is missed, else it is halved. No touch is lost, however
short; the least distance is right within `_ACCURACY`.

Solids are packed into one row of numbers: for each the number of corners (0: a post), bottom, top, then the
corners (x, y), or for a post x, y and radius. The path over one step is the quintic of `step_curve.controls`.

This text runs compiled for a batch and plain for one flight: floats and tuples only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.flight.events import NEVER
from shotwright.flight.step_curve import Controls, slope_at, value_at
from shotwright.game.records import Obstacle, Post, Prism

_ACCURACY = 1e-7  # m
_SHORT = 1e-11  # of a step; a touch is not placed more exactly
_MOST = 4000  # intervals a step


def pack_obstacles(obstacles: Sequence[Obstacle]) -> tuple[float, ...]:
    """Check solids and pack them into one row of numbers.

    Parameters
    ----------
    obstacles : sequence of Obstacle
        Prisms and posts.

    Returns
    -------
    tuple of float
        The row; empty without obstacles.

    Raises
    ------
    BadInput
        A footprint that is not convex or runs clockwise, a solid without height, a post without radius.
    """
    row: list[float] = []
    for solid in obstacles:
        if not (math.isfinite(solid.bottom) and math.isfinite(solid.top) and solid.top > solid.bottom):
            raise BadInput(
                f"{solid.bottom:g} m to {solid.top:g} m is no height; the top must lie above the bottom",
                field=f"obstacle {solid.name!r}",
            )
        if isinstance(solid, Post):
            if not (solid.radius > 0 and math.isfinite(solid.radius + solid.x + solid.y)):
                raise BadInput(
                    f"radius {solid.radius:g} m at ({solid.x:g}, {solid.y:g}) is not a post; "
                    "type three numbers, the radius greater than zero",
                    field=f"obstacle {solid.name!r}",
                )
            row += [0.0, solid.bottom, solid.top, solid.x, solid.y, solid.radius]
        else:
            _check_convex(solid)
            row += [float(len(solid.footprint)), solid.bottom, solid.top]
            row += [float(value) for corner in solid.footprint for value in corner]
    return tuple(row)


def solid_distance(
    solids: Sequence[float], at: int, x: float, y: float, z: float
) -> tuple[float, float, float, float]:
    """Distance of a point from one packed solid, and its gradient.

    Parameters
    ----------
    solids : sequence of float
        As :func:`pack_obstacles` gives them. [m]
    at : int
        Where the solid begins.
    x, y, z : float
        The point. [m]

    Returns
    -------
    tuple of float
        Distance, 0 inside [m]; gradient x, y, z, zero inside [-].
    """
    bottom, top = solids[at + 1], solids[at + 2]
    gx, gy = _flat_gap(solids, at, x, y)
    gz = z - min(max(z, bottom), top)
    distance = math.sqrt(gx * gx + gy * gy + gz * gz)
    if distance == 0.0:
        return 0.0, 0.0, 0.0, 0.0
    return distance, gx / distance, gy / distance, gz / distance


def first_touch(
    solids: Sequence[float],
    px: Controls,
    py: Controls,
    pz: Controls,
    last: float,
    radius: float,
    least: float,
) -> tuple[float, float]:
    """First touch of a ball with any solid on one step.

    Parameters
    ----------
    solids : sequence of float
        As :func:`pack_obstacles` gives them. [m]
    px, py, pz : tuple of float
        Control values of the path over the step. [m]
    last : float
        Part of the step to look at, 0 to 1. [-]
    radius : float
        Of the ball. [m]
    least : float
        Least distance between centre and solid so far. [m]

    Returns
    -------
    touch : float
        Part of the step at which the ball first touches, or `NEVER`. [-]
    least : float
        Least distance between the ball's centre and a solid up to there. [m]
    """
    speed, bend = path_bounds(px, py, pz)
    touch, at = NEVER, 0
    while at < len(solids):
        begin = solid_distance(solids, at, px[0], py[0], pz[0])[0]
        if begin - speed * last < max(least, radius):
            hit, near = _touch_one(solids, at, px, py, pz, min(last, touch), radius, bend)
            touch, least = min(touch, hit), min(least, near)
        at += 6 if solids[at] == 0.0 else 3 + 2 * int(solids[at])
    return touch, least


def _touch_one(
    solids: Sequence[float],
    at: int,
    px: Controls,
    py: Controls,
    pz: Controls,
    last: float,
    radius: float,
    bend: float,
) -> tuple[float, float]:
    """First touch with one solid, and the least distance up to there."""
    a, width, touch = 0.0, last, NEVER
    fa, sa = _approach(solids, at, px, py, pz, 0.0)
    least = fa
    if fa <= radius:
        return 0.0, fa
    for _ in range(_MOST):
        if a >= last or touch < NEVER:
            break
        b = min(a + width, last)
        fb, sb = _approach(solids, at, px, py, pz, b)
        w = b - a
        low = lower_bound(fa, sa - 0.5 * bend * w, fb, sb + 0.5 * bend * w, w)
        if fb <= radius and w <= _SHORT:
            touch, least = b, radius
        elif fb > radius and (low >= min(least, fb) - _ACCURACY or w <= _SHORT):
            least = min(least, fb)
            a, fa, sa = b, fb, sb
            width = 2.0 * w
        else:
            width = 0.5 * w
    return touch, least


def _approach(
    solids: Sequence[float], at: int, px: Controls, py: Controls, pz: Controls, s: float
) -> tuple[float, float]:
    """Distance from one solid at part `s` of the step, and its slope by `s`."""
    x, y, z = value_at(px, s), value_at(py, s), value_at(pz, s)
    distance, gx, gy, gz = solid_distance(solids, at, x, y, z)
    return distance, gx * slope_at(px, s) + gy * slope_at(py, s) + gz * slope_at(pz, s)


def lower_bound(fa: float, sa: float, fb: float, sb: float, w: float) -> float:
    """Lower bound of a convex function with these values and slopes at the ends of an interval.

    Parameters
    ----------
    fa, sa, fb, sb : float
        Value and slope at the begin and at the end. [m]
    w : float
        Length of the interval. [-]

    Returns
    -------
    float
        [m]
    """
    if sa >= 0.0:
        return fa
    if sb <= 0.0:
        return fb
    return fa + sa * (fb - fa - sb * w) / (sa - sb)


def path_bounds(px: Controls, py: Controls, pz: Controls) -> tuple[float, float]:
    """Bounds of the first and second rate of the path by part of the step, from its control values.

    Parameters
    ----------
    px, py, pz : tuple of float
        Control values of the path over the step. [m]

    Returns
    -------
    tuple of float
        Largest first and largest second rate. [m]
    """
    speed, bend = 0.0, 0.0
    for i in range(5):
        x, y, z = px[i + 1] - px[i], py[i + 1] - py[i], pz[i + 1] - pz[i]
        speed = max(speed, x * x + y * y + z * z)
    for i in range(4):
        x = px[i + 2] - 2.0 * px[i + 1] + px[i]
        y = py[i + 2] - 2.0 * py[i + 1] + py[i]
        z = pz[i + 2] - 2.0 * pz[i + 1] + pz[i]
        bend = max(bend, x * x + y * y + z * z)
    return 5.0 * math.sqrt(speed), 20.0 * math.sqrt(bend)


def _flat_gap(solids: Sequence[float], at: int, x: float, y: float) -> tuple[float, float]:
    """Level vector from the nearest point of the footprint to (x, y); zero above the footprint."""
    corners = int(solids[at])
    if corners == 0:
        gx, gy = x - solids[at + 3], y - solids[at + 4]
        away = math.sqrt(gx * gx + gy * gy)
        if away <= solids[at + 5]:
            return 0.0, 0.0
        share = (away - solids[at + 5]) / away
        return share * gx, share * gy
    inside, best, bx, by = True, math.inf, 0.0, 0.0
    for i in range(corners):
        j = (i + 1) % corners
        x1, y1 = solids[at + 3 + 2 * i], solids[at + 4 + 2 * i]
        ex, ey = solids[at + 3 + 2 * j] - x1, solids[at + 4 + 2 * j] - y1
        gx, gy = x - x1, y - y1
        if ex * gy - ey * gx < 0.0:
            inside = False
        share = min(max((gx * ex + gy * ey) / (ex * ex + ey * ey), 0.0), 1.0)
        gx, gy = gx - share * ex, gy - share * ey
        if gx * gx + gy * gy < best:
            best, bx, by = gx * gx + gy * gy, gx, gy
    if inside:
        return 0.0, 0.0
    return bx, by


def _check_convex(solid: Prism) -> None:
    corners = np.asarray(solid.footprint, dtype=float)
    field = f"obstacle {solid.name!r}"
    if corners.ndim != 2 or len(corners) < 3 or corners.shape[1] != 2 or not np.isfinite(corners).all():
        raise BadInput("a footprint needs at least 3 corners (x, y), all numbers", field=field)
    edges = np.roll(corners, -1, axis=0) - corners
    after = np.roll(edges, -1, axis=0)
    turns = edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0]
    if (np.linalg.norm(edges, axis=1) == 0).any():
        raise BadInput("two corners of the footprint are the same point; type each once", field=field)
    whole = np.sum(np.arctan2(turns, np.sum(edges * after, axis=1)))
    if (turns < -1e-9 * np.abs(turns).max()).any() or not abs(whole - 2 * math.pi) < 1e-6:
        raise BadInput(
            "the corners must go once around a convex footprint, anticlockwise seen from above; "
            "split another shape into convex parts",
            field=field,
        )
