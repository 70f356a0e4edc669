"""Flying freely first and again only where in doubt tells the same hits as flying all among the solids."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.launches import launch_arrays
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.opening import passes
from shotwright.flight.scored import scored
from shotwright.game.records import Ball, CoefficientLaw, Post, Prism, Target, Weather

BALL = Ball("ball", 0.15, 0.165, CoefficientLaw("constant", 0.48), CoefficientLaw("cross"))
MODEL = flight_model(BALL, Weather(wind=(0.5, 1.0, 0.0)))
RING = Target("ring", (5.0, 0.0, 1.5), 0.0, math.pi / 2, radius=0.6)
WINDOW = Target(
    "window", (5.0, 0.2, 1.6), math.pi, 0.0, corners=((-0.8, -0.6), (0.8, -0.6), (0.8, 0.6), (-0.8, 0.6))
)


def launches(seed: int, directions: float, n: int = 400):
    rng = np.random.default_rng(seed)
    velocity, spin = launch_vectors(
        rng.uniform(6, 10, n),
        np.radians(rng.uniform(35, 75, n)),
        rng.uniform(-directions, directions, n),
        rng.uniform(-40, 120, n),
    )
    diameter = rng.uniform(0.14, 0.16, n)
    return launch_arrays(MODEL, (0.0, 0.0, 0.5), velocity, spin, np.full(n, 0.165), diameter)


def box(x: float, y: float, length: float, width: float, top: float) -> Prism:
    corners = ((x, y), (x + length, y), (x + length, y + width), (x, y + width))
    return Prism("box", corners, 0.0, top)


PLACES = st.floats(0.3, 5), st.floats(-1.5, 1.5)
SOLIDS = st.one_of(
    st.builds(
        lambda x, y, r, top: Post("post", x, y, r, 0.0, top), *PLACES, st.floats(0.02, 0.6), st.floats(0.3, 4)
    ),
    st.builds(box, *PLACES, st.floats(0.05, 1.5), st.floats(0.05, 1.5), st.floats(0.3, 4)),
)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(SOLIDS, max_size=3),
    st.integers(0, 2**31),
    st.sampled_from([0.1, 3.1]),
    st.sampled_from([RING, WINDOW]),
)
def test_the_same_hits_as_flying_every_ball_among_the_solids(solids, seed, directions, target) -> None:
    some = launches(seed, directions)
    found = scored(MODEL, target, some, obstacles=solids)
    ends = fly_to_plane(
        MODEL,
        some.place,
        some.velocity,
        some.spin,
        target.centre,
        target.axes()[2],
        obstacles=solids,
        mass=some.mass,
        diameter=some.diameter,
        tolerance=1e-9,
    )
    assert np.array_equal(found, passes(target, ends, some.diameter / 2))


def test_there_are_hits_to_compare() -> None:
    free = scored(MODEL, RING, launches(1, 0.1))
    wall = scored(MODEL, RING, launches(1, 0.1), obstacles=[box(2.5, -2.0, 0.2, 4.0, 2.2)])
    assert 5 < wall.sum() < free.sum()
    assert not np.any(wall & ~free)
