"""First touches and clearances against straight-line geometry and a geometry library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.flight.crossing import Status, fly_to_floor, fly_to_plane, trace
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.obstacles import pack_obstacles, solid_distance
from shotwright.game.records import Ball, CoefficientLaw, Post, Prism, Weather

R = 0.1
STRAIGHT = flight_model(
    Ball("b", 2 * R, 0.5, CoefficientLaw("constant", 0.0), CoefficientLaw("none")),
    Weather(),
    gravity=0.0,
    density=0.0,
)
FOAM = flight_model(
    Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross")), Weather()
)
BOX = Prism("box", ((2.0, -0.5), (3.0, -0.5), (3.0, 0.5), (2.0, 0.5)), 0.0, 1.0)
POST = Post("post", 2.0, 0.0, 0.05, 0.0, 2.0)


def straight(start, velocity, *obstacles):
    return fly_to_plane(
        STRAIGHT, start, velocity, (0, 0, 0), (10, 0, 0), (-1, 0, 0), obstacles=obstacles, floor=-math.inf
    )


def by_library(solid, x, y, z):
    if isinstance(solid, Post):
        flat = max(math.hypot(x - solid.x, y - solid.y) - solid.radius, 0.0)
    else:
        flat = shapely.Polygon(solid.footprint).distance(shapely.Point(x, y))
    return math.hypot(flat, max(solid.bottom - z, z - solid.top, 0.0))


@settings(max_examples=200, deadline=None)
@given(*[st.floats(-3, 5)] * 3)
def test_distance_from_a_solid(x, y, z):
    triangle = Prism("triangle", ((0.0, 0.0), (2.0, 0.3), (0.5, 1.5)), -0.5, 0.8)
    for solid in (BOX, POST, triangle):
        packed = pack_obstacles([solid])
        distance, *gradient = solid_distance(packed, 0, x, y, z)
        assert distance == pytest.approx(by_library(solid, x, y, z), abs=1e-12)
        assert np.linalg.norm(gradient) == pytest.approx(1.0 if distance > 0 else 0.0, abs=1e-9)


def test_face_is_touched_a_radius_before_it():
    found = straight((0, 0, 0.5), (5, 0, 0), BOX)
    assert found.status[0] == Status.OBSTACLE
    assert found.position[0, 0] == pytest.approx(2.0 - R, abs=1e-7)
    assert found.time[0] == pytest.approx((2.0 - R) / 5, abs=1e-7)
    assert found.clearance[0] == pytest.approx(0.0, abs=1e-7)


def test_edge_and_corner_are_round_to_a_ball():
    # a level flight at h over the top meets the top edge where sqrt(dx^2 + h^2) = R
    h = 0.06
    over = straight((0, 0, 1.0 + h), (5, 0, 0), BOX)
    assert over.position[0, 0] == pytest.approx(2.0 - math.sqrt(R**2 - h**2), abs=1e-7)
    # and at the corner of two top edges with both offsets
    aside = straight((0, 0.5 + 0.05, 1.0 + 0.05), (5, 0, 0), BOX)
    assert aside.position[0, 0] == pytest.approx(2.0 - math.sqrt(R**2 - 2 * 0.05**2), abs=1e-7)
    clear = straight((0, 0.5 + 0.08, 1.0 + 0.08), (5, 0, 0), BOX)
    assert clear.status[0] == Status.CROSSED
    assert clear.clearance[0] == pytest.approx(math.hypot(0.08, 0.08) - R, abs=2e-7)


@pytest.mark.parametrize("gap", [-1e-6, 1e-6, 0.01, 0.3])
def test_post_is_passed_or_touched_by_its_very_gap(gap):
    found = straight((0, 0.05 + R + gap, 0.5), (8, 0, 0), POST)
    assert found.status[0] == (Status.CROSSED if gap > 0 else Status.OBSTACLE)
    if gap > 0:
        assert found.clearance[0] == pytest.approx(gap, abs=2e-7)


def test_a_thin_bar_is_not_flown_through():
    bar = Prism("bar", ((4.0, -3.0), (4.002, -3.0), (4.002, 3.0), (4.0, 3.0)), 0.5, 0.502)
    assert straight((0, 0, 0.5), (200, 0, 0), bar).status[0] == Status.OBSTACLE


def test_the_first_of_several_ends_the_flight():
    far = Post("far", 4.0, 0.0, 0.05, 0.0, 2.0)
    for order in ((POST, far), (far, POST)):
        assert straight((0, 0, 0.5), (5, 0, 0), *order).position[0, 0] == pytest.approx(1.85, abs=1e-7)


def test_behind_the_plane_nothing_counts():
    behind = Post("behind", 10.2, 0.0, 0.05, 0.0, 2.0)
    found = straight((0, 0, 0.5), (5, 0, 0), behind)
    assert found.status[0] == Status.CROSSED
    assert found.clearance[0] == pytest.approx(0.05, abs=2e-7)


def test_start_inside():
    found = straight((2.5, 0, 0.5), (5, 0, 0), BOX)
    assert (found.status[0], found.time[0]) == (Status.OBSTACLE, 0.0)
    assert found.clearance[0] == pytest.approx(-R)


def test_without_obstacles_clearance_is_without_end():
    assert straight((0, 0, 0.5), (5, 0, 0)).clearance[0] == math.inf


def test_each_ball_touches_by_its_own_size():
    found = fly_to_floor(
        STRAIGHT, (0, 0, 0.5), (5, 0, 0), (0, 0, 0), obstacles=(BOX,), diameter=[0.1, 0.3], floor=-math.inf
    )
    np.testing.assert_allclose(found.position[:, 0], [1.95, 1.85], atol=1e-7)


def test_curved_flights_against_dense_sampling():
    solids = (
        Prism("robot", ((3.0, -0.5), (3.5, -0.5), (3.6, 0.4), (3.0, 0.5)), 0.0, 2.2),
        Post("post", 2.0, 0.3, 0.05, 0.0, 2.5),
        Prism("bar", ((4.0, -3.0), (4.02, -3.0), (4.02, 3.0), (4.0, 3.0)), 3.0, 3.02),
    )
    rng = np.random.default_rng(5)
    n = 14
    velocity, spin = launch_vectors(
        rng.uniform(6, 14, n), rng.uniform(0.3, 1.2, n), rng.uniform(-0.2, 0.2, n), rng.uniform(0, 300, n)
    )
    found = fly_to_floor(FOAM, (0, 0, 0.4), velocity, spin, obstacles=solids)
    assert set(found.status.tolist()) == {Status.FLOOR, Status.OBSTACLE}
    for i in range(n):
        times = np.linspace(0, found.time[i], 1200)
        places = trace(FOAM, (0, 0, 0.4), velocity[i], spin[i], times)
        gaps = np.array([min(by_library(s, *p) for s in solids) for p in places]) - FOAM.radius
        # between samples the ball moves by 1 cm at most: it may come 0.1 mm nearer than any sample
        assert gaps[:-1].min() > -1e-6
        assert found.clearance[i] <= gaps.min() + 1e-6
        assert found.clearance[i] == pytest.approx(gaps.min(), abs=2e-4)
        if found.status[i] == Status.OBSTACLE:
            assert gaps[-1] == pytest.approx(0.0, abs=1e-6)


def test_obstacles_out_of_the_way_change_nothing():
    velocity, spin = launch_vectors(9.0, 0.9, 0.0, np.linspace(0, 200, 20))
    plain = fly_to_floor(FOAM, (0, 0, 0.4), velocity, spin)
    with_post = fly_to_floor(FOAM, (0, 0, 0.4), velocity, spin, obstacles=(Post("p", 0, 9, 0.1, 0, 2),))
    # without solids the balls fly in lanes, with them one by one: the same within the promised accuracy
    np.testing.assert_allclose(plain.position, with_post.position, rtol=0, atol=1e-9)
    assert (with_post.clearance > 8).all()


@pytest.mark.parametrize(
    ("solid", "words"),
    [
        (Post("p", 0, 0, 0.0, 0, 1), "'p': radius 0 m at (0, 0) is not a post"),
        (Post("p", 0, 0, 0.1, 1, 1), "'p': 1 m to 1 m is no height"),
        (Prism("q", ((0, 0), (1, 0)), 0, 1), "'q': a footprint needs at least 3 corners"),
        (Prism("q", ((0, 0), (0, 1), (1, 1), (1, 0)), 0, 1), "anticlockwise"),
        (Prism("q", ((0, 0), (2, 0), (1, 0.2), (1, 2)), 0, 1), "split another shape into convex parts"),
        (Prism("q", ((0, 0), (1, 0), (1, 0), (0, 1)), 0, 1), "type each once"),
        (Prism("q", ((0, 0), (1, 0), (0, float("nan"))), 0, 1), "all numbers"),
        (
            Prism("star", tuple((math.cos(a), math.sin(a)) for a in np.arange(5) * 4 * math.pi / 5), 0, 1),
            "once around",
        ),
    ],
)
def test_bad_solid_is_named(solid, words):
    with pytest.raises(BadInput) as raised:
        fly_to_floor(FOAM, (0, 0, 1), (5, 0, 5), (0, 0, 0), obstacles=(solid,))
    assert words in str(raised.value)
