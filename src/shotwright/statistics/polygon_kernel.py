"""The integral along a polygon's edges compiled, for thousands of positions at once.

Edges are cut into pieces on which few Gauss-Legendre nodes are enough; pieces of a kind, from all positions,
are gathered and evaluated together, four or more at a time in one vector register. Importing this module
loads the compiler.
"""

from __future__ import annotations

import functools
import math
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwright.base.compiled import Compiled, with_compiled_callees

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Pairs of nodes at +-t of a piece -1..1, with weights, for 4, 6 and 8 nodes.
_KINDS = 3
_PAIRS = (2, 3, 4)
_NODES, _WEIGHTS = np.zeros((_KINDS, 4)), np.zeros((_KINDS, 4))
for _kind, _pairs in enumerate(_PAIRS):
    _points, _shares = np.polynomial.legendre.leggauss(2 * _pairs)
    _NODES[_kind, :_pairs], _WEIGHTS[_kind, :_pairs] = _points[_pairs:], _shares[_pairs:]
# Squared length up to which a kind keeps a piece's error below 5e-12: in standard deviations; in distances
# from the mean, where that is far and only 1/r^2 is left; in distances from the singularity of a Student t.
_IN_SPREADS = (0.25, 2.1, 6.8)
_IN_DISTANCES = (0.0144, 0.1225, 0.64)
_TO_SINGULARITY = (0.0225, 0.16, 0.6)
_CUT = _KINDS  # the kind of an edge that must be cut into pieces

# Work arrays are rows of one flat array at fixed distances: so the compiler sees that they are apart.
_LANES = 64  # positions of a block
_X, _Y, _TO_X, _SLANT, _TO_Y, _DX, _DY, _BX, _BY, _NEXT_X, _NEXT_Y = range(0, 11 * _LANES, _LANES)
_CROSS, _MIDDLE, _SLOPE, _BEND, _KIND = range(11 * _LANES, 16 * _LANES, _LANES)
_ROOM = 192  # pieces of a kind that wait
_B0, _B1, _B2, _SUM = range(_ROOM, 5 * _ROOM, _ROOM)  # after the coefficient; r^2/2 is b0 + b1 t + b2 t^2

_LEAST = 1e-30  # added to r^2/2: a node on the mean itself weighs nothing
_NEGLIGIBLE = 1e-12  # of the density's tail

_PER_LN2, _LN2_HIGH, _LN2_LOW = 1.4426950408889634, 6.93147180369123816490e-01, 1.90821492927058770002e-10
_SHIFT = 6755399441055744.0 + 1023.0  # 1.5 x 2^52 rounds to a whole number in the lowest bits
_HALF_ROOT = 0x3FE6A09E667F3BCD  # bits of sqrt(1/2)
_INTEGERS = 0x4330000000000000  # bits of 2^52


def _exp_minus(q: float) -> float:
    """e^-q for q >= 0, without a branch or a call, so that it runs in vector registers."""
    x = -min(q, 700.0)
    k = math.floor(x * _PER_LN2 + 0.5)
    r = (x - k * _LN2_HIGH) - k * _LN2_LOW
    high = 1 / 5040 + r * (1 / 40320 + r * (1 / 362880 + r * (1 / 3628800 + r / 39916800)))
    p = 1.0 + r * (1.0 + r * (0.5 + r * (1 / 6 + r * (1 / 24 + r * (1 / 120 + r * (1 / 720 + r * high))))))
    bits = np.int64(np.float64(k + _SHIFT).view(np.int64) << np.int64(52))
    return float(p * bits.view(np.float64))


