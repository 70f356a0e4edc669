"""Places along the edge of what a ball's centre may cross, cut into smooth pieces for integrals along it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from shotwright.flight.opening import scoring_region
from shotwright.game.records import Target

FloatArray = NDArray[np.float64]

_ARC_NODES = 9
_SIDE_NODES = {3: 5}  # more corners: 4 for each side
_MANY_SIDES_NODES = 4


@dataclass(frozen=True, slots=True)
class EdgePieces:
    """How an edge is cut: into pieces with the same number of Gauss-Lobatto nodes, which hold both ends.

    Parameters
    ----------
    count : int
        Pieces.
    node, weight : ndarray, shape (n,)
        Nodes of a piece, from -1 to 1, and the weights of an integral over it.
    derivative : ndarray, shape (n, n)
        Takes values at the nodes to derivatives there.
    """

    count: int
    node: FloatArray
    weight: FloatArray
    derivative: FloatArray

    def along(self, values: FloatArray) -> FloatArray:
        """Derivatives along the edge of values at all nodes, shape (..., count * n)."""
        pieces = values.reshape(*values.shape[:-1], self.count, len(self.node)) @ self.derivative.T
        return np.asarray(pieces.reshape(values.shape))

    def weighted(self, values: FloatArray) -> FloatArray:
        """Values at all nodes times the weights of an integral along the edge."""
        return np.asarray(values * np.tile(self.weight, self.count))


def edge_pieces(target: Target) -> EdgePieces | None:
    """Cut the edge of an opening: a circle into two arcs, a convex polygon into its sides.

    Parameters
    ----------
    target : Target
        The opening.

    Returns
    -------
    EdgePieces or None
        None for a polygon with an inward or a flat corner.

    Notes
    -----
    Seen at a flat angle, what a ball's centre may cross of a circle is a lens with a corner to each side;
    the arcs end there.
    """
    if target.radius is not None:
        return _pieces(2, _ARC_NODES)
    corners = np.asarray(target.corners, dtype=float)
    sides = np.roll(corners, -1, axis=0) - corners
    length = np.linalg.norm(sides, axis=1)
    turn = _cross(np.roll(sides, 1, axis=0), sides)
    if not np.all(turn > 1e-6 * length * np.roll(length, 1)):
        return None
    return _pieces(len(corners), _SIDE_NODES.get(len(corners), _MANY_SIDES_NODES))


def edge_places(
    target: Target, direction: FloatArray, radius: float, pieces: EdgePieces, beyond: FloatArray
) -> tuple[FloatArray, FloatArray] | None:
    """Places on the edge of the scoring region, on a straight path.

    Parameters
    ----------
    target : Target
        The opening.
    direction : ndarray, shape (3,)
        Of the ball's velocity at the crossing. [-]
    radius : float
        Of the ball. [m]
    pieces : EdgePieces
        Of this target.
    beyond : ndarray, shape (2,)
        Unit vector (u, w) in the plane; the arcs of a circle meet to its left and right. [-]

    Returns
    -------
    tuple of ndarray, or None
        Middle (2,) and places (m, 2) of the region; None when the ball does not fit, or when a whole side of
        the polygon is out of reach. [m]
    """
    corners = (
        scoring_region(target, direction, radius)
        if target.radius is not None
        else _set_in(target, direction, radius)
    )
    if corners is None or len(corners) == 0:
        return None
    if target.radius is None:
        share = (pieces.node + 1) / 2
        sides = np.roll(corners, -1, axis=0) - corners
        places = corners[:, None] + share[:, None] * sides[:, None]
        return corners.mean(axis=0), places.reshape(-1, 2)
    right = np.array([beyond[1], -beyond[0]])
    angle = (pieces.node[None] + 1) * math.pi / 2 + math.pi * np.arange(2)[:, None]
    wide, deep = (float(np.max(np.abs(corners @ axis))) for axis in (right, beyond))
    ray = np.outer(wide * np.cos(angle.ravel()), right) + np.outer(deep * np.sin(angle.ravel()), beyond)
    return np.zeros(2), ray * _reach(corners, ray)[:, None]


def _set_in(target: Target, direction: FloatArray, radius: float) -> FloatArray | None:
    """Corners of a convex polygon with each side moved inwards by r |d x e| / |d . n|."""
    d = np.array(target.axes()) @ (direction / np.linalg.norm(direction))
    if not d[2] < -1e-9:
        return None
    corners = np.asarray(target.corners, dtype=float)
    sides = np.roll(corners, -1, axis=0) - corners
    e = sides / np.linalg.norm(sides, axis=1)[:, None]
    move = radius * np.sqrt(np.maximum(1.0 - (e @ d[:2]) ** 2, 0.0)) / -d[2]
    moved = corners + move[:, None] * np.column_stack([-e[:, 1], e[:, 0]])
    before, its_e = np.roll(moved, 1, axis=0), np.roll(e, 1, axis=0)
    step = _cross(moved - before, e) / _cross(its_e, e)
    inner = before + step[:, None] * its_e
    left = np.roll(inner, -1, axis=0) - inner
    return inner if np.all(np.einsum("ij,ij->i", left, e) > 0) else None


def _reach(corners: FloatArray, rays: FloatArray) -> FloatArray:
    """Share of each ray from the origin at which it leaves a convex polygon around it."""
    sides = np.roll(corners, -1, axis=0) - corners
    outward = np.column_stack([sides[:, 1], -sides[:, 0]])
    ahead = rays @ outward.T
    share = np.einsum("ij,ij->i", outward, corners) / np.where(ahead > 0, ahead, np.nan)
    return np.asarray(np.nanmin(share, axis=1))


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _pieces(count: int, nodes: int) -> EdgePieces:
    """Gauss-Lobatto: the ends, and the roots of the derivative of the Legendre polynomial P(n - 1)."""
    highest = np.zeros(nodes)
    highest[-1] = 1.0
    node = np.concatenate([[-1.0], legendre.legroots(legendre.legder(highest)), [1.0]])
    weight = 2.0 / (nodes * (nodes - 1) * legendre.legval(node, highest) ** 2)
    apart = node[:, None] - node + np.eye(nodes)
    barycentric = 1.0 / np.prod(apart, axis=1)
    derivative = barycentric / barycentric[:, None] / apart
    np.fill_diagonal(derivative, 0.0)
    np.fill_diagonal(derivative, -derivative.sum(axis=1))
    return EdgePieces(count, node, weight, derivative)
