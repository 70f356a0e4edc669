"""A smooth curve through tabulated points.

The second derivative is continuous inside the table and the curve runs on level outside it, so the flight
equations keep a continuous first derivative everywhere: a table with corners would cost the integrator its
order. It is written out here, 15 lines, because loading a spline library takes longer than a flight.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np


def clamped_spline(x: Sequence[float], y: Sequence[float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Cubic spline through points, level (slope zero) at both ends.

    Parameters
    ----------
    x : sequence of float
        Strictly increasing. [any unit]
    y : sequence of float
        Values at `x`. [any unit]

    Returns
    -------
    knots : tuple of float
        The `x`.
    pieces : tuple of float
        For each interval c0, c1, c2, c3 in c0 + c1 d + c2 d^2 + c3 d^3, d = distance from its left knot;
        one interval after the other.
    """
    knots, values = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    h, rise = np.diff(knots), np.diff(values) / np.diff(knots)
    system, right = np.eye(len(knots)), np.zeros(len(knots))
    for i in range(1, len(knots) - 1):
        system[i, i - 1 : i + 2] = h[i], 2 * (h[i - 1] + h[i]), h[i - 1]
        right[i] = 3 * (h[i] * rise[i - 1] + h[i - 1] * rise[i])
    slope = np.linalg.solve(system, right)
    left, end = slope[:-1], slope[1:]
    pieces = np.column_stack(
        [values[:-1], left, (3 * rise - 2 * left - end) / h, (left + end - 2 * rise) / h**2]
    )
    return tuple(knots.tolist()), tuple(pieces.ravel().tolist())


def spline_value(x: float, knots: Sequence[float], pieces: Sequence[float]) -> float:
    """Value of the curve; outside the knots that of the nearest end.

    Parameters
    ----------
    x : float
        Where. [unit of the knots]
    knots, pieces : sequence of float
        As `clamped_spline` gives them. [its units]

    Returns
    -------
    float
        Value.
    """
    last = len(knots) - 2
    at = min(max(x, knots[0]), knots[last + 1])
    i = 0
    while i < last and at > knots[i + 1]:
        i += 1
    d = at - knots[i]
    return pieces[4 * i] + d * (pieces[4 * i + 1] + d * (pieces[4 * i + 2] + d * pieces[4 * i + 3]))


def spline_minimum(knots: Sequence[float], pieces: Sequence[float]) -> float:
    """Least value of the curve.

    Parameters
    ----------
    knots, pieces : sequence of float
        As `clamped_spline` gives them. [its units]

    Returns
    -------
    float
        Least value.
    """
    candidates = [spline_value(x, knots, pieces) for x in knots]
    for i, (low, high) in enumerate(itertools.pairwise(knots)):
        _, c1, c2, c3 = pieces[4 * i : 4 * i + 4]
        level = np.roots([3 * c3, 2 * c2, c1])
        places = [low + float(r.real) for r in level if abs(r.imag) < 1e-12 and 0 <= r.real <= high - low]
        candidates += [spline_value(x, knots, pieces) for x in places]
    return min(candidates)
