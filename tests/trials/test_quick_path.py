"""The quick path of the fit against the flight room's own integrator."""

from __future__ import annotations

import dataclasses

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.flight.crossing import trace
from shotwright.trials.measure.quick_path import quick_path

TIMES = np.sort(np.random.default_rng(1).uniform(0, 1.6, 60))


@given(st.floats(3, 12), st.floats(-0.3, 1.3), st.floats(-40, 60), st.floats(0.2, 2.0))
@settings(max_examples=40, deadline=None)
def test_both_go_the_same_way(ball_model, speed, elevation, spin, drag):
    model = dataclasses.replace(ball_model, drag=ball_model.drag._replace(scale=drag))
    velocity = speed * np.array([np.cos(elevation), 0.0, np.sin(elevation)])
    turning = np.array([0.0, -spin, 0.0])
    ours = quick_path(model, velocity, turning, TIMES)

    assert np.abs(ours - trace(model, np.zeros(3), velocity, turning, TIMES)).max() < 1e-6
