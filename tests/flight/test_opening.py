"""Balls past edges: straight paths have closed forms, curved ones a dense sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.flight.crossing import Status, fly_to_plane, trace
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.opening import edge_clearance, passes, scoring_region
from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

R = 0.12
STRAIGHT = flight_model(
    Ball("b", 2 * R, 0.6, CoefficientLaw("constant", 0.0), CoefficientLaw("none")),
    Weather(),
    gravity=0.0,
    density=0.0,
)
AIR = flight_model(Ball("b", 2 * R, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross")), Weather())
RING = Target("ring", (4.0, 0.5, 3.0), 0.4, math.pi / 2, radius=0.2286)
WINDOW = Target(
    "window",
    (4.0, 0.5, 2.0),
    math.pi + 0.3,
    0.2,
    corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3)),
)
NOTCHED = Target(
    "notched",
    (4.0, 0.0, 2.0),
    math.pi,
    0.0,
    corners=((-0.6, -0.5), (0.6, -0.5), (0.6, 0.5), (0.1, 0.5), (0.0, 0.1), (-0.1, 0.5), (-0.6, 0.5)),
)


def straight_through(target, points, direction, speed=6.0):
    """Crossings of straight flights along `direction` through points (u, w) of a target's plane."""
    u, w, n = target.axes()
    direction = np.asarray(direction) / np.linalg.norm(direction)
    places = np.asarray(target.centre) + np.asarray(points) @ np.array([u, w])
    starts = places - 2.0 * direction
    velocity = np.tile(speed * direction, (len(starts), 1))
    return fly_to_plane(STRAIGHT, starts, velocity, (0, 0, 0), target.centre, n, floor=-math.inf)


def test_square_on_to_a_ring():
    _, _, n = RING.axes()
    found = straight_through(RING, [(0, 0), (0.05, 0), (0, 0.1086), (0.3, 0.0)], -n)
    expected = [0.2286 - R, 0.1786 - R, 0.0, -(0.3 - 0.2286) - R]
    np.testing.assert_allclose(edge_clearance(RING, found, R), expected, atol=1e-9)
    assert passes(RING, found, R - 1e-6).tolist() == [True, True, True, False]


@pytest.mark.parametrize("entry", [35.0, 50.0, 80.0])
def test_ring_seen_at_an_angle(entry):
    # allowed shift of the centre in the plane of the flight: R - r/sin(entry); across it, the ring's own
    e = math.radians(entry)
    _, w, n = RING.axes()
    direction = math.cos(e) * w - math.sin(e) * n
    room = 0.2286 - R / math.sin(e)
    just_in, just_out = room - 1e-6, room + 1e-6
    found = straight_through(RING, [(0, just_in), (0, -just_in), (0, just_out), (0, -just_out)], direction)
    assert passes(RING, found, R).tolist() == [True, True, False, False]
    region = scoring_region(RING, direction, R)
    assert np.abs(region[:, 1]).max() == pytest.approx(room, abs=1e-4)


def test_ring_too_flat_for_the_ball():
    # sin(entry) must be at least D_ball/D_ring: asin(0.24/0.4572) = 31.66 degrees
    _, w, n = RING.axes()
    for entry, fits in ((31.5, False), (32.0, True)):
        e = math.radians(entry)
        assert (len(scoring_region(RING, math.cos(e) * w - math.sin(e) * n, R)) > 0) == fits


directions = st.tuples(st.floats(-0.8, 0.8), st.floats(-0.8, 0.8))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([RING, WINDOW, NOTCHED]), directions, st.tuples(*[st.floats(-0.6, 0.6)] * 2))
def test_region_and_clearance_agree_on_straight_paths(target, slant, point):
    import shapely

    u, w, n = target.axes()
    direction = slant[0] * u + slant[1] * w - n
    region = scoring_region(target, direction, R)
    found = straight_through(target, [point], direction)
    scores = bool(passes(target, found, R)[0])
    if len(region) == 0:
        assert not scores
        return
    polygon = shapely.Polygon(region)
    if polygon.exterior.distance(shapely.Point(point)) > 2e-4:  # a circle is a polygon of 128 corners
        inside = polygon.contains(shapely.Point(point))
        # a notched region may fall into parts, of which the largest is given
        assert scores if inside else (not scores or target is NOTCHED)


@settings(max_examples=30, deadline=None)
@given(directions)
def test_edges_are_set_in_by_the_known_amount(slant):
    # r |d x e| / |d . n| for each edge of a rectangle
    u, w, n = WINDOW.axes()
    d = slant[0] * u + slant[1] * w - n
    d = d / np.linalg.norm(d)
    inset_u = R * np.linalg.norm(np.cross(d, w)) / abs(d @ n)
    inset_w = R * np.linalg.norm(np.cross(d, u)) / abs(d @ n)
    region = scoring_region(WINDOW, d, R)
    if inset_u >= 0.4 or inset_w >= 0.3:
        assert len(region) == 0
    else:
        np.testing.assert_allclose(np.abs(region[:, 0]).max(), 0.4 - inset_u, atol=1e-9)
        np.testing.assert_allclose(np.abs(region[:, 1]).max(), 0.3 - inset_w, atol=1e-9)


def test_region_runs_anticlockwise_and_is_empty_from_behind():
    u, _, n = WINDOW.axes()
    x, y = scoring_region(WINDOW, -n, R).T
    assert np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) > 0
    assert scoring_region(WINDOW, n, R).shape == (0, 2)
    assert scoring_region(WINDOW, u, R).shape == (0, 2)


def test_notch_is_outside():
    found = straight_through(NOTCHED, [(0.0, 0.35), (0.35, 0.0)], -NOTCHED.axes()[2])
    inside = edge_clearance(NOTCHED, found, 0.0)
    assert inside[0] < 0 < inside[1]


def test_curved_paths_against_dense_sampling():
    rng = np.random.default_rng(2)
    n = 12
    u, w, normal = RING.axes()
    velocity, spin = launch_vectors(
        rng.uniform(7.0, 8.0, n), rng.uniform(0.85, 1.1, n), rng.uniform(0.08, 0.17, n), rng.uniform(0, 40, n)
    )
    flights = fly_to_plane(AIR, (0, 0, 2), velocity, spin, RING.centre, normal)
    crossed = flights.status == Status.CROSSED
    assert crossed.sum() > 7
    found = edge_clearance(RING, flights, 0.0)
    for i in np.nonzero(crossed)[0]:
        times = np.linspace(max(flights.time[i] - 0.12, 0), flights.time[i] + 0.12, 3001)
        offset = trace(AIR, (0, 0, 2), velocity[i], spin[i], times) - RING.centre
        reach, height = np.hypot(offset @ u, offset @ w), offset @ normal
        # the path past the edge is good to 1e-6 m, the samples lie 0.6 mm apart
        sampled = np.hypot(reach - RING.radius, height).min()
        assert abs(found[i]) == pytest.approx(sampled, abs=3e-6)


def test_a_flight_that_does_not_cross_has_no_clearance():
    short = fly_to_plane(AIR, (0, 0, 2), (3.0, 0, 5.0), (0, 0, 0), WINDOW.centre, WINDOW.axes()[2])
    assert short.status[0] == Status.FLOOR
    assert math.isnan(edge_clearance(WINDOW, short, R)[0])
    assert not passes(WINDOW, short, R)[0]


def test_each_ball_has_its_own_radius():
    found = straight_through(RING, [(0, 0), (0, 0)], -RING.axes()[2])
    np.testing.assert_allclose(edge_clearance(RING, found, np.array([0.1, 0.2])), [0.1286, 0.0286], atol=1e-9)
