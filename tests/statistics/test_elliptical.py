"""Scatter longer than wide: Harter's circles, ellipses, Hotelling's tests."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.statistics.ellipse import (
    centre_test,
    covariance,
    effective_freedom,
    ellipse_of,
    known_factor,
    mean_point_factor,
    next_shot_factor,
    two_centre_test,
)
from shotwright.statistics.elliptical import chance_in_circle, elliptical_radius, mean_radius
from shotwright.statistics.polygon import normal_in_polygon


@pytest.mark.authority
def test_harter_radii(table):
    for ratio, *radii in table("elliptical_cep"):
        for share, radius in zip((0.5, 0.9, 0.95, 0.99), radii, strict=True):
            assert float(elliptical_radius(share, 1.0, ratio)) == pytest.approx(radius, abs=6e-6)


@pytest.mark.authority
def test_chance_grid():
    # Computed with mpmath, 7 digits: K = 0.5 .. 3 for sigma ratios 0, .25, .5, .75, 1.
    grid = {
        0.00: (0.38292492, 0.68268949, 0.86638560, 0.95449974, 0.98758067, 0.99730020),
        0.25: (0.32535023, 0.66582355, 0.86058620, 0.95270607, 0.98711703, 0.99720276),
        0.50: (0.21528872, 0.59009533, 0.83508160, 0.94545458, 0.98531115, 0.99682936),
        0.75: (0.15303004, 0.48188347, 0.76661093, 0.92040894, 0.97887125, 0.99555069),
        1.00: (0.11750310, 0.39346934, 0.67534753, 0.86466472, 0.95606307, 0.98889100),
    }
    for ratio, want in grid.items():
        found = chance_in_circle(np.arange(1, 7) / 2, 1.0, ratio)
        np.testing.assert_allclose(found, want, atol=1e-7)


@settings(deadline=None, max_examples=40)
@given(long=st.floats(1e-4, 1e3), ratio=st.floats(0, 1), share=st.floats(0.01, 0.999))
def test_radius_undoes_chance(long, ratio, share):
    radius = elliptical_radius(share, long, ratio * long)
    assert float(chance_in_circle(radius, long, ratio * long)) == pytest.approx(share, abs=1e-9)
    assert float(elliptical_radius(share, ratio * long, long)) == pytest.approx(float(radius))


def test_against_a_fine_polygon():
    angle = np.arange(20_000) * 2 * np.pi / 20_000
    circle = 0.8 * np.column_stack([np.cos(angle), np.sin(angle)])
    inside = normal_in_polygon([(0, 0)], np.diag([1.0, 0.09]), circle)[0]
    assert float(chance_in_circle(0.8, 1.0, 0.3)) == pytest.approx(inside, abs=2e-8)


def test_radii_of_many_and_of_none():
    found = elliptical_radius(0.5, np.array([1.0, 2.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    np.testing.assert_allclose(found, [1.1774100225, 2 * 0.6744897502, 0.0], atol=1e-9)
    with pytest.raises(BadInput, match="share of shots"):
        elliptical_radius(0.0, 1.0, 1.0)


def test_mean_radius_of_line_and_circle():
    # Closed forms: sqrt(2/pi) and sqrt(pi/2).
    assert float(mean_radius(1.0, 0.0)) == pytest.approx(np.sqrt(2 / np.pi))
    assert float(mean_radius(3.0, 3.0)) == pytest.approx(3 * np.sqrt(np.pi / 2))


@pytest.mark.authority
def test_ellipse_of_sample_a(samples):
    # numpy and scipy, 6 decimals.
    s = covariance(samples["A"])
    assert (s[0, 0], s[0, 1], s[1, 1]) == pytest.approx((42.912381, -4.688095, 49.102857), abs=1e-6)
    found = ellipse_of(samples["A"].mean(axis=0), s)
    assert found.centre_m == pytest.approx((3.428571, 0.142857), abs=1e-6)
    assert (found.semi_long_m, found.semi_short_m) == pytest.approx((7.185077, 6.355305), abs=1e-6)
    assert found.angle_deg == pytest.approx(-61.717067, abs=1e-5)


@pytest.mark.authority
def test_factors_at_seven():
    # scipy, 1e-5: next shot, known parameters, mean point at 50, 90, 95 %.
    rows = {0.5: (1.480173, 1.177410, 0.523320), 0.9: (3.219817, 2.145966, 1.138377)}
    rows[0.95] = (3.983785, 2.447747, 1.408481)
    for share, want in rows.items():
        found = next_shot_factor(7, share), known_factor(share), mean_point_factor(7, share)
        assert found == pytest.approx(want, abs=1e-5)


@pytest.mark.authority
def test_hotelling_values(samples):
    one = centre_test(samples["A"])
    assert (one.t2, one.f, one.p) == pytest.approx((1.956097, 0.815040, 0.493887), abs=1e-6)
    two = two_centre_test(samples["A"], samples["B"])
    assert (two.t2, two.f, two.p) == pytest.approx((0.128188, 0.058753, 0.943233), abs=1e-6)


def test_two_centres_against_statsmodels(samples):
    from statsmodels.stats.multivariate import test_mvmean_2indep

    a, b = samples["A"], samples["C"] + (8.0, 3.0)
    want = test_mvmean_2indep(a, b)
    found = two_centre_test(a, b)
    assert (found.f, found.p) == pytest.approx((float(want.statistic), float(want.pvalue)), rel=1e-9)


def test_next_shot_ellipse_holds_the_next_shot(rng):
    factor, inside = next_shot_factor(5, 0.9), 0
    for _ in range(4000):
        shots = rng.standard_normal((6, 2)) * (3.0, 1.0)
        gap = shots[5] - shots[:5].mean(axis=0)
        inside += gap @ np.linalg.solve(covariance(shots[:5]), gap) <= factor**2
    assert inside / 4000 == pytest.approx(0.9, abs=4 * np.sqrt(0.9 * 0.1 / 4000))


def test_effective_freedom_between_line_and_circle():
    assert effective_freedom(np.eye(2), 6) == 12
    assert effective_freedom([[4.0, 0.0], [0.0, 0.0]], 6) == 6


@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 10**6), angle=st.floats(-1.5, 1.5))
def test_turning_the_marks_turns_the_ellipse(seed, angle):
    points = np.random.default_rng(seed).normal(size=(8, 2)) * (3.0, 1.0)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    before = ellipse_of((0, 0), covariance(points))
    after = ellipse_of((0, 0), covariance(points @ turn.T))
    assert (after.semi_long_m, after.semi_short_m) == pytest.approx((before.semi_long_m, before.semi_short_m))
    gap = np.deg2rad(after.angle_deg - before.angle_deg) - angle
    # A direction is the same half a turn on; nearly round scatter has none.
    if before.semi_short_m < 0.9 * before.semi_long_m:
        assert np.sin(gap) == pytest.approx(0.0, abs=1e-6)


def test_too_few_or_flat():
    assert isinstance(centre_test([(0, 0), (1, 1)]), NotEstimated)
    assert isinstance(centre_test([(0, 0), (1, 1), (2, 2), (3, 3)]), NotEstimated)
    assert isinstance(two_centre_test([(0, 0)], [(1, 1), (2, 0)]), NotEstimated)
