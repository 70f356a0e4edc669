"""Parameters of a model with priors, updated by group means: the peak, and weighted draws around it.

Groups are samples of n rows each with its own unknown covariance. Their likelihood for a mean mu,
the covariance integrated out under Jeffreys' prior, is Hotelling's: (1 + n d'S^-1 d/(n - 1))^(-n/2),
d = mean - mu.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import NoAnswer

FloatArray = NDArray[np.float64]
Predict = Callable[[FloatArray], FloatArray]

_DF = 6.0  # of the proposal: heavier tails than the posterior's
_ROUNDS = 4
_LEAST = 3000  # proposals of a round
_WIDE = 0.1  # share of them from the prior
_STEP = 0.02  # of differences, in standard deviations of the prior
_FAR = 1e3  # residual of a prediction that does not exist


@dataclass(frozen=True, slots=True)
class Group:
    """One sample of measured rows.

    Parameters
    ----------
    mean : ndarray, shape (r,)
        Of the sample, in the order of the predictions.
    covariance : ndarray, shape (r, r)
        Of the sample with divisor n - 1; or the known one.
    size : int
        n.
    known : bool
        The covariance is known, not estimated: the likelihood is normal.
    """

    mean: FloatArray
    covariance: FloatArray
    size: int
    known: bool = False

    @property
    def rows(self) -> int:
        """Number of rows r."""
        return len(self.mean)

    def distance(self, predicted: FloatArray) -> FloatArray:
        """Squared distance n d'S^-1 d of predictions, shape (m, r) to (m,); inf where one is not finite."""
        root = np.linalg.cholesky(np.linalg.inv(self.covariance))
        white = (self.mean - predicted) @ root
        return np.where(np.isfinite(white).all(axis=1), self.size * (white**2).sum(axis=1), np.inf)

    def misfit(self, predicted: FloatArray) -> FloatArray:
        """Minus twice the log likelihood, up to a constant, shape (m,)."""
        q = self.distance(predicted)
        return q if self.known else self.size * np.log1p(q / (self.size - 1))

    def residuals(self, predicted: FloatArray) -> FloatArray:
        """Row of residuals whose sum of squares is the misfit, shape (r,)."""
        root = np.linalg.cholesky(np.linalg.inv(self.covariance))
        white = math.sqrt(self.size) * ((self.mean - predicted) @ root)
        if not np.isfinite(white).all():
            return np.full(self.rows, _FAR)
        q = float(white @ white)
        if self.known or q == 0:
            return np.asarray(white)
        return np.asarray(white * math.sqrt(self.size * math.log1p(q / (self.size - 1)) / q))


@dataclass(frozen=True, slots=True)
class Fit:
    """Posterior of p parameters.

    Parameters
    ----------
    peak : ndarray, shape (p,)
        Most probable parameters.
    covariance : ndarray, shape (p, p)
        Inverse curvature there (Laplace).
    draws : ndarray, shape (m, p)
        Equally weighted draws of the posterior.
    effective : float
        Number of independent draws that the weights were worth before drawing again.
    misfit : float
        Minus twice the log likelihood at the peak, up to a constant.
    """

    peak: FloatArray
    covariance: FloatArray
    draws: FloatArray
    effective: float
    misfit: float


def fit(
    predict: Predict,
    groups: Sequence[Group],
    prior_mean: FloatArray,
    prior_sd: FloatArray,
    rng: np.random.Generator,
    *,
    draws: int = 1000,
) -> Fit:
    """Find the posterior of a model's parameters: Bayesian least squares, then importance weights.

    The peak minimises misfit plus ((theta - prior)/sd)^2; the Gauss-Newton curvature there gives a first
    normal shape. Draws from a multivariate t around it are weighted by posterior over proposal, the proposal
    is moved and widened to the weighted draws a few times, and `draws` of them are drawn again by their
    weights. For a linear model with known covariances this is the conjugate normal posterior.

    Parameters
    ----------
    predict : callable
        Parameters (m, p) to predicted rows (m, sum of the groups' rows); not finite where there is none.
    groups : sequence of Group
        Measured.
    prior_mean, prior_sd : ndarray, shape (p,)
        Normal priors, in coordinates where that is sensible.
    rng : numpy.random.Generator
        Source of the draws.
    draws : int
        m.

    Returns
    -------
    Fit
        Peak, curvature, draws.

    Raises
    ------
    NoAnswer
        The model predicts nothing near the prior.

    References
    ----------
    Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), sections 4.1 (normal approximation) and 10.4
    (importance resampling). O. Cappe et al., J. Comput. Graph. Stat. 13 (2004) 907 (moving the proposal).
    """
    from scipy.optimize import least_squares

    spans = _spans(groups)

    def residuals_at(z: FloatArray) -> FloatArray:
        rows = predict(prior_mean + prior_sd * z)
        said = []
        for row, one in zip(rows, z, strict=True):
            parts = [g.residuals(row[a:b]) for g, (a, b) in zip(groups, spans, strict=True)]
            said.append(np.concatenate([*parts, one]))
        return np.array(said)

    def residuals(z: FloatArray) -> FloatArray:
        return np.asarray(residuals_at(z[None])[0])

    def slopes_at(z: FloatArray) -> FloatArray:
        # one call for all parameters; wide enough for a model that is only good to six digits
        steps = _STEP * np.eye(len(z))
        ends = residuals_at(np.concatenate([z + steps, z - steps]))
        return np.asarray((ends[: len(z)] - ends[len(z) :]).T / (2 * _STEP))

    start = np.zeros(len(prior_mean))
    if not np.isfinite(predict(prior_mean[None])).all():
        raise NoAnswer("the model predicts nothing in the middle of the priors")
    found = least_squares(residuals, start, jac=slopes_at, max_nfev=100)
    peak = np.asarray(found.x)
    slopes = np.asarray(found.jac)
    curvature = np.linalg.inv(slopes.T @ slopes)

    def log_posterior(z: FloatArray) -> FloatArray:
        rows = predict(prior_mean + prior_sd * z)
        misfits = [g.misfit(rows[:, a:b]) for g, (a, b) in zip(groups, spans, strict=True)]
        return np.asarray(-0.5 * (np.sum(misfits, axis=0) + (z**2).sum(axis=1)))

    sample, effective = _importance(log_posterior, peak, curvature, rng, draws)
    return Fit(
        peak=prior_mean + prior_sd * peak,
        covariance=curvature * np.outer(prior_sd, prior_sd),
        draws=prior_mean + prior_sd * sample,
        effective=effective,
        misfit=2 * float(found.cost) - float(peak @ peak),
    )


