r"""Centre, radius and streak of a moving ball from how strongly each pixel shows it.

While the shutter is open the ball's disc of radius r moves by L. The share of the exposure for which a pixel
is covered, its cover, is the disc convolved with a line: its centroid is the ball's centre at mid-exposure,
and its second moments are

.. math:: \lambda_1 = r^2/4 + L^2/12, \qquad \lambda_2 = r^2/4

along and across the path. Both hold for any brightness of the ball, as moments don't change with a factor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_PAINT = 0.36  # of the squared change; noise stays below
_STEEP_FROM, _STEEP_OVER = 0.05, 0.75


@dataclass(frozen=True, slots=True)
class Streak:
    """A ball as one frame shows it.

    Parameters
    ----------
    x, y : float
        Centre at mid-exposure, from the middle of the first pixel, y down. [px]
    radius : float
        [px]
    length : float
        Way of the centre during the exposure; 0 when it can't be told from a disc. [px]
    direction : float
        Of the streak, from +x towards +y; known up to half a turn. [rad]
    fit : float
        Share of the cover that a disc of this radius and streak explains, 0 to 1. [-]
    """

    x: float
    y: float
    radius: float
    length: float
    direction: float
    fit: float


def cover_of(picture: FloatArray, still: FloatArray, floor: float) -> FloatArray:
    r"""Cover of each pixel of a part of a frame, given the background behind the ball.

    With the ball's colour F taken as the mean where it shows most, the least-squares share of F over B in a
    pixel I is :math:`(I-B)\cdot(F-B) / |F-B|^2`.

    Parameters
    ----------
    picture, still : ndarray, shape (h, w, 3)
        The frame, and the background alone. [of 255]
    floor : float
        Share that noise may reach; less counts as nothing. [-]

    Returns
    -------
    ndarray, shape (h, w)
        0 to 1. [-]
    """
    change = picture - still
    size = np.einsum("ijk,ijk->ij", change, change)
    few = max(size.size // 100, 4)  # more than a fleck of noise, less than the middle of any ball
    most = size >= 0.8 * np.partition(size, -few, axis=None)[-few]
    colour = picture[most].mean(axis=0)
    span = colour - still
    whole = np.maximum(np.einsum("ijk,ijk->ij", span, span), 25.0)
    share = np.einsum("ijk,ijk->ij", change, span) / whole
    # paint on the ball has another colour: what differs as much as the ball does is the ball too
    painted = size > _PAINT * whole
    share[painted] = np.maximum(share, np.sqrt(size / whole))[painted]
    share[share < floor] = 0.0
    return np.asarray(np.minimum(share, 1.0))


def streak_of(cover: FloatArray, left: float = 0.0, top: float = 0.0) -> Streak | None:
    """Measure a ball from its cover.

    Parameters
    ----------
    cover : ndarray, shape (h, w)
        0 to 1; nothing else may be in it. [-]
    left, top : float
        Where the part lies in the frame. [px]

    Returns
    -------
    Streak or None
        None when next to nothing is covered.
    """
    total = float(cover.sum())
    if total < 2.0:
        return None
    across, down = cover.sum(axis=0), cover.sum(axis=1)
    x, y = np.arange(cover.shape[1]), np.arange(cover.shape[0])
    cx, cy = float(across @ x) / total, float(down @ y) / total
    # a pixel is a square: its own second moment is in every sum
    xx = float(across @ (x - cx) ** 2) / total - 1.0 / 12.0
    yy = float(down @ (y - cy) ** 2) / total - 1.0 / 12.0
    xy = float((y - cy) @ cover @ (x - cx)) / total
    middle, half = 0.5 * (xx + yy), math.hypot(0.5 * (xx - yy), xy)
    least = middle - half
    if least <= 0.05:
        return None
    radius = 2.0 * math.sqrt(least)
    length = math.sqrt(24.0 * half)
    direction = 0.5 * math.atan2(2.0 * xy, xx - yy)
    # A streak is symmetric about its centre, so its centroid survives any change of scale: where shade and
    # light on the ball change the cover in its inside, a steeper scale with an upper end no longer sees them.
    steep = np.clip((cover - _STEEP_FROM) / _STEEP_OVER, 0.0, 1.0)
    part = max(float(steep.sum()), 1e-9)
    bx, by = float(steep.sum(axis=0) @ x) / part, float(steep.sum(axis=1) @ y) / part
    return Streak(
        bx + left,
        by + top,
        radius,
        length,
        direction,
        _agreement(cover, total, cx, cy, radius, length, direction),
    )


def _agreement(
    cover: FloatArray, total: float, cx: float, cy: float, radius: float, length: float, direction: float
) -> float:
    """Overlap of a cover with that of a disc drawn along its streak, both scaled to one sum."""
    y, x = np.mgrid[0 : cover.shape[0], 0 : cover.shape[1]]
    along = (x - cx) * math.cos(direction) + (y - cy) * math.sin(direction)
    aside = (y - cy) * math.cos(direction) - (x - cx) * math.sin(direction)
    chord = np.sqrt(np.maximum(radius * radius - aside * aside, 0.0))
    # Each line along the path sees the disc's chord go by: a trapezoid of the place along it.
    reach = np.minimum(along + chord, 0.5 * length) - np.maximum(along - chord, -0.5 * length)
    if length < 1.0:
        model = np.clip(radius + 0.5 - np.hypot(along, aside), 0.0, 1.0)
    else:
        model = np.clip(reach / length, 0.0, 1.0)
    have = float(model.sum())
    if have <= 0.0:
        return 0.0
    return float(np.minimum(cover / total, model / have).sum())
