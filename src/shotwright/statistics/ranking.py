"""Which design is best when scores are uncertain and weights are a matter of taste."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Acceptability:
    """Rank acceptability over draws of scores and over weights.

    Parameters
    ----------
    ranks : ndarray, shape (designs, designs)
        Share of (draw, weights) in which a design takes rank r, best first. [-]
    central_weights : ndarray, shape (designs, criteria)
        Mean of the weights under which a design ranks first; NaN when it never does. [-]
    confidence : ndarray, shape (designs,)
        Chance to rank first under its own central weights. [-]
    """

    ranks: FloatArray
    central_weights: FloatArray
    confidence: FloatArray


def as_scores(scores: ArrayLike) -> FloatArray:
    """Return scores as (draws, designs, criteria), more being better on all.

    Parameters
    ----------
    scores : array_like, shape (draws, designs, criteria) or (designs, criteria)
        Scores. [-]

    Returns
    -------
    ndarray, shape (draws, designs, criteria)
        Scores. [-]

    Raises
    ------
    BadInput
        Another shape, or a score that is not finite.
    """
    found = np.asarray(scores, dtype=float)
    if found.ndim == 2:
        found = found[None]
    if found.ndim != 3 or 0 in found.shape or not np.isfinite(found).all():
        raise BadInput("scores must be finite numbers by draw, design and criterion", field="scores")
    return found


def chance_of_rank(values: ArrayLike) -> FloatArray:
    """Chance of each design to take each rank by one figure; ties share their ranks evenly.

    Parameters
    ----------
    values : array_like, shape (draws, designs)
        Figure, more being better. [any]

    Returns
    -------
    ndarray, shape (designs, designs)
        Chance by design (row) and rank (column, best first). [-]

    Examples
    --------
    >>> chance_of_rank([[3.0, 1.0], [2.0, 5.0], [4.0, 1.0], [4.0, 4.0]]).tolist()
    [[0.625, 0.375], [0.375, 0.625]]
    """
    v = np.asarray(values, dtype=float)
    draws, designs = v.shape
    better = (v[:, None, :] > v[:, :, None]).sum(axis=2)
    equal = (v[:, None, :] == v[:, :, None]).sum(axis=2)
    chance = np.zeros((designs, designs))
    for rank in range(designs):
        taken = (better <= rank) & (rank < better + equal)
        chance[:, rank] = (taken / equal).sum(axis=0) / draws
    return chance


def acceptability(
    scores: ArrayLike,
    rng: np.random.Generator,
    *,
    concentration: ArrayLike | None = None,
    samples: int = 20_000,
) -> Acceptability:
    """Rank designs over draws of their scores and over random weights.

    The weighted sum of scores ranks the designs; weights are Dirichlet, uniform on the simplex by default.

    Parameters
    ----------
    scores : array_like, shape (draws, designs, criteria) or (designs, criteria)
        Scores on a common scale, more being better. [-]
    rng : numpy.random.Generator
        Source of randomness. [-]
    concentration : array_like, shape (criteria,), optional
        Dirichlet parameters: 1 each is uniform; 50 times the crew's own weights stays near them. [-]
    samples : int
        Pairs of a draw and weights. [-]

    Returns
    -------
    Acceptability
        Standard error of each share at most 0.5 / sqrt(samples).

    References
    ----------
    R. Lahdelma, P. Salminen (2001), SMAA-2: stochastic multicriteria acceptability analysis for group
    decision making, Oper. Res. 49, 444.
    """
    s = as_scores(scores)
    draws, _, criteria = s.shape
    alpha = np.ones(criteria) if concentration is None else np.asarray(concentration, dtype=float)
    if alpha.shape != (criteria,) or not (alpha > 0).all():
        raise BadInput("one number greater than 0 for each criterion", field="concentration")
    weights = rng.dirichlet(alpha, samples)
    chosen = np.arange(samples) % draws if draws <= samples else rng.integers(0, draws, samples)
    values = np.einsum("sdc,sc->sd", s[chosen], weights)
    first = values == values.max(axis=1, keepdims=True)
    won = (first / first.sum(axis=1, keepdims=True)).T @ weights
    total = won.sum(axis=1, keepdims=True)
    central = np.where(total > 0, won / np.where(total > 0, total, 1.0), np.nan)
    confidence = np.array(
        [chance_of_rank(s @ w)[i, 0] if np.isfinite(w).all() else 0.0 for i, w in enumerate(central)]
    )
    return Acceptability(chance_of_rank(values), central, confidence)


def chance_dominated(scores: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Chance that another design is at least as good on every criterion and better on one.

    Parameters
    ----------
    scores : array_like, shape (draws, designs, criteria) or (designs, criteria)
        Scores, more being better. [-]

    Returns
    -------
    tuple of ndarray, shapes (designs,) and (designs, designs)
        Chance to be dominated by any, and by each (row dominated by column). [-]

    Examples
    --------
    >>> chance_dominated([[0.85, -1.9], [0.70, -1.2], [0.68, -1.4]])[0].tolist()
    [0.0, 0.0, 1.0]
    """
    s = as_scores(scores)
    mine, other = s[:, :, None, :], s[:, None, :, :]
    beaten = np.logical_and(np.all(other >= mine, axis=3), np.any(other > mine, axis=3))
    return np.mean(np.any(beaten, axis=2), axis=0), np.mean(beaten, axis=0)
