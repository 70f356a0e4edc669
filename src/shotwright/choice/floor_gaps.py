"""What the linearised flight is off by over a floor: flown at some places, a cubic for the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_POWERS = tuple((i, j) for i in range(4) for j in range(4 - i))  # of a cubic in x and y
_PLACES_PER_TERM = 3
_LEAST_ERROR = 1e-4  # of a flown hit rate's standard error: a few thousand balls can't be surer


@dataclass(frozen=True, slots=True, eq=False)
class GapTrend:
    """A cubic over the floor.

    Parameters
    ----------
    middle, size : ndarray, shape (2,)
        Of the part of the floor that it was fitted to. [m]
    powers : tuple of (int, int)
        Powers of x and y of each term.
    weights : ndarray, shape (t,)
        Of the terms. [-]
    """

    middle: FloatArray
    size: FloatArray
    powers: tuple[tuple[int, int], ...]
    weights: FloatArray

    def at(self, places: FloatArray) -> FloatArray:
        """Gap at places (n, 2). [m] -> [-]."""
        return np.asarray(_terms(places, self.middle, self.size, self.powers) @ self.weights)


def gap_trend(places: FloatArray, gaps: FloatArray, errors: FloatArray) -> GapTrend:
    """Fit a cubic in x and y to gaps, each weighed by its standard error.

    Parameters
    ----------
    places : ndarray, shape (n, 2)
        [m]
    gaps, errors : ndarray, shape (n,)
        Flown minus linearised hit rate, and its standard error. [-]

    Returns
    -------
    GapTrend
        Of a lower power where there are few places; zero for none.
    """
    if not len(places):
        return GapTrend(np.zeros(2), np.ones(2), (), np.zeros(0))
    middle = 0.5 * (places.min(axis=0) + places.max(axis=0))
    size = np.maximum(0.5 * (places.max(axis=0) - places.min(axis=0)), 1e-6)
    fit = [k for k in range(1, 4) if (k + 1) * (k + 2) // 2 * _PLACES_PER_TERM <= len(places)]
    most = max(fit, default=0)
    powers = tuple(p for p in _POWERS if sum(p) <= most)
    scale = 1.0 / np.maximum(errors, _LEAST_ERROR)
    design = _terms(places, middle, size, powers) * scale[:, None]
    weights = np.asarray(np.linalg.lstsq(design, gaps * scale, rcond=None)[0], dtype=float)
    return GapTrend(middle, size, powers, weights)


def _terms(
    places: FloatArray, middle: FloatArray, size: FloatArray, powers: tuple[tuple[int, int], ...]
) -> FloatArray:
    x, y = ((places - middle) / size).T
    return np.array([x**i * y**j for i, j in powers]).reshape(len(powers), len(places)).T
