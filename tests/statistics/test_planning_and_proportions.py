"""Shots needed, hit counts: tables, statsmodels, exact coverage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import NotEstimated
from shotwright.statistics.proportions import clopper_pearson, jeffreys, wilson
from shotwright.statistics.sample_size import (
    chance_of_picking_tighter,
    hit_rate_interval,
    ratio_shown,
    shots_for_hit_rate,
    shots_for_spread_ratio,
    shots_to_pick_tighter,
    shots_without_a_miss,
    spread_power,
)


@pytest.mark.authority
def test_interval_table(table):
    for k, n, confidence, *want, tolerance in table("proportions"):
        for method, low, high in zip((wilson, clopper_pearson, jeffreys), want[::2], want[1::2], strict=True):
            found = method(int(k), int(n), confidence)
            assert (found.low, found.high) == pytest.approx((low, high), abs=tolerance)


@settings(deadline=None, max_examples=60)
@given(n=st.integers(1, 60), share=st.floats(0, 1), confidence=st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_against_statsmodels(n, share, confidence):
    k = round(share * n)
    for method, name in ((wilson, "wilson"), (clopper_pearson, "beta"), (jeffreys, "jeffreys")):
        found = method(k, n, confidence)
        want = proportion_confint(k, n, 1 - confidence, method=name)
        assert (found.low, found.high) == pytest.approx(want, abs=1e-9)
        assert found.low <= found.value <= found.high or method is jeffreys


@pytest.mark.authority
@pytest.mark.parametrize(
    ("method", "mean", "least"),
    [(wilson, 0.9545, 0.838), (clopper_pearson, 0.9871, 0.953), (jeffreys, 0.9550, 0.886)],
)
def test_exact_coverage_at_seven(method, mean, least):
    # Computed over p = .01 to .99: mean and least coverage of nominal 95 %.
    limits = [method(k, 7) for k in range(8)]
    p = np.linspace(0.01, 0.99, 981)
    inside = sum(stats.binom.pmf(k, 7, p) * ((e.low <= p) & (p <= e.high)) for k, e in enumerate(limits))
    assert inside.mean() == pytest.approx(mean, abs=0.002)
    assert inside.min() == pytest.approx(least, abs=0.004)


def test_counts_that_make_no_sense():
    for method in (wilson, clopper_pearson, jeffreys):
        assert isinstance(method(0, 0), NotEstimated)
        with pytest.raises(BadInput, match="hits"):
            method(8, 7)
    ends = jeffreys(7, 7, closed_ends=True), jeffreys(0, 7, closed_ends=True)
    assert (ends[0].high, ends[1].low) == (1.0, 0.0)


@pytest.mark.authority
def test_shots_for_a_ratio(table):
    for ratio, power80, power90, pairs, one_axis in table("shots_for_ratio"):
        found = (
            shots_for_spread_ratio(ratio),
            shots_for_spread_ratio(ratio, power=0.9),
            shots_for_spread_ratio(ratio, comparisons=3),
            shots_for_spread_ratio(ratio, axes=1),
        )
        assert found == (power80, power90, pairs, one_axis)
        assert shots_for_spread_ratio(1 / ratio) == power80


@pytest.mark.authority
def test_power_and_ratios_at_seven():
    # Exact F, scipy.
    for ratio, power in ((1.25, 0.111), (1.5, 0.263), (2, 0.632), (2.5, 0.861), (3, 0.954)):
        assert spread_power(ratio, 7) == pytest.approx(power, abs=6e-4)
    for n, ratio in ((5, 2.869), (7, 2.323), (10, 1.971), (15, 1.714), (20, 1.585), (30, 1.449)):
        assert ratio_shown(n) == pytest.approx(ratio, abs=6e-4)
    for ratio, chance in ((1.25, 0.7746), (1.5, 0.9127), (2, 0.9883)):
        assert chance_of_picking_tighter(ratio, 7) == pytest.approx(chance, abs=6e-5)


def test_power_by_simulation(rng):
    shown = 0
    for _ in range(2000):
        a, b = rng.standard_normal((9, 2)), 1.7 * rng.standard_normal((9, 2))
        f = np.trace(np.cov(b.T)) / np.trace(np.cov(a.T))
        shown += not stats.f.ppf(0.025, 16, 16) < f < stats.f.ppf(0.975, 16, 16)
    assert shown / 2000 == pytest.approx(spread_power(1.7, 9), abs=4 * 0.0112)


@pytest.mark.authority
def test_shots_for_a_hit_rate():
    # Computed; hit rate, half-width, shots.
    rows = ((0.5, 0.1, 93), (0.5, 0.15, 39), (0.5, 0.2, 21), (0.8, 0.1, 60), (0.8, 0.15, 26), (0.9, 0.2, 10))
    for rate, half_width, shots in rows:
        assert shots_for_hit_rate(rate, half_width) == shots
    for hits in range(15, 31):  # Wilson's interval of a whole number of hits is no wider there
        found = wilson(hits, 30)
        n = shots_for_hit_rate(hits / 30, (found.high - found.low) / 2 + 1e-9)
        assert n == 30


@pytest.mark.authority
def test_hits_without_a_miss():
    rows = {0.8: (8, 11, 14), 0.9: (16, 22, 29), 0.95: (32, 45, 59), 0.99: (161, 230, 299)}
    for p, want in rows.items():
        assert tuple(shots_without_a_miss(p, confidence=c) for c in (0.80, 0.90, 0.95)) == want
    n = shots_without_a_miss(0.9)
    assert clopper_pearson(n, n, 0.90).low >= 0.9 > clopper_pearson(n - 1, n - 1, 0.90).low


def test_picking_needs_less_than_proving():
    n = shots_to_pick_tighter(1.5, chance=0.9)
    assert chance_of_picking_tighter(1.5, n) >= 0.9 > chance_of_picking_tighter(1.5, n - 1)
    assert n < shots_for_spread_ratio(1.5)
    assert hit_rate_interval(0.8, 10).value == 0.8


@pytest.mark.parametrize(
    "ask",
    [
        lambda: shots_for_spread_ratio(1.0),
        lambda: shots_for_spread_ratio(-2.0),
        lambda: shots_for_spread_ratio(1.5, power=80),
        lambda: shots_to_pick_tighter(1.0),
        lambda: shots_for_hit_rate(1.2, 0.1),
        lambda: shots_for_hit_rate(0.8, 0.0),
        lambda: shots_without_a_miss(1.0),
    ],
)
def test_questions_without_sense(ask):
    with pytest.raises(BadInput):
        ask()


def test_more_than_a_million():
    with pytest.raises(NoAnswer, match="more than 1000000"):
        shots_for_hit_rate(0.5, 1e-4)
