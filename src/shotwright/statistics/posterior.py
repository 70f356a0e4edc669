"""What a few marks leave open about the scatter's centre and covariance, as random draws."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.statistics.circular import as_points
from shotwright.statistics.ellipse import covariance

FloatArray = NDArray[np.float64]


def posterior_draws(
    points: ArrayLike, draws: int, rng: np.random.Generator, *, degrees_of_freedom: float | None = None
) -> tuple[FloatArray, FloatArray]:
    """Draw centres and covariances of normal scatter given its marks.

    Sigma is inverse Wishart (nu, (n - 1) S); the centre given Sigma is normal (m, Sigma / n).

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks, 3 or more. [m]
    draws : int
        How many. [-]
    rng : numpy.random.Generator
        Source of randomness. [-]
    degrees_of_freedom : float, optional
        nu. n is the default (prior |Sigma|^-2, Jeffreys' rule): each axis then has its exact chi-square
        interval. n + 1 suits hit probabilities; n - 1, the usual textbook choice, covers badly for them. [-]

    Returns
    -------
    tuple of ndarray, shapes (draws, 2) and (draws, 2, 2)
        Centres [m] and covariances [m^2].

    Raises
    ------
    BadInput
        Fewer than 3 marks, or nu of 1 or less.

    References
    ----------
    S. Geisser (1964) and J. O. Berger, D. Sun (2008), Ann. Statist. 36, 963, on priors for the bivariate
    normal (from memory).
    """
    found = as_points(points)
    n = len(found)
    nu = float(n if degrees_of_freedom is None else degrees_of_freedom)
    if n < 3:
        raise BadInput(f"{n} marks; a covariance can be drawn from 3 or more", field="points")
    if not nu > 1:
        raise BadInput(f"{nu:g} degrees of freedom; must be more than 1", field="degrees_of_freedom")
    factor = _root_draws((n - 1) * covariance(found), nu, draws, rng)
    errors = np.einsum("dij,dj->di", factor, rng.standard_normal((draws, 2))) / math.sqrt(n)
    return found.mean(axis=0) + errors, factor @ np.swapaxes(factor, 1, 2)


def covariance_draws(
    matrix: ArrayLike, degrees_of_freedom: float, draws: int, rng: np.random.Generator
) -> FloatArray:
    """Draw covariances given a sample covariance with nu degrees of freedom, one or more groups pooled.

    Inverse Wishart (nu + 1, nu S): the default of `posterior_draws`, where nu is n - 1.

    Parameters
    ----------
    matrix : array_like, shape (2, 2)
        Sample covariance. [m^2]
    degrees_of_freedom : float
        nu, 2 or more. [-]
    draws : int
        How many. [-]
    rng : numpy.random.Generator
        Source of randomness. [-]

    Returns
    -------
    ndarray, shape (draws, 2, 2)
        Covariances. [m^2]
    """
    scatter = degrees_of_freedom * np.asarray(matrix, dtype=float)
    factor = _root_draws(scatter, degrees_of_freedom + 1, draws, rng)
    return np.asarray(factor @ np.swapaxes(factor, 1, 2))


def _root_draws(scatter: FloatArray, nu: float, draws: int, rng: np.random.Generator) -> FloatArray:
    """Draw M with M M' inverse Wishart (nu, scatter), by Bartlett's factor."""
    first, second = np.sqrt(rng.chisquare(nu, draws)), np.sqrt(rng.chisquare(nu - 1, draws))
    skew = rng.standard_normal(draws)
    half = np.zeros((draws, 2, 2))  # transposed inverse of the Bartlett factor of a standard Wishart matrix
    half[:, 0, 0], half[:, 1, 1] = 1 / first, 1 / second
    half[:, 0, 1] = -skew / (first * second)
    return np.asarray(_lower_root(scatter) @ half)


def _lower_root(matrix: FloatArray) -> FloatArray:
    """Cholesky factor that also takes a singular matrix."""
    first = math.sqrt(max(matrix[0, 0], 0.0))
    cross = matrix[0, 1] / first if first > 0 else 0.0
    return np.array([[first, 0.0], [cross, math.sqrt(max(matrix[1, 1] - cross**2, 0.0))]])
