"""Extreme spread: the largest distance between two shots of a group."""

from __future__ import annotations

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.statistics.circular import as_points

FloatArray = NDArray[np.float64]

_ALL_PAIRS_UP_TO = 40  # shots; above, simulated groups are measured as the largest width over 90 directions


def extreme_spread(points: ArrayLike) -> float:
    """Largest distance between two marks; 0 for fewer than 2.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks. [m]

    Returns
    -------
    float
        Distance. [m]

    Notes
    -----
    Only corners of the convex hull can be farthest apart, so 10 000 shots are no burden.

    Examples
    --------
    >>> extreme_spread([(0, 0), (3, 4), (1, 1)])
    5.0
    """
    corners = as_points(points)
    if len(corners) < 2:
        return 0.0
    if len(corners) > _ALL_PAIRS_UP_TO:
        corners = _hull(corners)
    block = 2000
    return max(
        float(scipy.spatial.distance.cdist(corners[i : i + block], corners).max())
        for i in range(0, len(corners), block)
    )


def _hull(points: FloatArray) -> FloatArray:
    try:
        return np.asarray(points[scipy.spatial.ConvexHull(points).vertices])
    except scipy.spatial.QhullError:
        # All on one line: its ends are the first and last along the axis that varies most.
        along = points[:, int(np.argmax(np.ptp(points, axis=0)))]
        return points[[int(along.argmin()), int(along.argmax())]]


def simulated_groups(
    n: int, sd_ratio: float, rng: np.random.Generator, groups: int | None = None
) -> tuple[FloatArray, FloatArray]:
    """Extreme spread and mean radius (about the group's own centre) of simulated groups of n shots.

    Parameters
    ----------
    n : int
        Shots in a group, 2 or more. [-]
    sd_ratio : float
        Shorter over longer principal standard deviation; the longer is 1. [-]
    rng : numpy.random.Generator
        Source of randomness. [-]
    groups : int, optional
        How many groups; by default 4 000, fewer for more than 100 shots. [-]

    Returns
    -------
    tuple of ndarray, shape (groups,)
        Extreme spreads and mean radii, in units of the longer standard deviation. [-]

    Notes
    -----
    Above 40 shots the spread is read as the largest width over 90 directions: at most 0.015 % short.
    """
    count = groups if groups is not None else int(np.clip(400_000 // n, 200, 4000))
    spread, radius = np.empty(count), np.empty(count)
    block = max(1, 200_000 // n)
    for first in range(0, count, block):
        size = min(block, count - first)
        shots = rng.standard_normal((size, n, 2)) * (1.0, sd_ratio)
        spread[first : first + size] = _widest(shots)
        centred = shots - shots.mean(axis=1, keepdims=True)
        radius[first : first + size] = np.hypot(centred[..., 0], centred[..., 1]).mean(axis=1)
    return spread, radius


def _widest(shots: FloatArray) -> FloatArray:
    n = shots.shape[1]
    widest = np.zeros(len(shots))
    if n <= _ALL_PAIRS_UP_TO:
        for i in range(n - 1):
            gap = shots[:, i + 1 :] - shots[:, i : i + 1]
            widest = np.maximum(widest, np.hypot(gap[..., 0], gap[..., 1]).max(axis=1))
        return widest
    for angle in np.arange(90) * np.pi / 90:
        along = shots[..., 0] * np.cos(angle) + shots[..., 1] * np.sin(angle)
        widest = np.maximum(widest, np.ptp(along, axis=1))
    return widest
