"""Which launches score, and the integral over them: closed forms, quadrature, and flown balls."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.stats import norm

from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import COLUMNS, Aim, Scatter, Surroundings, flown_hits, scatter_of_rows
from shotwright.flight.model import flight_model
from shotwright.flight.opening_edge import edge_pieces, edge_places
from shotwright.flight.scoring_chance import scoring_chance
from shotwright.flight.scoring_integral import inner_rules, integrate, outer_rules
from shotwright.flight.scoring_judge import judge
from shotwright.flight.scoring_launches import ScoringLaunches, aims_near, cubic_between, scoring_launches
from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

BALL = Ball(
    "ball",
    0.15,
    0.16,
    CoefficientLaw("constant", 0.47),
    CoefficientLaw("cross"),
    diameter_sd=0.0015,
    mass_sd=0.003,
)
MODEL = flight_model(BALL, Weather())
RING = Target("ring", (4.0, 0.3, 1.2), 0.0, math.pi / 2, radius=0.35)
WINDOW = Target(
    "window",
    (4.0, 0.0, 1.4),
    math.pi,
    0.0,
    corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3)),
)
TRIANGLE = Target(
    "sail", (3.5, -0.5, 1.3), math.pi - 0.2, 0.6, corners=((-0.5, -0.35), (0.5, -0.35), (0.0, 0.5))
)
BENT = Target(
    "arrow", (4.0, 0.0, 1.2), math.pi, 0.0, corners=((-0.5, -0.4), (0.0, -0.1), (0.5, -0.4), (0.0, 0.5))
)
POINT = np.array([0.0, 0.0, 0.5])
ELEVATIONS = np.radians(np.arange(38.0, 74.0, 3.0))

FloatArray = NDArray[np.float64]


# ---- the edge in the plane


def test_pieces_integrate_and_differentiate_polynomials_exactly() -> None:
    pieces = edge_pieces(RING)
    assert pieces is not None
    x, n = pieces.node, len(pieces.node)
    for power in range(2 * n - 2):  # Gauss-Lobatto: exact to degree 2 n - 3
        exact = 0.0 if power % 2 else 2.0 / (power + 1)
        assert float(pieces.weight @ x**power) == pytest.approx(exact, abs=1e-12)
    both = np.tile(x**3, pieces.count)
    np.testing.assert_allclose(pieces.along(both), np.tile(3 * x**2, pieces.count), atol=1e-10)


def test_straight_at_a_window_each_side_moves_in_by_the_radius() -> None:
    pieces = edge_pieces(WINDOW)
    assert pieces is not None
    found = edge_places(WINDOW, np.array([1.0, 0.0, 0.0]), 0.1, pieces, np.array([0.0, 1.0]))
    assert found is not None
    np.testing.assert_allclose([found[1].min(axis=0), found[1].max(axis=0)], [[-0.3, -0.2], [0.3, 0.2]])


def test_at_an_angle_the_sides_across_move_in_by_more() -> None:
    # r / sin(entry angle), as seen in the plane: 30 degrees halves the sine.
    pieces = edge_pieces(WINDOW)
    assert pieces is not None
    down = np.array([0.5, 0.0, -math.sqrt(0.75)])
    found = edge_places(WINDOW, down, 0.1, pieces, np.array([0.0, 1.0]))
    assert found is not None
    np.testing.assert_allclose(found[1].max(axis=0), [0.4 - 0.1, 0.3 - 0.1 / 0.5], atol=1e-12)


def test_what_does_not_fit_and_what_is_bent_has_no_edge() -> None:
    assert edge_pieces(BENT) is None
    pieces = edge_pieces(WINDOW)
    assert pieces is not None
    assert edge_places(WINDOW, np.array([1.0, 0.0, 0.0]), 0.31, pieces, np.array([0.0, 1.0])) is None
    assert edge_places(WINDOW, np.array([-1.0, 0.0, 0.0]), 0.1, pieces, np.array([0.0, 1.0])) is None
    assert scoring_launches(MODEL, BENT, POINT, ELEVATIONS, 0.0) is None


# ---- the launches that score


def test_in_a_vacuum_the_speeds_are_those_of_the_parabola() -> None:
    # A pinhole of a ball, no air: range R = v^2 sin(2e)/g on the level, so v = sqrt(g R / sin 2e).
    tiny = Ball("shot", 1e-3, 1e-3, CoefficientLaw("constant", 0.0), CoefficientLaw("none"))
    model = flight_model(tiny, Weather(), buoyancy=False)
    hole = Target("hole", (5.0, 0.0, 0.5), 0.0, math.pi / 2, radius=0.3)
    found = scoring_launches(model, hole, POINT, np.radians([40.0, 43.0, 46.0, 49.0]), 0.0)
    assert found is not None
    for e, speeds, turns in zip(found.elevation, found.speed, found.azimuth, strict=True):
        inner = 0.3 - 0.5e-3 / math.sin(e)
        exact = [math.sqrt(model.gravity * (5.0 + s * inner) / math.sin(2 * e)) for s in (-1, 1)]
        np.testing.assert_allclose([speeds.min(), speeds.max()], exact, rtol=2e-4)
        # seen from the launcher, a circle of radius R at distance d spans asin(R / d) to each side
        assert turns.max() == pytest.approx(math.asin((0.3 - 0.5e-3) / 5.0), rel=4e-3)


def test_the_middle_and_the_offsets_are_those_that_are_aimed_for() -> None:
    found = scoring_launches(MODEL, RING, POINT, ELEVATIONS, 0.3)
    assert found is not None
    at, beyond = np.radians([50.0, 61.3]), np.array([0.1, -0.15])
    near = aims_near(found, at, beyond)
    aims = aims_through(MODEL, RING, POINT, at, 0.3, long_by=beyond)
    for (speed, azimuth), aim in zip(near, aims, strict=True):
        assert aim is not None
        assert speed == pytest.approx(aim.speed, abs=2e-3)
        assert azimuth == pytest.approx(aim.azimuth, abs=1e-4)
    assert np.isnan(aims_near(found, np.radians([80.0]), np.zeros(1))).all()


def test_between_rows_a_cubic_is_exact() -> None:
    grid = np.linspace(1.0, 2.0, 6)
    rows = np.column_stack([grid**3, 1 - grid])
    at = np.array([1.0, 1.07, 1.5, 1.93, 2.0])
    np.testing.assert_allclose(cubic_between(grid, rows, at), np.column_stack([at**3, 1 - at]), atol=1e-12)


# ---- the integral, over bands made by hand


def band(curve: FloatArray, *, half: float = 0.2, turn: float = 0.05) -> ScoringLaunches:
    """A rectangle in (speed, azimuth) whose middle speed follows `curve` over the elevations."""
    pieces = edge_pieces(WINDOW)
    assert pieces is not None
    corners = np.array([(-half, -turn), (half, -turn), (half, turn), (-half, turn)])
    sides = np.roll(corners, -1, axis=0) - corners
    places = (corners[:, None] + (pieces.node[:, None] + 1) / 2 * sides[:, None]).reshape(-1, 2)
    n = len(curve)
    return ScoringLaunches(
        point=POINT,
        spin_parameter=0.0,
        elevation=np.linspace(0.6, 1.2, n),
        pieces=pieces,
        speed=curve[:, None] + places[:, 0],
        azimuth=np.tile(places[:, 1], (n, 1)),
        middle=np.column_stack([curve, np.zeros(n)]),
        per_offset=np.zeros((n, 2, 2)),
        other=np.zeros((n, 2, 5)),
        other_curvature=np.zeros((n, 2, 5)),
    )


@settings(max_examples=40, deadline=None)
@given(
    speed=st.floats(0.003, 0.08),
    elevation=st.floats(0.0, 0.06),
    azimuth=st.floats(0.005, 0.2),
    off=st.floats(-0.02, 0.02),
    slope=st.floats(-3.0, 3.0),
)
def test_over_a_straight_band_the_integral_is_a_product(
    speed: float, elevation: float, azimuth: float, off: float, slope: float
) -> None:
    grid = np.linspace(0.6, 1.2, 13)
    chance = scoring_chance(band(8.0 + slope * (grid - 0.9)), Surroundings())
    aim = Aim(POINT, 8.0, 0.9, 0.0, 0.0)
    found = float(chance.of([aim], Scatter(speed, elevation, azimuth, speed_offset=off))[0, 0])
    # speed less the band's middle is normal; azimuth is independent of it
    total = math.hypot(8.0 * speed, slope * elevation)
    along = norm.cdf((0.2 - 8.0 * off) / total) - norm.cdf((-0.2 - 8.0 * off) / total)
    across = 2 * norm.cdf(0.05 / azimuth) - 1
    assert found == pytest.approx(along * across, abs=5e-5)


@settings(max_examples=25, deadline=None)
@given(
    speed=st.floats(0.001, 0.05),
    elevation=st.floats(0.002, 0.06),
    bend=st.floats(1.0, 12.0),
    off=st.floats(-0.02, 0.02),
)
def test_over_a_bent_band_the_integral_agrees_with_quadrature(
    speed: float, elevation: float, bend: float, off: float
) -> None:
    grid = np.linspace(0.6, 1.2, 25)
    chance = scoring_chance(band(8.0 + bend * (grid - 0.9) ** 2), Surroundings())
    aim = Aim(POINT, 8.0, 0.9, 0.0, 0.0)
    found = float(chance.of([aim], Scatter(speed, elevation, 0.01, speed_offset=off))[0, 0])

    def slice_at(e: float) -> float:
        ends = [(bend * e * e + s * 0.2 - 8.0 * off) / (8.0 * speed) for s in (-1, 1)]
        return float(norm.pdf(e / elevation) / elevation * (norm.cdf(ends[1]) - norm.cdf(ends[0])))

    exact = quad(slice_at, -5 * elevation, 5 * elevation, limit=200, points=[0.0])[0]
    assert found == pytest.approx(exact * (2 * norm.cdf(5.0) - 1), abs=1.5e-3)


def test_the_compiled_loops_repeat_the_plain_ones() -> None:
    found = scoring_launches(MODEL, RING, POINT, ELEVATIONS[:8], 0.3)
    assert found is not None
    around = Surroundings(0.03, 0.01, BALL.mass_sd, BALL.diameter_sd, 0.02)
    ready = scoring_chance(found, around)
    aim = Aim(POINT, float(found.middle[4, 0]), float(found.elevation[4]), float(found.middle[4, 1]), 0.3)
    scatter = Scatter(
        np.array([0.002, 0.02, 0.05]), np.array([0.05, 0.01, 0.03]), np.array([0.01, 0.02, 0.004])
    )
    compiled = ready.of([aim], scatter)[0]
    draws = np.column_stack(
        [
            np.full(3, aim.speed),
            np.full(3, aim.elevation),
            np.full(3, aim.azimuth),
            aim.speed * scatter.speed,
            np.asarray(scatter.elevation),
            np.asarray(scatter.azimuth) ** 2 + around.heading_sd**2,
        ]
    )
    plain = np.empty(3)
    integrate(draws, *ready.packed, ready.added, *outer_rules(False), *inner_rules(), plain)
    np.testing.assert_allclose(compiled, plain, rtol=1e-9)
    np.testing.assert_allclose(ready.of([aim], scatter, sliced=True)[0], plain, atol=2e-3)

    normals = np.random.default_rng(4).standard_normal((200, COLUMNS))
    one = scatter_of_rows(scatter, np.array([1]))
    balls = np.column_stack(
        [
            aim.speed * (1 + 0.02 * normals[:, 0]),
            aim.elevation + 0.01 * normals[:, 1],
            aim.azimuth + 0.02 * normals[:, 2],
        ]
    )
    by_hand = np.zeros(200, dtype=bool)
    table, spans, _, start, step = ready.packed
    judge(balls, table, spans, start, step, by_hand)
    still = scoring_chance(found, Surroundings())
    np.testing.assert_array_equal(still.hits(aim, one, normals), by_hand)


@settings(max_examples=60, deadline=None)
@given(
    speed=st.floats(0.0002, 0.06),
    elevation=st.floats(0.0002, 0.06),
    off=st.floats(-0.01, 0.01),
    at=st.floats(45.0, 62.0),
)
def test_turned_and_sliced_integrals_agree(speed: float, elevation: float, off: float, at: float) -> None:
    # Two ways to the same integral, over curves that were flown; tight scatters in a wide band included.
    # Single ones may differ by 0.0015 (0.0009 was the largest of 600 drawn); usual scatters differ by 0.0001.
    aim = aims_through(MODEL, WINDOW, POINT, np.radians([at]), 0.25)[0]
    assert aim is not None
    ready = scoring_chance(flown_window(), Surroundings(0.01, 0.005, BALL.mass_sd, BALL.diameter_sd))
    scatter = Scatter(speed, elevation, 0.01, speed_offset=off)
    turned = float(ready.of([aim], scatter)[0, 0])
    assert turned == pytest.approx(float(ready.of([aim], scatter, sliced=True)[0, 0]), abs=1.5e-3)


@functools.cache
def flown_window() -> ScoringLaunches:
    found = scoring_launches(MODEL, WINDOW, POINT, np.radians(np.arange(30.0, 79.0, 3.0)), 0.25)
    assert found is not None
    return found


# ---- against flown balls


@pytest.mark.slow
@pytest.mark.parametrize("target", [RING, WINDOW, TRIANGLE], ids=lambda t: t.name)
@pytest.mark.parametrize(
    "scatter",
    [
        Scatter(0.012, math.radians(0.6), math.radians(0.8)),
        Scatter(0.03, math.radians(0.4), math.radians(2.0), speed_offset=-0.01),
        Scatter(0.002, math.radians(3.0), math.radians(1.0), azimuth_offset=0.01),
    ],
    ids=["tight", "speed", "elevation"],
)
def test_the_integral_agrees_with_flown_balls(target: Target, scatter: Scatter) -> None:
    found = scoring_launches(MODEL, target, POINT, ELEVATIONS, 0.25)
    assert found is not None
    aim = aims_through(MODEL, target, POINT, np.radians([54.0]), 0.25)[0]
    assert aim is not None
    around = Surroundings(0.03, 0.008, BALL.mass_sd, BALL.diameter_sd, 0.03)
    ready = scoring_chance(found, around)
    normals = np.random.default_rng(6).standard_normal((100_000, COLUMNS))
    flown = flown_hits(MODEL, target, aim, scatter, around, normals, ball=BALL)
    chance = float(ready.of([aim], scatter)[0, 0])
    judged = ready.hits(aim, scatter, normals)
    # Monte Carlo error of 100,000 balls, three of it; the same balls, where it falls out: the stated 0.002.
    assert chance == pytest.approx(flown.mean(), abs=3 * math.sqrt(chance * (1 - chance) / len(flown)))
    assert judged.mean() == pytest.approx(flown.mean(), abs=0.002)
    assert np.mean(judged != flown) < 0.012


def test_more_scatter_of_the_place_lowers_a_centred_chance() -> None:
    found = scoring_launches(MODEL, RING, POINT, ELEVATIONS, 0.25)
    assert found is not None
    aim = aims_through(MODEL, RING, POINT, np.radians([55.0]), 0.25)[0]
    assert aim is not None
    scatter = Scatter(0.012, 0.01, 0.012)
    around = [Surroundings(place_sd=sd) for sd in (0.0, 0.05, 0.1, 0.2)]
    chances = [float(scoring_chance(found, a).of([aim], scatter)[0, 0]) for a in around]
    assert chances == sorted(chances, reverse=True)
    turned = scoring_chance(found, replace(around[0], heading_sd=0.05)).of([aim], scatter)[0, 0]
    assert turned < chances[0]
