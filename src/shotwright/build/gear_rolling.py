r"""Roll a drawn gear on a drawn rack: where they touch, how far the rack is, what torque it takes.

Nothing here knows the law that the two were drawn from: only the corners of the closed outlines are used,
every corner of one against every side of the other. The gear turns clockwise about the origin, the rack
slides along x and is pressed back on the gear by its spring. At a turn theta the gear stands at
90 deg - theta.

With the place of contact (x, y) and the common normal (n_x, n_y) the rack's travel grows by

.. math:: dX/d\theta = y - x\, n_y/n_x

which times the force is the torque without friction, by virtual work.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


_NEAR = 1 / 12  # pitches; a side farther from where the rack is expected belongs to another pair of teeth


@dataclass(frozen=True, slots=True, eq=False)
class Meshing:
    """What a gear does to its rack, from the outlines; NaN where nothing touches.

    Parameters
    ----------
    turn : ndarray, shape (n,)
        Of the gear. [rad]
    travel : ndarray, shape (n,)
        Of the rack. [m]
    rate : ndarray, shape (n,)
        d travel/d turn, from place and direction of the contact. [m/rad]
    contact : ndarray, shape (n, 2)
        Place of contact; the axis is the origin, the rack slides along x. [m]
    play : ndarray, shape (n,)
        Travel that the rack has the other way until the backs of teeth touch; below zero they overlap. [m]
    """

    turn: FloatArray
    travel: FloatArray
    rate: FloatArray
    contact: FloatArray
    play: FloatArray


def _runs(
    points: FloatArray, window: tuple[float, float], low: float
) -> tuple[list[FloatArray], list[FloatArray]]:
    """Runs of sides of an anticlockwise loop near a window of x and above a height.

    Those whose outward normals point to the right come first, then those to the left. Each run rises all
    along; its corners come from low to high.
    """
    x, y = points[:, 0], points[:, 1]
    inside = (x >= window[0]) & (x <= window[1]) & (y >= low)
    held = np.flatnonzero(inside | np.roll(inside, -1))  # side i goes from corner i to the next
    following = points[(held + 1) % len(points)]
    rise = following[:, 1] - points[held, 1]
    found: list[list[FloatArray]] = []
    for keep in (rise > 0, rise < 0):
        at = np.flatnonzero(keep)
        cuts = np.flatnonzero(np.diff(held[at]) > 1) + 1
        ends = [0, *cuts.tolist(), len(at)]
        found.append(
            [
                np.concatenate([points[held[at[i:j]]], following[at[j - 1 : j]]])
                for i, j in pairwise(ends)
                if j > i
            ]
        )
    return found[0], [run[::-1] for run in found[1]]


def anticlockwise(points: FloatArray) -> FloatArray:
    """Return the loop with its corners in anticlockwise order."""
    x, y = (points - points[0]).T
    area = np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))
    return points if area > 0 else points[::-1]


def turned(points: FloatArray, angle: float) -> FloatArray:
    """Return points turned anticlockwise about the origin."""
    c, s = math.cos(angle), math.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def _gap(
    left: list[FloatArray], right: list[FloatArray], within: tuple[float, float]
) -> tuple[float, FloatArray, FloatArray]:
    """Smallest gap along x from runs that face right to runs that face left; where, and along what.

    Between two runs the gap is piecewise straight in y, with its corners at theirs, so that only those count.
    Only gaps inside `within` count. Returns infinity when there is none.
    """
    best, place, found = math.inf, np.full(2, np.nan), np.zeros((0, 2))
    for a in left:
        for b in right:
            low, high = max(a[0, 1], b[0, 1]), min(a[-1, 1], b[-1, 1])
            if low > high or b[:, 0].min() - a[:, 0].max() > min(best, within[1]):
                continue
            y = np.concatenate([a[:, 1], b[:, 1]])
            x = np.interp(y, a[:, 1], a[:, 0])
            gap = np.interp(y, b[:, 1], b[:, 0]) - x
            gap[(y < low) | (y > high) | (gap < within[0]) | (gap > within[1])] = np.inf
            at = int(np.argmin(gap))
            if gap[at] < best:
                best, place = float(gap[at]), np.array([x[at], y[at]])
                found = b if at < len(a) else a  # a corner of one lies on a side of the other
    if not len(found):
        return best, place, place
    j = min(max(int(np.searchsorted(found[:, 1], place[1], side="right")), 1), len(found) - 1)
    return best, place, found[j] - found[j - 1]


def mesh(
    gear: FloatArray,
    rack: FloatArray,
    turn: FloatArray,
    pitch: float,
    *,
    start: float = 0.0,
    reach: float = 1.5,
) -> Meshing:
    """Roll a gear on a rack through the angles `turn`, which follow each other in small steps.

    Parameters
    ----------
    gear : ndarray, shape (n, 2)
        Closed outline in the gear's frame, its axis at the origin. [m]
    rack : ndarray, shape (k, 2)
        Closed outline in the rack's frame, above the gear. [m]
    turn : ndarray, shape (m,)
        Angles of the gear. [rad]
    pitch : float
        Of the teeth. The pair that is meant lies within a twelfth of it from where the last step leads. [m]
    start : float
        Travel near which to begin. [m]
    reach : float
        How far from the axis, along the travel, contacts are looked for. [pitches]

    Returns
    -------
    Meshing
        Travel, rate, contact, play.
    """
    gear, rack = anticlockwise(gear), anticlockwise(rack)
    low, near = float(rack[:, 1].min()), _NEAR * pitch
    results = np.full((len(turn), 5), np.nan)
    expected, rate = start, 0.0
    for k, angle in enumerate(turn):
        stands = turned(gear, math.pi / 2 - float(angle))
        expected += rate * float(angle - turn[max(k - 1, 0)])
        front, back = _runs(stands, (-reach * pitch, reach * pitch), low)
        rear, driven = _runs(rack, (-reach * pitch - expected, reach * pitch - expected), -math.inf)
        # The rack stays in its own frame; a travel X takes X from every gap.
        gap, place, side = _gap(front, driven, (-near - expected, near - expected))
        if not math.isfinite(gap):
            rate = 0.0
            continue
        travel = -gap
        play, _, _ = _gap(rear, back, (travel - near, math.inf))
        rate = float(place[1] + place[0] * side[0] / side[1])
        results[k] = travel, rate, place[0], place[1], play - travel
        expected = travel
    return Meshing(turn, results[:, 0], results[:, 1], results[:, 2:4], results[:, 4])


def skyline(points: FloatArray, step: float, upper: bool) -> tuple[int, FloatArray]:
    """Highest (or lowest) point of a closed outline over each strip of x of the width `step`.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Closed outline. [m]
    step : float
        Width of a strip. [m]
    upper : bool
        Highest; else lowest.

    Returns
    -------
    tuple of (int, ndarray)
        Number of the first strip, counted from x = 0; heights. [m]
    """
    along = np.roll(points, -1, axis=0) - points
    pieces = np.maximum(np.ceil(np.abs(along[:, 0]) / (0.5 * step)).astype(int), 1)
    which = np.repeat(np.arange(len(points)), pieces)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[which]
    dense = points[which] + share[:, None] * along[which]
    strip = np.floor(dense[:, 0] / step).astype(int)
    first = int(strip.min())
    heights = np.full(int(strip.max()) - first + 1, -np.inf if upper else np.inf)
    (np.maximum if upper else np.minimum).at(heights, strip - first, dense[:, 1])
    return first, heights


def height_gaps(
    gear: FloatArray, rack: tuple[int, FloatArray], travel: FloatArray, step: float
) -> FloatArray:
    """Least height from the gear's upper edge to the rack's lower edge at several travels of the rack.

    Parameters
    ----------
    gear : ndarray, shape (n, 2)
        Closed outline where it stands. [m]
    rack : tuple of (int, ndarray)
        Lower skyline of the rack in its own frame. [m]
    travel : ndarray, shape (m,)
        Of the rack; taken to a whole number of steps. [m]
    step : float
        Width of the strips of the skyline. [m]

    Returns
    -------
    ndarray, shape (m,)
        Negative where they overlap, infinity where no part of the gear lies below the rack. [m]
    """
    start, up = skyline(gear, step, upper=True)
    first, low = rack
    padded = np.concatenate([np.full(len(low), -np.inf), up, np.full(len(low), -np.inf)])
    shift = np.round(travel / step).astype(int) + first - start + len(low)
    reach = np.clip(shift, 0, len(padded) - len(low))
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(low))
    return np.asarray((low - windows[reach]).min(axis=1))