def _log1p(x: float) -> float:
    """log(1 + x) for x >= 0, as `_exp_minus`."""
    y = 1.0 + x
    bits = np.float64(y).view(np.int64)
    k = np.int64(np.uint64(bits - np.int64(_HALF_ROOT)) >> np.uint64(52))
    m = np.int64(bits - (k << np.int64(52))).view(np.float64)
    exponent = np.int64(k | np.int64(_INTEGERS)).view(np.float64) - 4503599627370496.0
    z = (m - 1.0) / (m + 1.0)
    s = z * z
    high = 2 / 9 + s * (2 / 11 + s * (2 / 13 + s * (2 / 15 + s * (2 / 17))))
    p = 2.0 + s * (2 / 3 + s * (2 / 5 + s * (2 / 7 + s * high)))
    return float(exponent * 0.6931471805599453 + z * p + (x - (y - 1.0)))


class Work(NamedTuple):
    """Room to work in."""

    block: FloatArray  # the positions at hand
    pieces: FloatArray  # those that wait, kind after kind
    owners: IntArray  # position that each belongs to
    counts: IntArray  # how many wait, by kind


def _settle(kind: int, nu: float, work: Work, probability: FloatArray) -> None:
    """Evaluate the pieces of a kind that wait, and add each to its position; nu = 0 is the normal."""
    n = work.counts[kind]
    at = kind * 5 * _ROOM
    v = work.pieces[at : at + 5 * _ROOM]
    for i in range(n):
        v[_SUM + i] = 0.0
    for pair in range(_PAIRS[kind]):
        t, weight = _NODES[kind, pair], _WEIGHTS[kind, pair]
        if nu == 0.0:
            for i in range(n):
                middle, slope = v[_B0 + i] + t * t * v[_B2 + i], t * v[_B1 + i]
                q, p = abs(middle + slope) + _LEAST, abs(middle - slope) + _LEAST
                v[_SUM + i] += weight * ((1.0 - _exp_minus(q)) * p + (1.0 - _exp_minus(p)) * q) / (q * p)
        else:
            half, scale = 0.5 * nu, 2.0 / nu
            for i in range(n):
                middle, slope = v[_B0 + i] + t * t * v[_B2 + i], t * v[_B1 + i]
                q, p = abs(middle + slope) + _LEAST, abs(middle - slope) + _LEAST
                one, other = _exp_minus(half * _log1p(scale * q)), _exp_minus(half * _log1p(scale * p))
                v[_SUM + i] += weight * ((1.0 - one) * p + (1.0 - other) * q) / (q * p)
    for i in range(n):
        probability[work.owners[kind * _ROOM + i]] += v[i] * v[_SUM + i]
    work.counts[kind] = 0


def _longest(kind: int, near: float, reach: float, nu: float) -> float:
    """Squared length of the longest piece of a kind whose nearest point lies at r^2 = `near`."""
    longest = _IN_SPREADS[kind]
    if nu > 0.0:
        # the tail of a Student t falls with r/nu per r
        longest = min(longest * max(1.0, 4.0 * near / (nu * nu)), _TO_SINGULARITY[kind] * (nu + near))
    return longest if near < reach else _IN_DISTANCES[kind] * near


def _outward(
    height: float,
    start: float,
    end: float,
    reach: float,
    nu: float,
    owner: int,
    work: Work,
    probability: FloatArray,
) -> None:
    """Cut a part of an edge, from `start` to `end` of its foot, into pieces that grow with the distance."""
    x = start
    while x < end:
        near = height * height + x * x
        length = math.sqrt(_longest(_KINDS - 1, near, reach, nu))
        rest = end - x
        if rest < 2.0 * length:
            length = rest if rest <= length else 0.5 * rest
        square, middle = length * length, x + 0.5 * length
        kind = 0
        while kind < _KINDS - 1 and square > _longest(kind, near, reach, nu):
            kind += 1
        if work.counts[kind] == _ROOM:
            _settle(kind, nu, work, probability)
        i, v = work.counts[kind], work.pieces[kind * 5 * _ROOM :]
        v[i] = height * length
        v[_B0 + i] = 0.5 * (height * height + middle * middle)
        v[_B1 + i] = 0.5 * middle * length
        v[_B2 + i] = 0.125 * square
        work.owners[kind * _ROOM + i] = owner
        work.counts[kind] = i + 1
        x = x + length if length < rest else end


