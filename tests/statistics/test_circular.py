"""Round scatter against closed forms and values computed by other means."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.statistics.circular import chance_in_offset_circle, radius_containing, rayleigh_sigma
from shotwright.statistics.intervals import c4, mean_difference, mean_interval, sd_factors, sd_interval


@pytest.mark.authority
def test_small_sample_factors(table):
    for n, unbias, low, high, _, mean_r in table("small_sample_factors"):
        assert c4(2 * n - 1) == pytest.approx(unbias, abs=5e-7)
        found = sd_factors(2 * (n - 1))
        assert found == (pytest.approx(low, abs=5.1e-5), pytest.approx(high, abs=5.1e-5))
        assert math.sqrt(math.pi / 2 * (n - 1) / n) == pytest.approx(mean_r, abs=5e-6)


@pytest.mark.authority
def test_offset_circle_table(table):
    for radius, offset, chance in table("offset_circle"):
        assert float(chance_in_offset_circle(radius, offset)) == pytest.approx(chance, abs=1e-9)


@pytest.mark.parametrize("a", [0.3, 1.0, 2.0, 3.0])
def test_offset_equal_to_radius(a):
    # Closed form: P(a, a) = (1 - exp(-a^2) I0(a^2)) / 2.
    assert float(chance_in_offset_circle(a, a)) == pytest.approx((1 - special.ive(0, a * a)) / 2, abs=1e-12)


def test_radius_containing_and_back():
    for share in (0.1, 0.5, 0.9, 0.999):
        assert float(chance_in_offset_circle(radius_containing(share, 2.0), 0.0, 2.0)) == pytest.approx(share)
    with pytest.raises(BadInput, match="share of shots"):
        radius_containing(1.0)


@pytest.mark.authority
def test_sample_a(samples):
    found = rayleigh_sigma(samples["A"])  # numpy and scipy
    assert isinstance(found, Estimate)
    assert (found.value, found.low, found.high) == pytest.approx((6.925519, 4.863917, 11.196758), abs=1e-6)


def test_sigma_is_unbiased_and_its_interval_exact(rng):
    # Size: 4 standard errors of 4 000 groups of 5.
    found = [rayleigh_sigma(rng.standard_normal((5, 2))) for _ in range(4000)]
    assert np.mean([e.value for e in found]) == pytest.approx(1.0, abs=4 * 0.254 / math.sqrt(4000))
    covered = np.mean([e.low <= 1 <= e.high for e in found])
    assert covered == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / 4000))


@pytest.mark.parametrize("points", [[], [(1, 2)], [(1, 2)] * 7, [(0, 0)] * 3])
def test_nothing_to_estimate(points):
    found = rayleigh_sigma(points)
    assert isinstance(found, NotEstimated)
    assert "need" in found.reason or "one mark" in found.reason


def test_a_coordinate_that_is_no_number_is_named():
    with pytest.raises(BadInput, match="shot 2"):
        rayleigh_sigma([(0, 0), (np.nan, 1)])
    with pytest.raises(BadInput, match="reading 3"):
        sd_interval([1.0, 2.0, np.inf])


def test_mean_interval_against_scipy(rng):
    x = rng.normal(3.0, 0.2, 6)
    low, high = stats.ttest_1samp(x, 0.0).confidence_interval(0.95)
    found = mean_interval(x)
    assert (found.low, found.high) == pytest.approx((low, high))


def test_mean_difference_against_scipy(rng):
    a, b = rng.normal(3.0, 0.2, 6), rng.normal(3.4, 0.5, 9)
    low, high = stats.ttest_ind(b, a, equal_var=False).confidence_interval(0.95)
    found = mean_difference(a, b)
    assert (found.value, found.low, found.high) == pytest.approx((b.mean() - a.mean(), low, high))


def test_sd_interval_covers_at_five(rng):
    found = [sd_interval(rng.normal(0, 2.0, 5)) for _ in range(3000)]
    covered = np.mean([e.low <= 2.0 <= e.high for e in found])
    assert covered == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / 3000))


def test_same_readings_have_no_interval():
    for found in (sd_interval([2.0] * 5), mean_interval([2.0] * 5), mean_interval([0.1 + 0.2, 0.3])):
        assert isinstance(found, NotEstimated)


@settings(deadline=None, max_examples=50)
@given(seed=st.integers(0, 10**6), n=st.integers(2, 30), angle=st.floats(0, 6.3), scale=st.floats(1e-3, 1e3))
def test_sigma_follows_scale_and_nothing_else(seed, n, angle, scale):
    points = np.random.default_rng(seed).normal(size=(n, 2))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    before, after = rayleigh_sigma(points), rayleigh_sigma(scale * (points @ turn.T + (3.0, -7.0)))
    assert after.value == pytest.approx(scale * before.value, rel=1e-9)
    assert after.high == pytest.approx(scale * before.high, rel=1e-9)