def _spans(groups: Sequence[Group]) -> list[tuple[int, int]]:
    """Where each group's rows begin and end."""
    return list(itertools.pairwise(np.cumsum([0, *(group.rows for group in groups)]).tolist()))


def _importance(
    log_posterior: Callable[[FloatArray], FloatArray],
    centre: FloatArray,
    shape: FloatArray,
    rng: np.random.Generator,
    draws: int,
) -> tuple[FloatArray, float]:
    """Weighted draws from a t that moves to where the weights are; returns equally weighted ones.

    A tenth of the proposals comes from the prior (standard normal here), so that no direction which the data
    leave open is cut short.
    """
    p, n = len(centre), max(_LEAST, 3 * draws)
    best: tuple[FloatArray, FloatArray, float] | None = None
    for _ in range(_ROUNDS):
        root = np.asarray(np.linalg.cholesky(shape + 1e-12 * np.eye(p)), dtype=float)
        stretch = np.sqrt(_DF / rng.chisquare(_DF, n))
        z = centre + stretch[:, None] * (rng.standard_normal((n, p)) @ root.T)
        wide = rng.random(n) < _WIDE
        z[wide] = rng.standard_normal((int(wide.sum()), p))
        log_weight = log_posterior(z) - _log_proposal(z, centre, root)
        weight = np.exp(log_weight - log_weight.max())
        weight /= weight.sum()
        effective = float(1 / (weight**2).sum())
        if best is None or effective > best[2]:
            best = z, weight, effective
        if effective > 0.5 * n:
            break
        centre = weight @ z
        shape = 1.1 * ((z - centre).T * weight) @ (z - centre) + 1e-6 * np.eye(p)
    assert best is not None
    z, weight, effective = best
    # systematic resampling: one uniform number places all the picks
    picks = np.searchsorted(np.cumsum(weight), (np.arange(draws) + rng.uniform()) / draws)
    return z[np.minimum(picks, n - 1)], effective


def _log_proposal(z: FloatArray, centre: FloatArray, root: FloatArray) -> FloatArray:
    """Log density of the mixture of t and standard normal."""
    p = len(centre)
    away: FloatArray = z - centre
    square = (np.linalg.solve(root, away.T) ** 2).sum(axis=0)
    t = (
        math.lgamma((_DF + p) / 2)
        - math.lgamma(_DF / 2)
        - 0.5 * p * math.log(_DF * math.pi)
        - float(np.log(np.diag(root)).sum())
        - 0.5 * (_DF + p) * np.log1p(square / _DF)
    )
    normal = -0.5 * (z**2).sum(axis=1) - 0.5 * p * math.log(2 * math.pi)
    return np.asarray(np.logaddexp(math.log(1 - _WIDE) + t, math.log(_WIDE) + normal))


def replicated_misfits(
    groups: Sequence[Group], predicted: FloatArray, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Misfit of the data, and of data that the model itself would give, for each posterior draw.

    Data drawn again have the predicted mean; given the sample's covariance their squared distance is
    Hotelling's, (n - 1) r/(n - r) F(r, n - r), or chi-square where the covariance is known.

    Parameters
    ----------
    groups : sequence of Group
        Measured.
    predicted : ndarray, shape (m, rows)
        Predictions of the posterior draws.
    rng : numpy.random.Generator
        Source of the replicates.

    Returns
    -------
    observed, replicated : ndarray, shape (m, groups)
        Squared distances.

    References
    ----------
    A. Gelman, X.-L. Meng and H. Stern, Statistica Sinica 6 (1996) 733: posterior predictive checks.
    """
    observed, replicated = [], []
    for g, (a, b) in zip(groups, _spans(groups), strict=True):
        observed.append(g.distance(predicted[:, a:b]))
        if g.known:
            replicated.append(rng.chisquare(g.rows, len(predicted)))
        else:
            free = g.size - g.rows
            scale = (g.size - 1) * g.rows / free
            replicated.append(scale * rng.f(g.rows, free, len(predicted)))
    return np.column_stack(observed), np.column_stack(replicated)
