"""The curve through a table against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from shotwright.flight.spline import clamped_spline, spline_minimum, spline_value

points = st.lists(st.tuples(st.floats(0.1, 3.0), st.floats(-2.0, 2.0)), min_size=2, max_size=12).map(
    lambda steps: (np.cumsum([dx for dx, _ in steps]), np.array([y for _, y in steps]))
)


@settings(max_examples=100, deadline=None)
@given(points, st.floats(0.0, 1.0))
def test_it_is_scipys_clamped_spline(table, share):
    x, y = table
    at = x[0] + share * (x[-1] - x[0])
    expected = CubicSpline(x, y, bc_type="clamped")(at)
    assert spline_value(at, *clamped_spline(x, y)) == pytest.approx(float(expected), abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(points)
def test_least_value_is_found(table):
    x, y = table
    curve = clamped_spline(x, y)
    dense = CubicSpline(x, y, bc_type="clamped")(np.linspace(x[0], x[-1], 4001))
    assert spline_minimum(*curve) <= dense.min() + 1e-9
    assert spline_minimum(*curve) == pytest.approx(dense.min(), abs=1e-3)
