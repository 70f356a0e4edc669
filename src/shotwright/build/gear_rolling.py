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


def _chains(
    points: FloatArray, to_right: bool, window: tuple[float, float, float, float]
) -> list[FloatArray]:
    """Runs of sides of an anticlockwise loop whose outward normals point right (or left), near a window.

    Each run rises all along; its corners come from low to high. The window is left, right, low, high.
    """
    following = np.roll(points, -1, axis=0)
    keep = (following[:, 1] > points[:, 1]) if to_right else (following[:, 1] < points[:, 1])
    for k in (0, 1):
        keep &= np.maximum(points[:, k], following[:, k]) >= window[2 * k]
        keep &= np.minimum(points[:, k], following[:, k]) <= window[2 * k + 1]
    held = np.flatnonzero(keep)
    runs = np.split(held, np.flatnonzero(np.diff(held) > 1) + 1) if len(held) else []
    found = [np.concatenate([points[run], following[run[-1:]]]) for run in runs]
    return found if to_right else [run[::-1] for run in found]


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
        window = (-reach * pitch, reach * pitch, low, math.inf)
        front, back = _chains(stands, True, window), _chains(stands, False, window)
        high = max((float(run[-1, 1]) for run in front + back), default=low)
        moved = (window[0] - expected, window[1] - expected, low, high)
        driven, rear = _chains(rack, False, moved), _chains(rack, True, moved)
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


def height_gaps(gear: FloatArray, rack: FloatArray, travel: FloatArray) -> FloatArray:
    """Least height from the gear's upper faces to the rack's lower faces at several travels of the rack.

    Parameters
    ----------
    gear : ndarray, shape (n, 2)
        Closed outline where it stands. [m]
    rack : ndarray, shape (k, 2)
        Closed outline in the rack's frame. [m]
    travel : ndarray, shape (m,)
        Of the rack. [m]

    Returns
    -------
    ndarray, shape (m,)
        Negative where they overlap, infinity where no part of the gear lies below the rack. [m]
    """
    # Seen with x and y exchanged, upper faces face right. All of the gear that no rack reaches is left out.
    below, above = anticlockwise(gear[:, ::-1]), anticlockwise(rack[:, ::-1])
    left, right = float(above[:, 1].min()) + travel.min(), float(above[:, 1].max()) + travel.max()
    faces = _chains(below, True, (0.0, math.inf, left, right))
    roof = _chains(above, False, (-math.inf, math.inf, -math.inf, math.inf))
    found = []
    for x in travel:
        moved = [run + np.array([0.0, float(x)]) for run in roof]
        found.append(_gap(faces, moved, (-math.inf, math.inf))[0])
    return np.array(found)
