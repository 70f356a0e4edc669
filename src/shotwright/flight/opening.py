"""Whether a ball passes an opening clear of its edge, and where its centre may cross.

Coordinates of a target: u, w in its plane, n along its normal, out of the front (`Target.axes`). The ball is
a sphere; the edge is a line without thickness. The ball's path near the opening is the polynomial through
place, velocity, acceleration, jerk and, where it is known, snap at the crossing.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright.flight.crossing import Crossings, Status
from shotwright.flight.edge_distance import compiled_distances, crossing_distance
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

_FEW = 12  # flights that the plain text follows sooner than the compiled one is loaded
_CIRCLE_CORNERS = 128


def edge_clearance(
    target: Target, crossings: Crossings, radius: float | FloatArray, *, plain: bool | None = None
) -> FloatArray:
    """Least distance between the ball's surface and the edge of an opening while it passes.

    Parameters
    ----------
    target : Target
        The opening.
    crossings : Crossings
        Flights to the target's plane.
    radius : float or ndarray, shape (n,)
        Of the ball. [m]
    plain : bool, optional
        Whether to take the plain text, which loads no compiler, or the compiled one; None: plain up to a
        dozen flights.

    Returns
    -------
    ndarray, shape (n,)
        Least distance of the centre's path from the edge, minus the radius; negative when the ball touches.
        When the centre crosses outside the opening: minus that distance, minus the radius. NaN for a flight
        that did not cross. [m]

    Notes
    -----
    The path is followed for as long as the ball needs to move by the opening's width, at most 0.3 s each
    side. For a ball in air the polynomial is off by less than 1e-6 m there without the snap, by less than
    1e-8 m with it; exact without air.
    """
    return np.asarray(_distances(target, crossings, plain) - np.asarray(radius, dtype=float))


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
    with np.errstate(invalid="ignore"):
        return np.asarray(edge_clearance(target, crossings, radius) >= 0.0)


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


def edge_sides(target: Target) -> FloatArray:
    """Return the sides of an opening's edge.

    Parameters
    ----------
    target : Target
        The opening.

    Returns
    -------
    ndarray, shape (k, 4)
        As `edge_distance.Side`. [m]
    """
    if target.radius is not None:
        return np.array([[target.radius, 0.0, 0.0, 0.0]])
    corners = np.asarray(target.corners, dtype=float)
    return np.hstack([corners, np.roll(corners, -1, axis=0)])


def _distances(target: Target, crossings: Crossings, plain: bool | None) -> FloatArray:
    """Signed least distance of the centres from the edge; NaN where the plane was not crossed."""
    frame = np.array([*target.axes(), target.centre])
    sides, ring, width = edge_sides(target), target.radius is not None, greatest_width(target)
    crossed = crossings.status == Status.CROSSED
    rates = crossings.velocity, crossings.acceleration, crossings.jerk, crossings.snap
    ends = (crossings.position, *rates, crossings.time)
    found = np.full(len(crossed), np.nan)
    if not (len(crossed) <= _FEW if plain is None else plain):
        # in rows of their own, whoever flew them: each other form would be compiled anew
        packed = tuple(np.ascontiguousarray(one) for one in ends)
        compiled_distances()(packed, frame, width, sides, ring, crossed, found)
        return found
    rows = sides.tolist()
    for i in np.flatnonzero(crossed).tolist():
        found[i] = crossing_distance(i, ends, frame, width, rows, ring)
    return found


def greatest_width(target: Target) -> float:
    """Return the greatest distance between two points of an opening's edge.

    Parameters
    ----------
    target : Target
        The opening.

    Returns
    -------
    float
        [m]
    """
    if target.radius is not None:
        return 2 * target.radius
    corners = np.asarray(target.corners, dtype=float)
    return float(np.linalg.norm(corners[:, None] - corners[None], axis=2).max())
