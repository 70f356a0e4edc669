"""A flight told to be clear of all solids meets none when it is flown with them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.launches import launch_arrays
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.well_clear import well_clear
from shotwright.game.records import Ball, CoefficientLaw, Post, Prism, Weather

BALL = Ball("ball", 0.15, 0.165, CoefficientLaw("constant", 0.48), CoefficientLaw("cross"))
MODEL = flight_model(BALL, Weather(wind=(0.5, 1.0, 0.0)))
PLANE = (6.0, 0.0, 1.5), (0.0, 0.0, 1.0)


def _launches(seed: int, n: int = 150):
    rng = np.random.default_rng(seed)
    velocity, spin = launch_vectors(
        rng.uniform(6, 10, n),
        np.radians(rng.uniform(35, 75, n)),
        np.radians(rng.uniform(-6, 6, n)),
        rng.uniform(-40, 120, n),
    )
    diameter = rng.uniform(0.14, 0.16, n)
    return launch_arrays(MODEL, (0.0, 0.0, 0.5), velocity, spin, np.full(n, 0.165), diameter)


def _fly(launches, obstacles):
    return fly_to_plane(
        MODEL,
        launches.place,
        launches.velocity,
        launches.spin,
        *PLANE,
        obstacles=obstacles,
        mass=launches.mass,
        diameter=launches.diameter,
    )


PLACES = st.tuples(st.floats(-2, 8), st.floats(-1.5, 1.5))
POSTS = st.builds(
    lambda at, radius, top: Post("post", *at, radius, 0.0, top),
    PLACES,
    st.floats(0.02, 0.6),
    st.floats(0.3, 4),
)


def _box(at, length, width, turn, top):
    corners = np.array([(-length, -width), (length, -width), (length, width), (-length, width)]) / 2
    turned = corners @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return Prism("box", tuple((float(x + at[0]), float(y + at[1])) for x, y in turned), 0.0, top)


BOXES = st.builds(
    _box, PLACES, st.floats(0.05, 1.5), st.floats(0.05, 1.5), st.floats(0, 3), st.floats(0.3, 4)
)


@settings(max_examples=120, deadline=None)
@given(st.lists(st.one_of(POSTS, BOXES), min_size=1, max_size=3), st.integers(0, 2**31), st.floats(-0.1, 0.1))
def test_what_is_told_clear_is_clear(solids, seed, heading):
    launches = _launches(seed)
    open_air = _fly(launches, ())
    told = well_clear(MODEL, launches, open_air, heading, solids) & open_air.crossed
    found = _fly(launches, solids)
    assert np.all(found.status[told] == Status.CROSSED)
    assert np.all(found.clearance[told] > 0)


def test_most_of_a_clear_batch_is_told() -> None:
    launches = _launches(3)
    open_air = _fly(launches, ())
    solids = [Post("aside", 3.0, 1.4, 0.1, 0.0, 3.0), _box((3.0, 0.0), 0.2, 1.0, 0.0, 0.6)]
    told = well_clear(MODEL, launches, open_air, 0.0, solids)
    truly = _fly(launches, solids).status != Status.OBSTACLE
    assert told[open_air.crossed].mean() > 0.9 * truly[open_air.crossed].mean()


def test_a_solid_beyond_the_crossing_or_behind_the_release_is_no_matter() -> None:
    launches = _launches(5)
    open_air = _fly(launches, ())
    solids = [Post("behind", -2.0, 0.0, 0.5, 0.0, 9.0), Post("beyond", 20.0, 0.0, 0.5, 0.0, 9.0)]
    assert well_clear(MODEL, launches, open_air, 0.0, solids)[open_air.crossed].all()


@pytest.mark.parametrize("at", [(0.0, 0.0), (0.3, 0.05)])
def test_a_solid_at_the_release_is_left_to_the_search(at: tuple[float, float]) -> None:
    launches = _launches(7)
    open_air = _fly(launches, ())
    assert not well_clear(MODEL, launches, open_air, 0.0, [Post("here", *at, 0.3, 0.0, 0.4)])[
        open_air.crossed
    ].all()


def test_many_flights_that_all_fall_short_of_a_plane_end_on_the_floor() -> None:
    launches = _launches(11, n=500)
    far = fly_to_plane(MODEL, launches.place, launches.velocity, launches.spin, (60, 0, 0), (-1, 0, 0))
    assert np.all(far.status == Status.FLOOR)
    assert far.position[:, 2] == pytest.approx(0.075, abs=1e-6)
