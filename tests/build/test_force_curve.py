"""Force curves: work against closed forms and quadrature, the inverse against the work."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from shotwright.base.errors import BadInput
from shotwright.build.force_curve import curve_through, linear_force, polynomial_force


def test_linear_work_is_the_closed_form() -> None:
    curve = linear_force(900, 0.04, 0.09)
    x = np.linspace(0, 0.09, 11)
    np.testing.assert_allclose(curve.work(x), 450 * ((0.04 + x) ** 2 - 0.04**2), rtol=1e-13, atol=1e-15)
    np.testing.assert_allclose(curve.travel(curve.work(x)), x, rtol=0, atol=1e-14)


@given(
    st.lists(st.floats(0.5, 200.0), min_size=2, max_size=9),
    st.floats(0.005, 1.0),
    st.floats(0.0, 1.0),
)
@settings(max_examples=40, deadline=None)
def test_travel_undoes_work_on_any_positive_curve(forces: list[float], stroke: float, share: float) -> None:
    curve = curve_through(np.linspace(0, stroke, len(forces)), forces)
    x = share * stroke
    # The work is known to rounding of the total; divided by the force that is a length.
    slack = 1e-13 * curve.total_work / float(curve.force(np.linspace(0, stroke, 400)).min()) + 1e-15
    assert abs(float(curve.travel(curve.work(x))) - x) <= slack
    assert min(forces) - 1e-9 <= float(curve.force(x)) <= max(forces) + 1e-9


def test_work_of_a_measured_curve_agrees_with_quadrature() -> None:
    curve = curve_through([0, 0.02, 0.05, 0.06, 0.1], [10.0, 18, 40, 41, 90])
    for a in (0.013, 0.05, 0.1):
        by_scipy, _ = quad(lambda x: float(curve.force(x)), 0, a, points=[0.02, 0.05, 0.06], epsabs=1e-13)
        assert float(curve.work(a)) == pytest.approx(by_scipy, rel=1e-12)


def test_slope_is_the_derivative() -> None:
    curve = polynomial_force([30, 900, 4000, -2e4], 0.09)
    x, h = np.linspace(0.001, 0.089, 20), 1e-6
    by_difference = (curve.force(x + h) - curve.force(x - h)) / (2 * h)
    np.testing.assert_allclose(curve.slope(x), by_difference, rtol=1e-7)


def test_points_at_one_travel_are_averaged() -> None:
    curve = curve_through([0, 0.1, 0.1], [10.0, 30, 34])
    assert float(curve.force(0.1)) == pytest.approx(32, rel=1e-14)


@pytest.mark.parametrize(
    ("coefficients", "stroke"), [([-1.0, 900.0], 0.09), ([10.0, -900.0], 0.09), ([10.0], 0.0)]
)
def test_a_force_that_does_not_push_is_refused(coefficients: list[float], stroke: float) -> None:
    with pytest.raises(BadInput):
        polynomial_force(coefficients, stroke)
