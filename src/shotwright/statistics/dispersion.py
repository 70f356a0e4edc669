"""Figures of dispersion of a group of shots, each with an interval that holds from 5 shots on."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.circular import as_points
from shotwright.statistics.ellipse import covariance, principal_sds
from shotwright.statistics.elliptical import elliptical_radius, mean_radius
from shotwright.statistics.extreme_spread import extreme_spread, simulated_groups
from shotwright.statistics.intervals import c4, no_spread, too_few
from shotwright.statistics.posterior import covariance_draws

FloatArray = NDArray[np.float64]

_ANY_SHAPE = "normal scatter of any shape, {} posterior draws (inverse Wishart, n degrees of freedom)"
_SIMULATED = "ratio to the mean of {} simulated normal groups of the shape seen"


@dataclass(frozen=True, slots=True)
class DispersionFigures(Result):
    """How far shots scatter about their own mean point.

    Parameters
    ----------
    sigma_m : Estimate or NotEstimated
        Root of the mean variance of both axes, unbiased. [m]
    cep_m, r95_m : Estimate or NotEstimated
        Radius about the mean point that holds 50 % (circular error probable) and 95 % of shots. [m]
    mean_radius_m : Estimate or NotEstimated
        Mean distance from the mean point. [m]
    extreme_spread_m : Estimate or NotEstimated
        Largest distance between two shots; the interval is for the mean of such groups. [m]
    """

    sigma_m: Estimated
    cep_m: Estimated
    r95_m: Estimated
    mean_radius_m: Estimated
    extreme_spread_m: Estimated


def dispersion_figures(
    points: ArrayLike, rng: np.random.Generator, *, confidence: float = 0.95, draws: int = 4000
) -> DispersionFigures:
    """Estimate sigma, circular error probable, R95, mean radius and extreme spread of normal scatter.

    Scatter longer than wide is allowed for: circular error probable and R95 are those of the ellipse.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks. [m]
    rng : numpy.random.Generator
        Source of randomness for the intervals. [-]
    confidence : float
        What the intervals cover. [-]
    draws : int
        Posterior draws. [-]

    Returns
    -------
    DispersionFigures
        With fewer than 3 shots, or all on one mark, every figure says why there is none.

    Notes
    -----
    Coverage by simulation is tabled in docs/statistics.md: at n = 5, from round scatter to ten times as long
    as wide, 94 to 98 % for sigma, circular error probable and R95, 93 to 98 % for mean radius and extreme
    spread. Heavy tails break every one of these intervals.
    """
    found = as_points(points)
    n = len(found)
    missing = not_enough(found)
    if missing is not None:
        return DispersionFigures(missing, missing, missing, missing, missing)
    matrix = covariance(found)
    longer, shorter, unbias = shape_allowing_for_chance(matrix, n - 1)
    drawn = covariance_draws(matrix, n - 1, draws, rng)
    drawn_long, drawn_short = principal_sds(drawn)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)

    def any_shape(value: float, of_draws: FloatArray) -> Estimate:
        low, high = np.quantile(of_draws, tails)
        return Estimate(value, float(low), float(high), confidence, _ANY_SHAPE.format(draws))

    def radius(share: float) -> Estimate:
        value = float(elliptical_radius(share, longer, shorter)) / unbias
        return any_shape(value, elliptical_radius(share, drawn_long, drawn_short))

    # The shape as seen, longer than the true one by chance: the fitted rounder one gave too narrow intervals.
    seen_long, seen_short = principal_sds(matrix)
    shape = float(seen_short / seen_long)
    spreads, radii = simulated_groups(n, shape, rng)

    def by_ratio(value: float, simulated: FloatArray, mean: float) -> Estimate:
        low, high = value * mean / np.quantile(simulated, tails[::-1])
        return Estimate(value, float(low), float(high), confidence, _SIMULATED.format(len(simulated)))

    own_centre = math.sqrt((n - 1) / n)  # distances to the group's own centre are short by this
    measured = float(np.hypot(*(found - found.mean(axis=0)).T).mean()) / own_centre
    expected = own_centre * float(mean_radius(1.0, shape))
    return DispersionFigures(
        sigma_m=any_shape(
            math.sqrt((longer**2 + shorter**2) / 2) / unbias, np.sqrt((drawn_long**2 + drawn_short**2) / 2)
        ),
        cep_m=radius(0.5),
        r95_m=radius(0.95),
        mean_radius_m=by_ratio(measured, radii, expected),
        extreme_spread_m=by_ratio(extreme_spread(found), spreads, float(spreads.mean())),
    )


def not_enough(points: FloatArray) -> NotEstimated | None:
    """Why no spread can be estimated from these marks, or None."""
    n = len(points)
    if n < 3:
        return too_few(n, 3)
    if no_spread(points):
        return NotEstimated(f"all {n} shots on one mark: nothing to estimate a spread from")
    return None


def shape_allowing_for_chance(matrix: ArrayLike, degrees_of_freedom: int) -> tuple[float, float, float]:
    """Principal standard deviations, freed of the lengthening that few shots feign, and c4 for them.

    tr Sigma and tr Sigma^2 are estimated without bias and turned back into two variances; marks that can't
    tell an ellipse from a circle give a circle.

    Parameters
    ----------
    matrix : array_like, shape (2, 2)
        Sample covariance S. [m^2]
    degrees_of_freedom : int
        m, 2 or more: n - 1, or its sum over groups. [-]

    Returns
    -------
    tuple of float
        Longer and shorter standard deviation [m], and the factor c4 at Satterthwaite's degrees of freedom,
        by which to divide for an unbiased spread. [-]

    Notes
    -----
    Unbiased for tr Sigma^2: m^2 / ((m - 1)(m + 2)) (tr S^2 - (tr S)^2 / m).

    References
    ----------
    Closed form: the moments of tr S^2 and (tr S)^2 under a Wishart distribution, solved for tr Sigma^2.
    """
    m, s = degrees_of_freedom, np.asarray(matrix, dtype=float)
    trace, square = float(np.trace(s)), float(np.sum(s**2))
    square = m**2 / ((m - 1) * (m + 2)) * (square - trace**2 / m)
    gap = math.sqrt(min(max(2 * square - trace**2, 0.0), trace**2))
    longer, shorter = (trace + gap) / 2, (trace - gap) / 2
    freedom = m * trace**2 / (longer**2 + shorter**2)
    return math.sqrt(longer), math.sqrt(max(shorter, 0.0)), c4(freedom + 1)


def sigma_estimate(
    matrix: ArrayLike,
    degrees_of_freedom: int,
    rng: np.random.Generator,
    *,
    confidence: float = 0.95,
    draws: int = 4000,
) -> tuple[Estimate, FloatArray]:
    """Estimate sigma, root of the mean variance of both axes, from a covariance of one or more pooled groups.

    Parameters
    ----------
    matrix : array_like, shape (2, 2)
        Sample covariance, not all zero. [m^2]
    degrees_of_freedom : int
        2 or more: n - 1, or its sum over groups. [-]
    rng : numpy.random.Generator
        Source of randomness. [-]
    confidence : float
        What the interval covers. [-]
    draws : int
        Posterior draws. [-]

    Returns
    -------
    tuple of Estimate and ndarray, shape (draws,)
        sigma, and the draws behind its interval. [m]
    """
    longer, shorter, unbias = shape_allowing_for_chance(matrix, degrees_of_freedom)
    drawn = covariance_draws(matrix, degrees_of_freedom, draws, rng)
    sigmas = np.sqrt((drawn[:, 0, 0] + drawn[:, 1, 1]) / 2)
    low, high = np.quantile(sigmas, ((1 - confidence) / 2, (1 + confidence) / 2))
    value = math.sqrt((longer**2 + shorter**2) / 2) / unbias
    return Estimate(value, float(low), float(high), confidence, _ANY_SHAPE.format(draws)), sigmas
