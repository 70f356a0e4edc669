"""Permutation tests: enumerated counts, size by simulation, symmetry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.statistics.ellipse import two_centre_test
from shotwright.statistics.multiple import holm
from shotwright.statistics.permutation import centre_permutation_test, spread_test
from shotwright.statistics.spread_ratio import spread_ratio


@pytest.mark.authority
def test_counts_of_all_splits(samples, rng):
    # Enumeration of all 3 432 splits: 2 and 194 at least as extreme; statistics .872420 and .296713.
    for other, extreme, statistic in (("B", 2, 0.872420), ("C", 194, 0.296713)):
        found = spread_test([samples["A"], samples[other]], rng)
        assert (found.extreme, found.tried, found.exact) == (extreme, 3432, True)
        assert found.p == pytest.approx(extreme / 3432)
        assert found.statistic == pytest.approx(statistic, abs=1e-6)


@pytest.mark.authority
def test_holm_values():
    assert holm([0.01, 0.04, 0.03]).tolist() == pytest.approx([0.03, 0.06, 0.06])
    # statsmodels: pairwise F of three samples.
    assert holm([0.005048, 0.311679, 0.058171]).tolist() == pytest.approx(
        [0.015145, 0.311679, 0.116342], abs=2e-6
    )


@settings(deadline=None, max_examples=40)
@given(p=st.lists(st.floats(0, 1), min_size=1, max_size=8))
def test_holm_against_statsmodels(p):
    from statsmodels.stats.multitest import multipletests

    np.testing.assert_allclose(holm(p), multipletests(p, method="holm")[1], atol=1e-12)


def test_holm_leaves_out_what_is_not_known():
    np.testing.assert_allclose(holm([0.01, np.nan, 0.04]), [0.02, np.nan, 0.04])


def test_centres_agree_with_hotelling(rng):
    # Under normal scatter both tests give nearly one p; exact permutation of 7 against 7.
    gaps = []
    for _ in range(40):
        a, b = rng.standard_normal((7, 2)), rng.standard_normal((7, 2)) + np.array([rng.uniform(0, 2), 0])
        gaps.append(centre_permutation_test([a, b], rng).p - two_centre_test(a, b).p)
    assert np.abs(gaps).max() < 0.08
    assert abs(np.mean(gaps)) < 0.02


def test_centres_that_are_far_apart(rng):
    # All 252 splits of 5 against 5; only the true one and its mirror keep the groups apart.
    a = rng.standard_normal((5, 2))
    found = centre_permutation_test([a, rng.standard_normal((5, 2)) + np.array([50, 0])], rng)
    assert (found.extreme, found.tried) == (2, 252)


@pytest.mark.slow
@pytest.mark.parametrize(("n", "long"), [(5, 1.0), (7, 3.0)])
def test_size_of_the_spread_test(n, long):
    # 5 % is claimed at n = 5 to 20, 4 to 6.5 % allowed; 600 pairs have a standard error of 0.9 %.
    rng = np.random.default_rng(17)
    rejected = 0
    for _ in range(600):
        a, b = rng.standard_normal((n, 2)) * (long, 1), rng.standard_normal((n, 2)) * (long, 1)
        rejected += spread_test([a, b], rng).p <= 0.05
    assert 0.05 - 4 * 0.009 < rejected / 600 < 0.05 + 4 * 0.009


@pytest.mark.slow
def test_power_of_the_spread_test():
    # 2 000 simulated pairs elsewhere gave .492 at a ratio of 2, 7 against 7; standard error here 2.5 %.
    rng = np.random.default_rng(18)
    shown = sum(
        spread_test([rng.standard_normal((7, 2)), 2 * rng.standard_normal((7, 2))], rng).p <= 0.05
        for _ in range(400)
    )
    assert shown / 400 == pytest.approx(0.492, abs=0.1)


@pytest.mark.slow
def test_unequal_groups_and_many_groups_keep_their_size():
    rng = np.random.default_rng(19)
    two = three = centres = 0
    for _ in range(400):
        groups = [rng.standard_normal((n, 2)) for n in (5, 12, 8)]
        two += spread_test(groups[:2], rng, random_splits=199).p <= 0.05
        three += spread_test(groups, rng, random_splits=199).p <= 0.05
        centres += centre_permutation_test(groups, rng, random_splits=199).p <= 0.05
    for rejected in (two, three, centres):
        assert rejected / 400 == pytest.approx(0.05, abs=4 * 0.011)


@settings(deadline=None, max_examples=20)
@given(seed=st.integers(0, 10**6), angle=st.floats(0, 6.3), scale=st.floats(1e-2, 1e2))
def test_turning_scaling_shifting_and_swapping_change_nothing(seed, angle, scale):
    rng = np.random.default_rng(seed)
    a, b = rng.standard_normal((5, 2)), 1.5 * rng.standard_normal((5, 2))
    turn = scale * np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    for test in (spread_test, centre_permutation_test):
        before = test([a, b], rng)
        assert test([a @ turn.T + (1, 2), b @ turn.T + (1, 2)], rng).extreme == before.extreme
        assert test([b, a], rng).extreme == before.extreme
    moved = spread_test([a @ turn.T + (1, 2), b @ turn.T - (9, 2)], rng)
    assert moved.extreme == spread_test([a, b], rng).extreme


def test_random_splits_approach_all_splits(samples, rng):
    # 8 against 8 is enumerated; the same marks with one more each are dealt at random.
    a, b = rng.standard_normal((8, 2)), 1.8 * rng.standard_normal((8, 2))
    exact = spread_test([a, b], rng)
    assert exact.exact
    assert exact.tried == math.comb(16, 8)
    random = spread_test([samples["A"], samples["C"], samples["C"] + 1], rng, random_splits=999)
    assert (random.exact, random.tried) == (False, 1000)


def test_degenerate_groups(rng):
    good = rng.standard_normal((5, 2))
    assert isinstance(spread_test([good, good[:2]], rng), NotEstimated)
    assert isinstance(spread_test([good, np.zeros((5, 2))], rng), NotEstimated)
    assert isinstance(centre_permutation_test([good, good[:1]], rng), NotEstimated)


@pytest.mark.authority
def test_spread_ratio_of_samples(samples):
    # scipy and R var.test.
    a, b = samples["A"], samples["B"]
    va, vb = (np.trace(np.cov(x.T)) / 2 for x in (a, b))
    found = spread_ratio(va, vb, 12, 12)
    assert found.ratio.value == pytest.approx(2.394095, abs=1e-6)
    assert (found.ratio.low, found.ratio.high) == pytest.approx((1.322467, 4.334090), abs=1e-6)
    assert (found.f, found.f_p) == pytest.approx((5.731690, 0.005048407), abs=1e-6)
    assert found.first_tighter == pytest.approx(0.9974757966, abs=1e-9)
    one_axis = spread_ratio(a[:, 0].var(ddof=1), b[:, 0].var(ddof=1), 6, 6)
    assert (one_axis.f, one_axis.f_p) == pytest.approx((5.268521, 0.063006), abs=1e-6)
    assert (one_axis.ratio.low**2, one_axis.ratio.high**2) == pytest.approx((0.905282, 30.661507), abs=1e-5)


def test_swapped_ratio_is_the_inverse():
    one, other = spread_ratio(2.0, 3.0, 8, 12), spread_ratio(3.0, 2.0, 12, 8)
    assert (other.ratio.value, other.ratio.low) == pytest.approx((1 / one.ratio.value, 1 / one.ratio.high))
    assert other.f_p == pytest.approx(one.f_p)
    assert other.first_tighter == pytest.approx(1 - one.first_tighter)
    with pytest.raises(BadInput, match="spread of 0"):
        spread_ratio(0.0, 1.0, 3, 3)
