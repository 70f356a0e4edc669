"""Bayesian least squares with importance weights, held to closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from shotwright.base.errors import NoAnswer
from shotwright.statistics.bayes_fit import Group, fit, replicated_misfits

FloatArray = np.ndarray


def test_linear_model_with_known_errors_is_the_conjugate_normal() -> None:
    """Posterior precision = prior precision + n X'S^-1X (Gelman et al., BDA 3rd ed., section 14.8)."""
    rng = np.random.default_rng(4)
    slopes = rng.normal(size=(5, 3))
    mean, sd = np.array([1.0, -2.0, 0.5]), np.array([0.5, 1.0, 0.2])
    measured = slopes @ np.array([1.3, -1.5, 0.6]) + 0.05 * rng.normal(size=5)
    groups = [Group(measured[[i]], np.array([[0.04]]), 4, known=True) for i in range(5)]
    found = fit(lambda theta: theta @ slopes.T, groups, mean, sd, rng, draws=6000)

    precision = np.diag(1 / sd**2) + slopes.T @ slopes * 4 / 0.04
    covariance = np.linalg.inv(precision)
    centre = covariance @ (mean / sd**2 + slopes.T @ measured * 4 / 0.04)
    np.testing.assert_allclose(found.peak, centre, rtol=1e-6)
    np.testing.assert_allclose(found.covariance, covariance, rtol=1e-6)
    # 5 standard errors of a mean and of a standard deviation; resampling halves the independent draws
    se = np.sqrt(np.diag(covariance))
    assert (np.abs(found.draws.mean(axis=0) - centre) < 5 * se / math.sqrt(2000)).all()
    assert (np.abs(found.draws.std(axis=0) / se - 1) < 5 / math.sqrt(4000)).all()
    assert found.effective > 3000


def test_one_mean_with_unknown_spread_and_wide_prior_is_student_s_t() -> None:
    """The covariance integrated out leaves t with n - 1 degrees of freedom (Student 1908; closed form)."""
    sample = np.array([2.31, 2.36, 2.28, 2.34, 2.30])
    group = Group(np.array([sample.mean()]), np.array([[sample.var(ddof=1)]]), 5)
    found = fit(
        lambda theta: theta, [group], np.array([2.0]), np.array([2.0]), np.random.default_rng(1), draws=8000
    )
    low, high = stats.t.interval(0.95, 4, sample.mean(), sample.std(ddof=1) / math.sqrt(5))

    np.testing.assert_allclose(np.quantile(found.draws, [0.025, 0.975]), [low, high], atol=0.004)


def test_two_rows_with_unknown_covariance_are_hotelling_s() -> None:
    """A prior so wide that it says nothing: n(n - r)/((n - 1) r) d'S^-1 d is F(r, n - r) (Hotelling 1931)."""
    rng = np.random.default_rng(2)
    sample = rng.multivariate_normal([1.0, 2.0], [[0.04, 0.03], [0.03, 0.05]], 9)
    group = Group(sample.mean(axis=0), np.cov(sample.T), 9)
    found = fit(lambda theta: theta, [group], np.array([1.0, 2.0]), np.array([5.0, 5.0]), rng, draws=6000)
    ratio = group.distance(found.draws) * (9 - 2) / ((9 - 1) * 2)

    inside = float(np.mean(ratio < stats.f.ppf(0.95, 2, 7)))
    assert inside == pytest.approx(0.95, abs=0.015)


def test_a_skewed_posterior_is_followed_where_least_squares_is_not() -> None:
    """y = exp(theta) with a large error: the draws have the quantiles of the exact density on a grid."""
    group = Group(np.array([1.0]), np.array([[0.64]]), 1, known=True)
    found = fit(
        lambda theta: np.exp(theta),
        [group],
        np.array([0.0]),
        np.array([1.5]),
        np.random.default_rng(3),
        draws=8000,
    )
    grid = np.linspace(-8, 4, 20001)
    density = np.exp(-0.5 * (1.0 - np.exp(grid)) ** 2 / 0.64 - 0.5 * (grid / 1.5) ** 2)
    cdf = np.cumsum(density) / density.sum()
    exact = np.interp([0.025, 0.5, 0.975], cdf, grid)
    reached = np.interp(np.quantile(found.draws[:, 0], [0.025, 0.5, 0.975]), grid, cdf)

    np.testing.assert_allclose(reached, [0.025, 0.5, 0.975], atol=0.015)
    normal = found.peak[0] - 1.96 * math.sqrt(found.covariance[0, 0])
    assert abs(normal - exact[0]) > 0.3  # the normal approximation would miss the tail


def test_replicates_of_a_right_model_are_as_far_as_its_data() -> None:
    """Predictive p-values of a right model at the true mean are uniform."""
    rng = np.random.default_rng(7)
    chances = []
    for _ in range(300):
        sample = rng.multivariate_normal([0.0, 0.0], [[1.0, 0.5], [0.5, 1.0]], 6)
        group = Group(sample.mean(axis=0), np.cov(sample.T), 6)
        observed, again = replicated_misfits([group], np.zeros((200, 2)), rng)
        chances.append(float(np.mean(again >= observed)))

    assert stats.kstest(chances, "uniform").pvalue > 0.001


def test_a_model_that_predicts_nothing_is_told() -> None:
    group = Group(np.array([1.0]), np.array([[0.1]]), 5)
    with pytest.raises(NoAnswer, match="predicts nothing"):
        fit(lambda theta: theta * np.nan, [group], np.zeros(1), np.ones(1), np.random.default_rng(1))