def _cut(reach: float, nu: float, work: Work, probability: FloatArray) -> None:
    """Cut the edges that wait for it."""
    v = work.pieces[_CUT * 5 * _ROOM :]
    for i in range(work.counts[_CUT]):
        owner, cross, square = work.owners[_CUT * _ROOM + i], v[i], 8.0 * v[_B2 + i]
        length = math.sqrt(square)
        height, start = cross / length, (2.0 * v[_B1 + i] - 0.5 * square) / length
        end = start + length
        if height == 0.0:
            continue
        if start < 0.0 and end > 0.0:
            _outward(height, 0.0, end, reach, nu, owner, work, probability)
            _outward(height, 0.0, -start, reach, nu, owner, work, probability)
        else:
            low, high = min(abs(start), abs(end)), max(abs(start), abs(end))
            _outward(height, low, high, reach, nu, owner, work, probability)
    work.counts[_CUT] = 0


def _edges(reach: float, nu: float, v: FloatArray) -> None:
    """From the corners before to the next ones: each edge of the block as one piece, and its kind."""
    for i in range(_LANES):
        dx, dy, ax, ay = v[_DX + i], v[_DY + i], v[_BX + i], v[_BY + i]
        next_dx, next_dy = v[_NEXT_X + i] - v[_X + i], v[_NEXT_Y + i] - v[_Y + i]
        bx = next_dx * v[_TO_X + i]
        by = (next_dy - v[_SLANT + i] * bx) * v[_TO_Y + i]
        # the cross product is taken before whitening: a thin spread would lose its digits
        cross = (dx * (next_dy - dy) - dy * (next_dx - dx)) * v[_TO_X + i] * v[_TO_Y + i]
        ex, ey = bx - ax, by - ay
        square, along, begin = ex * ex + ey * ey, ax * ex + ay * ey, ax * ax + ay * ay
        inside = cross * cross / square if along + square > 0.0 else bx * bx + by * by
        near = inside if along < 0.0 else begin
        kind = 1.0 if square > _longest(0, near, reach, nu) else 0.0
        kind += 1.0 if square > _longest(1, near, reach, nu) else 0.0
        kind += 1.0 if square > _longest(2, near, reach, nu) else 0.0
        v[_CROSS + i] = cross
        v[_MIDDLE + i] = 0.5 * (begin + along) + 0.125 * square
        v[_SLOPE + i] = 0.5 * along + 0.25 * square
        v[_BEND + i] = 0.125 * square
        v[_KIND + i] = kind
        v[_DX + i] = next_dx
        v[_DY + i] = next_dy
        v[_BX + i] = bx
        v[_BY + i] = by


def _next_corner(k: int, first: int, last: int, polygons: FloatArray, v: FloatArray) -> None:
    for i in range(_LANES):
        at = min(first + i, last - 1, polygons.shape[2] - 1)
        v[_NEXT_X + i] = polygons[k, 0, at]
        v[_NEXT_Y + i] = polygons[k, 1, at]


def _begin_block(
    first: int, last: int, means: FloatArray, factors: FloatArray, polygons: FloatArray, v: FloatArray
) -> None:
    """Load a block of positions; lanes beyond the last one repeat it."""
    k = len(polygons) - 1
    for i in range(_LANES):
        at = min(first + i, last - 1)
        own, corner = min(at, len(factors) - 1), min(at, polygons.shape[2] - 1)
        v[_X + i], v[_Y + i] = means[at, 0], means[at, 1]
        v[_TO_X + i], v[_SLANT + i], v[_TO_Y + i] = (
            1.0 / factors[own, 0],
            factors[own, 1],
            1.0 / factors[own, 2],
        )
        v[_DX + i], v[_DY + i] = polygons[k, 0, corner] - v[_X + i], polygons[k, 1, corner] - v[_Y + i]
        v[_BX + i] = v[_DX + i] * v[_TO_X + i]
        v[_BY + i] = (v[_DY + i] - v[_SLANT + i] * v[_BX + i]) * v[_TO_Y + i]


