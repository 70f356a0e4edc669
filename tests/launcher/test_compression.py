"""Force against squeeze: Hertz, and curves through a kitchen scale's readings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from shotwright.base.errors import BadInput
from shotwright.launcher.compression import Hertz, Readings, fit_compression, hertz_from_modulus


def pairs(x: np.ndarray, y: np.ndarray) -> tuple[tuple[float, float], ...]:
    return tuple(zip(x.tolist(), y.tolist(), strict=True))


def test_hertz_stiffness_and_energy() -> None:
    """dF/dDelta = 1.5 F/Delta; W = (2/5) F Delta (Johnson, Contact Mechanics, ch. 4)."""
    law = hertz_from_modulus(0.089, 0.3e6, 0.2)
    step = 1e-6
    slope = (law.force(0.02 + step) - law.force(0.02 - step)) / (2 * step)

    assert float(slope) == pytest.approx(9322.77118, rel=1e-6)
    assert float(law.work(0.02)) == pytest.approx(quad(lambda x: float(law.force(x)), 0, 0.02)[0], rel=1e-9)


def test_one_millimetre_more_ball() -> None:
    """Hertz: 1 mm more on a squeeze of 20 mm is 7.593 % more force: 1.05^1.5 (closed form)."""
    law = Hertz(4e4)

    assert float(law.force(0.021) / law.force(0.020)) - 1 == pytest.approx(0.07593, abs=5e-6)


@given(
    readings=st.lists(
        st.tuples(st.floats(0.001, 0.05), st.floats(0.1, 300)),
        min_size=3,
        max_size=15,
        unique_by=lambda p: round(p[0], 4),
    )
)
@settings(max_examples=60, deadline=None)
def test_any_readings_become_a_curve_that_never_falls(readings: list[tuple[float, float]]) -> None:
    try:
        law = fit_compression(Readings(tuple(readings), assumed_loss=0.3))
    except BadInput:
        return
    force = law.force(np.linspace(0, 1.5 * law.reach, 400))

    assert force[0] == 0
    assert (np.diff(force) >= -1e-9 * force[-1]).all()


def test_falling_readings_are_pooled_like_isotonic_regression_by_hand() -> None:
    # readings 2 and 3 fall: they pool to their mean at their mean squeeze
    law = fit_compression(Readings(((0.01, 10.0), (0.02, 40.0), (0.03, 30.0), (0.04, 80.0))))

    np.testing.assert_allclose(law.force([0.01, 0.025, 0.04]), [10.0, 35.0, 80.0], atol=1e-9)
    assert law.misfit > 0


def test_work_is_the_area_under_the_curve() -> None:
    law = fit_compression(Readings(((0.01, 10.0), (0.02, 30.0), (0.03, 65.0), (0.04, 120.0))))

    for end in (0.005, 0.0234, 0.04, 0.05):
        area = quad(lambda x: float(law.force(x)), 0, end, points=[p for p in law.squeeze if 0 < p < end])[0]
        assert float(law.work(end)) == pytest.approx(area, rel=1e-8)


def test_hysteresis_is_the_share_of_the_area_between_the_ways() -> None:
    x = np.linspace(0.0, 0.03, 40)[1:]
    closing, opening = 4e4 * x**1.5, 4e4 * 0.03**1.5 * (x / 0.03) ** 2.5
    law = fit_compression(Readings(pairs(x, closing), pairs(x, opening)))

    # areas K e^2.5/2.5 and K e^2.5/3.5: loss = 1 - 2.5/3.5 (closed form)
    assert law.loss == pytest.approx(1 - 2.5 / 3.5, abs=2e-3)
    assert law.loss_origin == "measured"
    np.testing.assert_allclose(law.force_back(0.02, 0.03), 4e4 * 0.03**1.5 * (2 / 3) ** 2.5, rtol=1e-3)
    # from a smaller squeeze, the way back begins at the force reached there
    assert float(law.force_back(0.02, 0.02)) == pytest.approx(float(law.force(0.02)), rel=1e-9)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_the_way_back_never_lies_above_the_way_in(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0.001, 0.04, 8))
    law = fit_compression(
        Readings(pairs(x, np.sort(rng.uniform(1, 99, 8))), pairs(x, np.sort(rng.uniform(1, 99, 8))))
    )

    assert (np.array(law.opening) <= np.array(law.closing) + 1e-12).all()
    assert 0 <= law.loss < 1


def test_noise_is_smoothed_not_believed() -> None:
    """Isotonic regression is a projection on a cone that holds the truth: it never adds to the error."""
    rng = np.random.default_rng(2)
    x = np.linspace(0.002, 0.03, 12)
    true, kept, read = 4e4 * x**1.5, [], []
    for _ in range(40):
        noisy = np.maximum(true + rng.normal(0, 15, 12), 0.0)
        law = fit_compression(Readings(pairs(x, noisy)))
        kept.append(np.mean((law.force(x) - true) ** 2))
        read.append(np.mean((noisy - true) ** 2))

    assert np.mean(kept) < 0.95 * np.mean(read)


@pytest.mark.parametrize(
    ("readings", "message"),
    [
        (Readings(((0.01, 10.0),)), "1 squeezes above zero are not enough"),
        (Readings(((0.01, 10.0), (0.01, 12.0))), "1 squeezes"),
        (Readings(((0.01, -1.0), (0.02, 2.0))), "finite and not negative"),
        (Readings(((0.01, math.nan), (0.02, 2.0))), "finite and not negative"),
        (Readings(((0.01, 1.0), (0.02, 2.0)), assumed_loss=1.2), "from 0 to below 1"),
        (Readings(((0.01, 0.0), (0.02, 0.0))), "no force"),
    ],
)
def test_what_is_no_curve_is_told(readings: Readings, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        fit_compression(readings)
