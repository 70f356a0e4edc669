"""A monotone curve through points: exact for lines, never turning back, near the truth with its band."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from shotwright.base.errors import BadInput
from shotwright.tuning.monotone import fit_band, monotone_fit


@pytest.mark.parametrize("slope", [-2.0, 0.7])
@pytest.mark.parametrize("count", [2, 3, 9])
def test_a_straight_line_comes_back(slope, count):
    x = np.linspace(1.0, 5.0, count)
    at = np.linspace(0.0, 6.0, 31)

    assert monotone_fit(x, 3.0 + slope * x)(at) == pytest.approx(3.0 + slope * at, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 10), st.floats(-5, 5)), min_size=4, max_size=20), st.booleans())
def test_it_never_turns_back(points, rising):
    x, y = np.array(points).T
    x = x + np.linspace(0.0, 0.5, len(x))
    steps = np.diff(monotone_fit(x, y, rising=rising)(np.linspace(x.min(), x.max(), 400)))

    assert (steps >= -1e-9).all() if rising else (steps <= 1e-9).all()


def test_it_follows_a_smooth_monotone_truth():
    x = np.linspace(1.0, 6.0, 15)
    at = np.linspace(1.0, 6.0, 101)

    # range of a throw grows with the square of the speed: speed over distance
    assert monotone_fit(x, np.sqrt(9.81 * x))(at) == pytest.approx(np.sqrt(9.81 * at), abs=0.01)


def test_it_smooths_noise_better_than_steps():
    rng = np.random.default_rng(2)
    x = np.linspace(0.0, 1.0, 40)
    truth = np.tanh(2 * x)
    off, steps = [], []
    for _ in range(20):
        y = truth + 0.05 * rng.standard_normal(40)
        off.append(np.mean((monotone_fit(x, y)(x) - truth) ** 2))
        steps.append(np.mean((isotonic_regression(y).x - truth) ** 2))

    assert np.mean(off) < np.mean(steps)


def test_the_band_covers_a_line_through_points():
    rng = np.random.default_rng(3)
    x, sd, at = np.linspace(0.0, 4.0, 5), np.full(5, 0.1), np.array([0.3, 2.0, 3.7])
    inside = np.zeros(3)
    for _ in range(30):
        y = 1.0 + 0.5 * x + sd * rng.standard_normal(5)
        low, high = np.quantile(fit_band(x, y, sd, at, rng, draws=60), [0.025, 0.975], axis=0)
        inside += (low <= 1.0 + 0.5 * at) & (1.0 + 0.5 * at <= high)

    # binomial: 30 bands of 95 % hold the truth 24 times or more with a chance above 0.999
    assert (inside >= 24).all()


def test_one_place_makes_no_curve():
    with pytest.raises(BadInput, match="points at two places; there is 1"):
        monotone_fit(np.ones(3), np.arange(3.0))