def _hand_out(first: int, n: int, work: Work) -> None:
    """Put each edge of the block where those of its kind wait."""
    v, pieces, owners, counts = work.block, work.pieces, work.owners, work.counts
    for i in range(n):
        kind = int(v[_KIND + i])
        j = counts[kind]
        at = kind * 5 * _ROOM + j
        pieces[at] = v[_CROSS + i]
        pieces[at + _B0] = v[_MIDDLE + i]
        pieces[at + _B1] = v[_SLOPE + i]
        pieces[at + _B2] = v[_BEND + i]
        owners[kind * _ROOM + j] = first + i
        counts[kind] = j + 1


def _positions(
    means: FloatArray,
    factors: FloatArray,
    polygons: FloatArray,
    nu: float,
    reach: float,
    work: Work,
    probability: FloatArray,
) -> None:
    """Sum over the edges of all positions, block by block."""
    last = len(means)
    for first in range(0, last, _LANES):
        n = min(_LANES, last - first)
        _begin_block(first, last, means, factors, polygons, work.block)
        for k in range(len(polygons)):
            _next_corner(k, first, last, polygons, work.block)
            _edges(reach, nu, work.block)
            if work.counts[_CUT] > _ROOM - _LANES:
                _cut(reach, nu, work, probability)
            for kind in range(_KINDS):
                if work.counts[kind] > _ROOM - _LANES:
                    _settle(kind, nu, work, probability)
            _hand_out(first, n, work)
    _cut(reach, nu, work, probability)
    for kind in range(_KINDS):
        _settle(kind, nu, work, probability)


def sum_over_edges(means: FloatArray, factors: FloatArray, polygons: FloatArray, nu: float) -> FloatArray:
    """Probability inside polygons, by the compiled edge integral.

    Parameters
    ----------
    means : ndarray, shape (m, 2)
        Means. [m]
    factors : ndarray, shape (m, 3) or (1, 3)
        Lower triangle (l11, l21, l22) of each spread; none may be singular. [m]
    polygons : ndarray, shape (k, 2, m) or (k, 2, 1)
        Corners, anticlockwise. [m]
    nu : float
        Degrees of freedom of a Student t; inf for the normal. [-]

    Returns
    -------
    ndarray, shape (m,)
        Probabilities, not clipped. [-]
    """
    freedom = 0.0 if math.isinf(nu) else nu
    arrays = (np.ascontiguousarray(one) for one in (means, factors, polygons))
    probability = np.zeros(len(means))
    compiled_positions()(*arrays, freedom, reach_of(nu), room(), probability)
    probability /= 8 * math.pi
    return probability


def reach_of(nu: float) -> float:
    """Return r^2 from where on the density's tail is negligible."""
    if math.isinf(nu):
        return -2.0 * math.log(_NEGLIGIBLE)
    return nu * math.expm1(-2.0 / nu * math.log(_NEGLIGIBLE))


def room() -> Work:
    """Return empty work arrays."""
    kinds = _KINDS + 1
    block, pieces = np.zeros(16 * _LANES), np.zeros(kinds * 5 * _ROOM)
    return Work(block, pieces, np.zeros(kinds * _ROOM, np.int64), np.zeros(kinds, np.int64))


@functools.cache
def compiled_positions() -> Compiled:
    """Return `_positions` compiled; the first call of a new version compiles for some seconds."""
    options = {"error_model": "numpy", "nogil": True, "fastmath": {"contract", "nsz", "arcp"}}
    linked = with_compiled_callees(_positions, __name__, lambda _: options)
    return Compiled(linked, Path(__file__).read_bytes(), "polygon kernel", **options)
