"""A curve through points that never turns back, as smooth as the points allow, with its doubt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]

_NODES = 24
_PENALTIES = np.geomspace(1e-8, 1e4, 37)


@dataclass(frozen=True, slots=True, eq=False)
class MonotoneCurve:
    """A monotone curve: cubic between even nodes, its slopes limited so that it never turns back.

    Parameters
    ----------
    nodes, values : ndarray, shape (n,)
        Rising nodes, and the curve there. [any]

    References
    ----------
    F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300, slopes as in scipy's
    PchipInterpolator.
    """

    nodes: FloatArray
    values: FloatArray

    def __call__(self, at: FloatArray) -> FloatArray:
        """Return the curve at places within the nodes; beyond them, straight on."""
        from scipy.interpolate import PchipInterpolator

        curve = PchipInterpolator(self.nodes, self.values)
        at = np.asarray(at, dtype=float)
        ends = np.clip(at, self.nodes[0], self.nodes[-1])
        return np.asarray(curve(ends) + curve.derivative()(ends) * (at - ends))


def monotone_fit(
    x: FloatArray, y: FloatArray, weights: FloatArray | None = None, *, rising: bool | None = None
) -> MonotoneCurve:
    r"""Fit a monotone curve by penalised least squares.

    .. math:: \sum_i w_i (y_i - f(x_i))^2 + \lambda \int f''^2, \qquad f' \ge 0 \text{ (or } \le 0)

    f is linear between even nodes in this sum. lambda minimises the generalised cross-validation of the same
    fit without the constraint; with two or three places a straight line comes out.

    Parameters
    ----------
    x, y : ndarray, shape (k,)
        Points, at two or more places. [any]
    weights : ndarray, shape (k,), optional
        One over the variance of each; all alike when left out. [any]
    rising : bool, optional
        Whether the curve rises; that of a straight line when left out.

    Returns
    -------
    MonotoneCurve
        From the least to the largest place.

    Raises
    ------
    BadInput
        Fewer than two places.

    References
    ----------
    P. Craven and G. Wahba, Numer. Math. 31 (1979) 377: generalised cross-validation.
    """
    from scipy.optimize import lsq_linear

    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    places = np.unique(x)
    if len(places) < 2:
        raise BadInput(f"a curve needs points at two places; there is {len(places)}")
    w = np.ones(len(x)) if weights is None else np.asarray(weights, dtype=float)
    root = np.sqrt(w / w.mean())
    nodes = np.linspace(places[0], places[-1], _NODES)
    if rising is None:
        rising = bool(np.polyfit(x, y, 1, w=root)[0] >= 0)
    basis = _hats(x, nodes) * root[:, None]
    rough = np.diff(np.eye(_NODES), n=2, axis=0)
    line = len(places) < 4
    penalty = _PENALTIES[-1] * 1e6 if line else _smoothness(basis, y * root, rough)
    # unknowns: the value at the first node, then steps that all have one sign
    sums = np.tril(np.ones((_NODES, _NODES)))
    sums[:, 1:] *= 1.0 if rising else -1.0
    system = np.vstack([basis, np.sqrt(penalty) * rough]) @ sums
    wanted = np.concatenate([y * root, np.zeros(len(rough))])
    lowest = np.concatenate([[-np.inf], np.zeros(_NODES - 1)])
    found = lsq_linear(system, wanted, (lowest, np.full(_NODES, np.inf)), method="bvls")
    return MonotoneCurve(nodes, sums @ found.x)


def _hats(x: FloatArray, nodes: FloatArray) -> FloatArray:
    """Weights of the nodes in linear interpolation at each place."""
    place = (x - nodes[0]) / (nodes[1] - nodes[0])
    left = np.clip(place.astype(int), 0, len(nodes) - 2)
    share = place - left
    basis = np.zeros((len(x), len(nodes)))
    basis[np.arange(len(x)), left] = 1 - share
    basis[np.arange(len(x)), left + 1] = share
    return basis


def _smoothness(basis: FloatArray, y: FloatArray, rough: FloatArray) -> float:
    """Penalty that minimises generalised cross-validation."""
    best, least = float(_PENALTIES[0]), np.inf
    for penalty in _PENALTIES:
        hat = basis @ np.linalg.solve(
            basis.T @ basis + penalty * rough.T @ rough + 1e-12 * np.eye(len(basis[0])), basis.T
        )
        free = len(y) - float(np.trace(hat))
        if free < 0.5:
            continue
        score = float(np.sum((y - hat @ y) ** 2)) / free**2
        if score < least:
            best, least = float(penalty), score
    return best


def fit_band(
    x: FloatArray,
    y: FloatArray,
    sd: FloatArray,
    at: FloatArray,
    rng: np.random.Generator,
    *,
    draws: int = 200,
) -> FloatArray:
    """Draw monotone curves through points that are each uncertain (parametric bootstrap).

    Parameters
    ----------
    x, y, sd : ndarray, shape (k,)
        Points and the standard deviation of each y. [any]
    at : ndarray, shape (n,)
        Where the curves are wanted. [any]
    rng : numpy.random.Generator
        Source of the draws.
    draws : int
        Number of curves.

    Returns
    -------
    ndarray, shape (draws, n)
        Values of each curve. [any]
    """
    x, y, sd = (np.asarray(one, dtype=float) for one in (x, y, sd))
    weights = 1 / np.maximum(sd, 1e-12 + 1e-6 * np.abs(y)) ** 2
    rising = bool(np.polyfit(x, y, 1)[0] >= 0)
    noise = rng.standard_normal((draws, len(y))) * sd
    return np.array([monotone_fit(x, y + one, weights, rising=rising)(at) for one in noise])
