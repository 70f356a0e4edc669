"""Where balls' centres may cross an opening, for many directions at once: half-planes and their common part.

The same region as `opening.scoring_region` gives for one direction. Openings without inward corners are the
common part of half-planes, each set in by r |d x e| / |d . n| along its edge e; a circle is that of the
half-planes of its tangents.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.opening import scoring_region
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

TANGENTS = 24  # of a circle
_FRONT = 1e-9  # least normal part of a direction that still counts as coming from the front
_SAME = 1e-12  # m


def scoring_regions(
    target: Target, directions: FloatArray, radius: float
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Scoring regions of the ball's centre for straight paths along many directions.

    Parameters
    ----------
    target : Target
        The opening.
    directions : ndarray, shape (n, 3)
        Along the axes u, w, normal of the opening, of any length. [-]
    radius : float
        Of the ball. [m]

    Returns
    -------
    corners : ndarray, shape (n, k, 2)
        Corners (u, w), anticlockwise, the last one repeated to fill up. [m]
    fits : ndarray of bool, shape (n,)
        Whether there is a region; the corners are zero where there is none.

    Notes
    -----
    A circle is taken as 24 tangents of a slightly smaller one, so that the area of a ball that comes square
    on is exact. An opening with inward corners is taken from `scoring_region`, one direction at a time.
    """
    d = np.asarray(directions, dtype=float)
    d = d / np.linalg.norm(d, axis=1)[:, None]
    front = d[:, 2] < -_FRONT
    edges = _half_planes(target)
    if edges is None:
        return _one_by_one(target, d, front, radius)
    outward, height, shrink = edges
    along = np.column_stack([-outward[:, 1], outward[:, 0]])
    # |d x e|^2 = 1 - (d . e)^2 for unit vectors
    across = np.sqrt(np.maximum(1.0 - (d[:, :2] @ along.T) ** 2, 0.0))
    inset = radius * across / np.where(front, -d[:, 2], 1.0)[:, None]
    corners = np.zeros((len(d), len(outward), 2))
    counts = np.zeros(len(d), dtype=np.int64)
    heights = np.where(front[:, None], shrink * (height - inset), -1.0)
    if len(d) > _MANY:
        compiled_common_parts()(outward, heights, corners, counts)
    else:
        common_parts(outward, heights, corners, counts)
    return corners, counts >= 3


_MANY = 200  # directions for which loading the compiler pays


def _half_planes(target: Target) -> tuple[FloatArray, FloatArray, float] | None:
    """Outward normals and distances of an opening's edges, and by what to shrink; None when it is bent in."""
    if target.radius is not None:
        angle = 2 * math.pi * np.arange(TANGENTS) / TANGENTS
        shrink = math.sqrt(math.pi / (TANGENTS * math.tan(math.pi / TANGENTS)))
        return np.column_stack([np.cos(angle), np.sin(angle)]), np.full(TANGENTS, target.radius), shrink
    corners = np.asarray(target.corners, dtype=float)
    sides = np.roll(corners, -1, axis=0) - corners
    turn = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
    if not (turn > 0).all():
        return None
    outward = np.column_stack([sides[:, 1], -sides[:, 0]]) / np.linalg.norm(sides, axis=1)[:, None]
    return outward, np.einsum("ij,ij->i", outward, corners), 1.0


def _one_by_one(
    target: Target, d: FloatArray, front: NDArray[np.bool_], radius: float
) -> tuple[FloatArray, NDArray[np.bool_]]:
    axes = np.array(target.axes())
    found = [
        scoring_region(target, row @ axes, radius) if ahead else np.empty((0, 2))
        for row, ahead in zip(d, front, strict=True)
    ]
    corners = np.zeros((len(d), max([3, *(len(one) for one in found)]), 2))
    for row, one in zip(corners, found, strict=True):
        if len(one):
            row[: len(one)], row[len(one) :] = one, one[-1]
    return corners, np.array([len(one) >= 3 for one in found])


def common_parts(
    outward: FloatArray, heights: FloatArray, corners: FloatArray, counts: NDArray[np.int64]
) -> None:
    """Find the common part of half-planes, row by row; runs compiled for many rows and plain for few.

    Parameters
    ----------
    outward : ndarray, shape (k, 2)
        Unit normals by rising angle, all the way round. [-]
    heights : ndarray, shape (n, k)
        Distance of each edge from the origin along its normal. [m]
    corners : ndarray, shape (n, k, 2)
        Takes the corners, anticlockwise. [m]
    counts : ndarray of int, shape (n,)
        Takes how many there are; 0 where nothing is common. [-]
    """
    k = len(outward)
    here, there = np.empty((2 * k + 8, 2)), np.empty((2 * k + 8, 2))
    for i in range(len(heights)):
        far = 0.0
        for j in range(k):
            far = max(far, abs(heights[i, j]))
        far = 4.0 * far + 1.0
        here[0, 0], here[0, 1] = -far, -far
        here[1, 0], here[1, 1] = far, -far
        here[2, 0], here[2, 1] = far, far
        here[3, 0], here[3, 1] = -far, far
        count = 4
        for j in range(k):
            count = _cut(here, count, outward[j, 0], outward[j, 1], heights[i, j], there)
            here, there = there, here
            if count < 3:
                break
        kept = min(count, k) if count >= 3 else 0
        counts[i] = kept
        for c in range(k if kept else 0):
            at = min(c, kept - 1)
            corners[i, c, 0], corners[i, c, 1] = here[at, 0], here[at, 1]


def _cut(here: FloatArray, count: int, nx: float, ny: float, height: float, there: FloatArray) -> int:
    """Cut a convex polygon by one half-plane; return how many corners are left."""
    kept = 0
    x1, y1 = here[count - 1, 0], here[count - 1, 1]
    s1 = nx * x1 + ny * y1 - height
    for c in range(count):
        x2, y2 = here[c, 0], here[c, 1]
        s2 = nx * x2 + ny * y2 - height
        if (s1 < -_SAME and s2 > _SAME) or (s1 > _SAME and s2 < -_SAME):
            t = s1 / (s1 - s2)
            there[kept, 0], there[kept, 1] = x1 + t * (x2 - x1), y1 + t * (y2 - y1)
            kept += 1
        if s2 <= _SAME:
            there[kept, 0], there[kept, 1] = x2, y2
            kept += 1
        x1, y1, s1 = x2, y2, s2
    return kept


@functools.cache
def compiled_common_parts() -> Callable[..., None]:
    """Return `common_parts` compiled.

    Returns
    -------
    callable
        Takes the same.
    """
    from shotwright.flight.kernel import compile_plain

    return compile_plain(common_parts, cache=True)
