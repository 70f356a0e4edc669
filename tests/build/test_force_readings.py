"""Springs from readings: coverage by simulation, an independent fit, and what readings can't say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.build.force_readings import Branch, measured_curve, measured_spring, smooth_fit

TRAVEL = np.linspace(0.0, 0.09, 10)


def law(x: np.ndarray) -> np.ndarray:
    return np.asarray(30 + 900 * x + 4000 * x**2)


def test_the_straight_line_agrees_with_scipy() -> None:
    rng = np.random.default_rng(4)
    force = 36 + 900 * TRAVEL + rng.normal(0, 0.8, len(TRAVEL))
    rate = measured_spring(Branch(TRAVEL, force)).rate_n_m
    assert isinstance(rate, Estimate)
    by_scipy = stats.linregress(TRAVEL, force)
    half = stats.t.ppf(0.975, len(TRAVEL) - 2) * by_scipy.stderr
    assert rate.value == pytest.approx(by_scipy.slope, rel=1e-10)
    assert rate.high - rate.value == pytest.approx(half, rel=1e-9)


def test_the_interval_of_the_energy_covers_the_truth() -> None:
    """2000 simulated sets of readings of a known curve; binomial bounds about 95 %."""
    rng = np.random.default_rng(11)
    truth, _ = quad(lambda x: 30 + 900 * x + 4000 * x**2, 0, 0.09)
    inside = 0
    for _ in range(2000):
        fit = smooth_fit(Branch(TRAVEL, law(TRAVEL) + rng.normal(0, 0.5, len(TRAVEL))), 2)
        energy = fit.estimate(fit.work_row(0.0, 0.09))
        assert isinstance(energy, Estimate)
        inside += energy.low <= truth <= energy.high
    assert 0.935 <= inside / 2000 <= 0.965


def test_exact_readings_give_the_curve_back() -> None:
    curve = measured_curve(Branch(TRAVEL + 0.2, law(TRAVEL)))
    x = np.linspace(0, 0.09, 50)
    np.testing.assert_allclose(curve.force(x), law(x), rtol=1e-9)
    assert smooth_fit(Branch(TRAVEL, law(TRAVEL))).degree == 2


def test_a_noisy_line_stays_a_line() -> None:
    """Two tests at 5 % each pick a needless bend in about a tenth of many noisy sets."""
    rng = np.random.default_rng(3)
    bent = [
        smooth_fit(Branch(TRAVEL, 36 + 900 * TRAVEL + rng.normal(0, 1, len(TRAVEL)))).degree > 1
        for _ in range(300)
    ]
    assert 0.03 < np.mean(bent) < 0.16


def test_loss_is_the_share_that_does_not_come_back() -> None:
    told = measured_spring(Branch(TRAVEL, law(TRAVEL)), Branch(TRAVEL, 0.88 * law(TRAVEL)))
    assert isinstance(told.loss, Estimate)
    assert told.loss.value == pytest.approx(0.12, abs=1e-9)
    assert isinstance(told.energy_back_j, Estimate)
    assert told.energy_back_j.value == pytest.approx(0.88 * 7.317, rel=1e-9)


def test_without_unloading_no_loss_is_told() -> None:
    told = measured_spring(Branch(TRAVEL, law(TRAVEL)))
    assert isinstance(told.loss, NotEstimated)
    assert "unloading" in told.loss.reason


def test_two_readings_give_a_line_without_interval() -> None:
    told = measured_spring(Branch([0, 0.1], [10.0, 110]))
    assert isinstance(told.rate_n_m, NotEstimated)
    assert float(measured_curve(Branch([0, 0.1], [10.0, 110])).force(0.05)) == pytest.approx(60)


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
@settings(max_examples=30, deadline=None)
def test_units_scale_through(longer: float, stronger: float) -> None:
    """Twice the travel and three times the force is six times the energy, whatever the numbers."""
    noise = np.array([0.3, -0.2, 0.1, 0.4, -0.5, 0.2, -0.1, 0.3, -0.4, 0.1])
    first = measured_spring(Branch(TRAVEL, law(TRAVEL) + noise))
    second = measured_spring(Branch(longer * TRAVEL, stronger * (law(TRAVEL) + noise)))
    assert isinstance(first.energy_in_j, Estimate)
    assert isinstance(second.energy_in_j, Estimate)
    assert second.energy_in_j.low == pytest.approx(longer * stronger * first.energy_in_j.low, rel=1e-8)


def test_a_stroke_beyond_the_readings_is_refused() -> None:
    with pytest.raises(BadInput, match="not within the readings"):
        measured_spring(Branch(TRAVEL, law(TRAVEL)), stroke=0.12)
    with pytest.raises(BadInput, match="not within the readings"):
        measured_curve(Branch(TRAVEL, law(TRAVEL)), front=-0.01)


def test_a_curve_through_the_readings_meets_each() -> None:
    force = np.array([31, 39, 47, 60, 71, 80, 97, 115, 128, 146.0])
    curve = measured_curve(Branch(TRAVEL, force), front=0.01, stroke=0.07, through=True)
    np.testing.assert_allclose(curve.force(TRAVEL[1:8] - 0.01), force[1:8], atol=0.6)
    np.testing.assert_allclose(curve.force(TRAVEL[2:8] - 0.01), force[2:8], rtol=1e-12)
    assert curve.stroke == pytest.approx(0.07)


def test_repeated_travels_give_different_readings_their_due() -> None:
    assert smooth_fit(Branch([0, 0, 0.1, 0.1], [9.0, 11, 109, 111])).misfit == pytest.approx(2**0.5)


def test_travels_that_stand_unevenly_give_a_lower_degree() -> None:
    """Three readings within a millimetre and one a kilometre off can't tell a bend; a line they can."""
    assert smooth_fit(Branch([0, 1e-6, 2e-6, 3e-6, 1000.0], [1.0, 2, 1, 2, 50])).degree == 1
