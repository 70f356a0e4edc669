"""Dispersion figures: values, coverage at five shots, degenerate groups, ten thousand shots."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import pdist

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.statistics.dispersion import dispersion_figures, shape_allowing_for_chance, sigma_estimate
from shotwright.statistics.ellipse import covariance
from shotwright.statistics.elliptical import elliptical_radius, mean_radius
from shotwright.statistics.extreme_spread import extreme_spread, simulated_groups
from shotwright.statistics.posterior import posterior_draws

FIGURES = ("sigma_m", "cep_m", "r95_m", "mean_radius_m", "extreme_spread_m")


@pytest.mark.authority
def test_sample_a(samples, rng):
    # numpy and scipy: sigma 6.925519, CEP 8.154175, R95 16.951916, mean radius 8.707093 about its own centre,
    # extreme spread 19.912308.
    found = dispersion_figures(samples["A"], rng)
    assert found.sigma_m.value == pytest.approx(6.925519, abs=1e-6)
    assert found.cep_m.value == pytest.approx(8.154175, abs=1e-6)
    assert found.r95_m.value == pytest.approx(16.951916, abs=1e-6)
    assert found.mean_radius_m.value * np.sqrt(6 / 7) == pytest.approx(8.707093, abs=1e-6)
    assert found.extreme_spread_m.value == pytest.approx(19.912308, abs=1e-6)
    for name in FIGURES:
        estimate = getattr(found, name)
        assert estimate.low < estimate.value < estimate.high
        assert estimate.method


@pytest.mark.authority
def test_mean_extreme_spread_of_round_groups(table, rng):
    assert simulated_groups(2, 1.0, rng, 100_000)[0].mean() == pytest.approx(np.sqrt(np.pi), abs=0.01)
    for n, _, _, _, spread, radius in table("small_sample_factors"):
        spreads, radii = simulated_groups(int(n), 1.0, rng, 20_000)
        assert spreads.mean() == pytest.approx(spread, abs=0.03)  # 4 standard errors at n = 3
        assert radii.mean() == pytest.approx(radius, abs=0.015)


@pytest.mark.slow
@pytest.mark.parametrize("short", [1.0, 1 / 3])
def test_intervals_cover_at_five_shots(short):
    # 95 % is claimed; 400 crews have a standard error of 1.1 %: 91 % is 4 of them below 95.4 %. Intervals
    # that took scatter as round would cover 88 % at one third (and fail).
    rng = np.random.default_rng(5)
    spread = simulated_groups(5, short, rng, 40_000)[0].mean()
    truth = (
        np.sqrt((1 + short**2) / 2),
        float(elliptical_radius(0.5, 1.0, short)),
        float(elliptical_radius(0.95, 1.0, short)),
        float(mean_radius(1.0, short)),
        spread,
    )
    covered = np.zeros(5)
    for _ in range(400):
        found = dispersion_figures(rng.standard_normal((5, 2)) * (1.0, short), rng, draws=500)
        covered += [
            e.low <= t <= e.high for e, t in zip((getattr(found, f) for f in FIGURES), truth, strict=True)
        ]
    assert (covered / 400 > 0.91).all(), covered / 400


def test_shape_that_chance_explains_is_round(samples):
    longer, shorter, _ = shape_allowing_for_chance(covariance(samples["A"]), 6)
    assert longer == shorter
    longer, shorter, _ = shape_allowing_for_chance(np.diag([9.0, 1.0]), 1000)
    assert (longer, shorter) == (pytest.approx(3.0, rel=0.01), pytest.approx(1.0, rel=0.01))


def test_pooled_sigma_of_one_group_is_that_groups(samples, rng):
    found, draws = sigma_estimate(covariance(samples["A"]), 6, rng)
    assert found.value == pytest.approx(6.925519, abs=1e-6)
    assert np.quantile(draws, 0.025) == pytest.approx(found.low)


def test_posterior_mean_of_variance(rng):
    # Closed form: inverse Wishart (nu, W) in two axes has mean W / (nu - 3).
    points = rng.standard_normal((9, 2)) * (2.0, 0.5)
    centres, drawn = posterior_draws(points, 200_000, rng, degrees_of_freedom=20)
    np.testing.assert_allclose(drawn.mean(axis=0), 8 * covariance(points) / 17, rtol=0.02, atol=0.005)
    np.testing.assert_allclose(np.cov(centres.T), 8 * covariance(points) / 17 / 9, rtol=0.03, atol=0.003)
    with pytest.raises(BadInput, match="3 or more"):
        posterior_draws(points[:2], 10, rng)


def test_each_axis_keeps_its_exact_interval(rng):
    # With nu = n an axis variance is W / chi-square with n - 1 degrees of freedom.
    points = rng.standard_normal((6, 2)) * (2.0, 0.5)
    drawn = posterior_draws(points, 100_000, rng)[1]
    from scipy import stats

    for axis in (0, 1):
        want = 5 * covariance(points)[axis, axis] / stats.chi2.ppf([0.975, 0.5, 0.025], 5)
        np.testing.assert_allclose(np.quantile(drawn[:, axis, axis], [0.025, 0.5, 0.975]), want, rtol=0.03)


@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 10**6), n=st.integers(2, 120), flat=st.booleans())
def test_extreme_spread_is_the_largest_distance(seed, n, flat):
    points = np.random.default_rng(seed).normal(size=(n, 2)) * (1.0, 0.0 if flat else 1.0)
    assert extreme_spread(points) == pytest.approx(pdist(points).max(), rel=1e-12)


@settings(deadline=None, max_examples=15)
@given(seed=st.integers(0, 10**6), scale=st.floats(1e-3, 1e3), shift=st.floats(-100, 100))
def test_scale_and_shift(seed, scale, shift):
    points = np.random.default_rng(seed).normal(size=(7, 2))
    before = dispersion_figures(points, np.random.default_rng(1), draws=300)
    after = dispersion_figures(scale * (points + shift), np.random.default_rng(1), draws=300)
    for name in FIGURES:
        for end in ("value", "low", "high"):
            want = scale * getattr(getattr(before, name), end)
            assert getattr(getattr(after, name), end) == pytest.approx(want, rel=1e-6)


@pytest.mark.parametrize("points", [[], [(0, 0)], [(0, 0), (1, 0)], [(3, 4)] * 7])
def test_nothing_to_estimate(points, rng):
    found = dispersion_figures(points, rng)
    for name in FIGURES:
        assert isinstance(getattr(found, name), NotEstimated)


def test_all_on_one_line(rng):
    found = dispersion_figures([(float(i), 2.0) for i in (1, 4, 2, 8, 5)], rng)
    for name in FIGURES:
        estimate = getattr(found, name)
        assert isinstance(estimate, Estimate)
        assert 0 < estimate.low < estimate.high


def test_ten_thousand_shots(rng):
    points = rng.standard_normal((10_000, 2))
    start = time.perf_counter()
    found = dispersion_figures(points, rng)
    assert time.perf_counter() - start < 10
    assert found.sigma_m.low < 1 < found.sigma_m.high
    assert found.r95_m.low < 2.4477 < found.r95_m.high
