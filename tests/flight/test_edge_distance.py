"""Paths past an edge to fourth degree: dense sampling, and the compiled text against the plain one."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.edge_distance import compiled_distances, crossing_distance, signed_distance
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather

AIR = flight_model(
    Ball("b", 0.18, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"), spin_decay=0.05),
    Weather(wind=(1.0, -0.5, 0.0)),
)
UP = (0.0, 0.0, 1.0)

numbers = st.floats(-1.0, 1.0)
triples = st.tuples(numbers, numbers, numbers)
paths = st.tuples(st.tuples(numbers, numbers, st.just(0.0)), triples, triples, triples, triples)
corners = ((-0.7, -0.4), (0.6, -0.5), (0.1, 0.0), (0.5, 0.6), (-0.4, 0.5))
SIDES = [(*a, *b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def gaps(path, times, ring):
    """Distances from the edge at some times, by numpy and shapely."""
    x, y, z = np.polynomial.polynomial.polyval(times, np.array(path))
    flat = (
        np.hypot(x, y) - 0.5 if ring else shapely.distance(shapely.LinearRing(corners), shapely.points(x, y))
    )
    return np.hypot(flat, z)


@settings(max_examples=50, deadline=None)
@given(paths, st.booleans())
def test_least_distance_is_that_of_a_dense_sampling(path, ring):
    sides = [(0.5, 0.0, 0.0, 0.0)] if ring else SIDES
    times = np.linspace(-0.5, 0.4, 1501)
    coarse = gaps(path, times, ring)
    # the least may lie beside any low sample: look closely there
    near = times[coarse < coarse.min() + 0.01]
    fine = (near[:, None] + np.linspace(-6e-4, 6e-4, 41)).ravel()
    least = gaps(path, fine[(fine >= -0.5) & (fine <= 0.4)], ring).min()
    found = signed_distance(path, -0.5, 0.4, sides, ring)
    assert abs(found) == pytest.approx(least, abs=3e-4)
    assert abs(found) <= least + 1e-9
    start = path[0][:2]
    if gaps(path, np.zeros(1), ring)[0] > 1e-9:  # not on the edge itself
        inside = math.hypot(*start) < 0.5 if ring else shapely.contains_xy(shapely.Polygon(corners), *start)
        assert (found > 0) == inside


@pytest.mark.parametrize("ring", [True, False])
def test_compiled_distances_are_the_plain_ones(ring):
    rng = np.random.default_rng(4)
    ends = (*rng.uniform(-1, 1, (5, 200, 3)), rng.uniform(0.0, 0.5, 200))
    frame = np.vstack([np.linalg.qr(rng.normal(size=(3, 3)))[0], rng.uniform(-0.2, 0.2, (1, 3))])
    sides = np.array([[0.5, 0, 0, 0]] if ring else SIDES)
    counts = rng.random(200) < 0.9
    found = np.empty(200)
    compiled_distances()(ends, frame, 0.3, sides, ring, counts, found)
    plain = [
        crossing_distance(i, ends, frame, 0.3, sides.tolist(), ring) if counts[i] else math.nan
        for i in range(200)
    ]
    np.testing.assert_allclose(found, plain, rtol=0, atol=1e-12)


def flown(count, height=1.2, model=AIR):
    values = np.random.default_rng(3).uniform((7, 0.6, 0.0), (12, 1.2, 200), (400, 3))[:count]
    velocity, spin = launch_vectors(values[:, 0], values[:, 1], 0.1, values[:, 2])
    return fly_to_plane(model, (0, 0, 1), velocity, spin, (0, 0, height), UP, snap=True)


def test_snap_is_the_rate_of_the_jerk():
    # the same flights at planes a little above and below
    low, middle, high = (flown(30, 1.2 + step) for step in (-0.01, 0.0, 0.01))
    assert (middle.status == Status.CROSSED).all()
    rate = (low.jerk - high.jerk) / (low.time - high.time)[:, None]
    np.testing.assert_allclose(middle.snap, rate, rtol=0, atol=0.03 * np.abs(rate).max())


def test_few_flights_have_the_snap_of_many():
    np.testing.assert_allclose(flown(5).snap, flown(30).snap[:5], rtol=1e-6, atol=1e-5)


def test_a_corner_of_a_law_gives_no_snap_out_of_proportion():
    # the lift of this law has corners at spin parameters 0.1 and 0.6 [S = r w / u]
    ball = dataclasses.replace(AIR.ball, lift=CoefficientLaw("sawicki-hubbard-stronge"))
    found = flown(400, model=flight_model(ball, Weather()))
    assert np.abs(found.snap).max() < 40 * np.abs(found.jerk).max()


def test_without_air_there_is_no_snap():
    still = flight_model(AIR.ball, Weather(), density=0.0)
    assert np.abs(flown(20, model=still).snap).max() < 1e-5
    assert fly_to_plane(AIR, (0, 0, 1), (5, 0, 5), (0, 0, 0), (3, 0, 1), UP).snap.shape == (0, 3)
