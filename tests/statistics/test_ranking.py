"""Ranks over weights: polygon areas, quadrature, permutation of designs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.statistics.ranking import acceptability, chance_dominated, chance_of_rank

UTILITIES = [[0.9, 0.3, 0.5], [0.4, 0.8, 0.6], [0.6, 0.6, 0.7]]


@pytest.mark.authority
def test_areas_in_the_triangle_of_weights(rng):
    # Exact polygon areas 3/10, 1/3, 11/30; second and third ranks by 4e6 random weights (.0005).
    found = acceptability(UTILITIES, rng, samples=400_000)
    np.testing.assert_allclose(found.ranks[:, 0], [3 / 10, 1 / 3, 11 / 30], atol=0.004)
    np.testing.assert_allclose(found.ranks[:, 1], [0.11657, 0.25006, 0.63337], atol=0.004)
    np.testing.assert_allclose(found.ranks[:, 2], [0.58331, 0.41669, 0.0], atol=0.004)
    # Exact centroids.
    want = [
        (0.633333, 0.166667, 0.200000),
        (0.166667, 0.611111, 0.222222),
        (0.239394, 0.217172, 0.543434),
    ]
    np.testing.assert_allclose(found.central_weights, want, atol=0.004)
    assert found.confidence.tolist() == [1.0, 1.0, 1.0]


@pytest.mark.authority
def test_three_hit_rates(rng):
    # 6, 5 and 7 hits of 7 under Jeffreys' prior, by quadrature: .1581328, .0349758, .8068913.
    draws = np.column_stack([rng.beta(k + 0.5, 7.5 - k, 400_000) for k in (6, 5, 7)])
    np.testing.assert_allclose(chance_of_rank(draws)[:, 0], [0.1581328, 0.0349758, 0.8068913], atol=0.003)


@pytest.mark.authority
def test_doubtful_scores(rng):
    # Simulation of 4e6 elsewhere: first ranks .078 .857 .065, confidence .293 .999 .430.
    n = 100_000
    hits = np.column_stack([rng.beta(k + 0.5, 7.5 - k, n) for k in (6, 5, 7)])
    cycle = (3 - rng.normal((1.9, 1.2, 2.3), (0.15, 0.10, 0.20), (n, 3))) / 2
    mass = np.broadcast_to((6 - np.array([4.1, 3.2, 4.9])) / 3, (n, 3))
    found = acceptability(np.stack([hits, cycle, mass], axis=2), rng, samples=n)
    np.testing.assert_allclose(found.ranks[:, 0], [0.078, 0.857, 0.065], atol=0.006)
    np.testing.assert_allclose(found.ranks[:, 1], [0.803, 0.067, 0.130], atol=0.006)
    np.testing.assert_allclose(found.confidence, [0.293, 0.999, 0.430], atol=0.015)


@pytest.mark.authority
def test_pareto_front():
    # hit rate up, time and mass down; the fourth is dominated by the second, the fifth by the first.
    scores = np.array(
        [(0.85, 1.9, 4.1), (0.70, 1.2, 3.2), (0.92, 2.3, 4.9), (0.68, 1.4, 3.5), (0.85, 2.0, 4.1)]
    )
    whole, by = chance_dominated(scores * (1, -1, -1))
    assert whole.tolist() == [0, 0, 0, 1, 1]
    assert by[3].tolist() == [0, 1, 0, 0, 0]
    assert by[4].tolist() == [1, 0, 0, 0, 0]


@settings(deadline=None, max_examples=30)
@given(seed=st.integers(0, 10**6), designs=st.integers(1, 5), criteria=st.integers(1, 4))
def test_ranks_share_out_to_one_and_follow_a_swap(seed, designs, criteria):
    rng = np.random.default_rng(seed)
    scores = rng.integers(0, 3, (40, designs, criteria)).astype(float)
    found = acceptability(scores, np.random.default_rng(1), samples=500)
    np.testing.assert_allclose(found.ranks.sum(axis=0), 1.0)
    np.testing.assert_allclose(found.ranks.sum(axis=1), 1.0)
    order = rng.permutation(designs)
    swapped = acceptability(scores[:, order], np.random.default_rng(1), samples=500)
    np.testing.assert_allclose(swapped.ranks, found.ranks[order])


def test_own_weights_concentrate(rng):
    found = acceptability(UTILITIES, rng, concentration=[300.0, 1.0, 1.0], samples=5000)
    assert found.ranks[0, 0] > 0.99
    never = acceptability([[1.0, 1.0], [0.0, 0.0]], rng)
    assert np.isnan(never.central_weights[1]).all()
    assert never.confidence.tolist() == [1.0, 0.0]


def test_scores_that_make_no_sense(rng):
    for scores in ([1.0, 2.0], [[np.nan, 1.0]]):
        with pytest.raises(BadInput, match="scores"):
            acceptability(scores, rng)
    with pytest.raises(BadInput, match="each criterion"):
        acceptability(UTILITIES, rng, concentration=[1.0, 1.0])
