"""Floor maps against single linearised shots, flown balls, the parabola, and their own laws."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.choice.aim_table import AWAY, BY_ELEVATION, BY_SPEED, SPEED, UP, aim_table
from shotwright.choice.floor_cells import (
    BEHIND,
    BLOCKED,
    OUT_OF_REACH,
    SCORES,
    TAKEN,
    TOO_TIGHT,
    FloorCase,
    best_settings,
    chances,
    launch_values,
    shots_at,
)
from shotwright.choice.floor_gaps import gap_trend
from shotwright.choice.floor_map import CHUNK, FloorValues, checked_error, floor_mapper, floor_of, rounds_of
from shotwright.choice.setting import best_setting
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import COLUMNS, Scatter, Surroundings, flown_hits, linear_shots
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Post, Prism, Target, Weather
from shotwright.trials.records import Prototype

G = 9.80665
BALL = Ball(
    "ball",
    0.178,
    0.14,
    CoefficientLaw("constant", 0.5),
    CoefficientLaw("cross"),
    diameter_sd=1e-3,
    mass_sd=2e-3,
)
AIR = flight_model(BALL, Weather())
RING = Target("ring", (4.0, 4.0, 2.2), 0.0, math.pi / 2, radius=0.4)
GATE = Target(
    "gate", (8.0, 4.0, 2.0), math.pi, 0.0, corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
)
LAUNCHER = Prototype("wheel", "", 0.6, math.radians(30), math.radians(75), 4.0, 14.0, 0.15, 0.01)
AROUND = Surroundings(0.02, 0.01, 0.002, 0.001, 0.01)
DRAWS = 200


def scatter(count=DRAWS, size=0.02):
    rng = np.random.default_rng(5)
    spread = size * np.exp(0.3 * rng.normal(size=(3, count)))
    return Scatter(
        speed=spread[0],
        elevation=0.6 * spread[1],
        azimuth=0.6 * spread[2],
        speed_offset=0.006 * rng.normal(size=count),
        elevation_offset=np.zeros(count),
        azimuth_offset=0.004 * rng.normal(size=count),
    )


def mapper(target=RING, solids=(), step=1.0, launcher=LAUNCHER, **changes):
    floor = floor_of((0.0, 8.0), (0.0, 8.0), step)
    given_ = {"scatter": scatter(), "around": AROUND} | changes
    return floor_mapper(AIR, BALL, launcher, target, given_["scatter"], given_["around"], solids, floor, 1)


# ------------------------------------------------------------------ the table


@settings(max_examples=10, deadline=None)
@given(st.floats(0.5, 8.0), st.floats(-0.5, 2.0), st.integers(0, 8))
def test_without_air_the_table_is_the_parabola(distance, rise, k):
    model = flight_model(BALL, Weather(), density=0.0)
    elevations = np.radians(np.linspace(30, 70, 9))
    row = aim_table(model, 1.0, 1.0 + rise, elevations, 8.0, 0.0).at(np.array([distance]))[0, k]
    angle = elevations[k]
    drop = distance * math.tan(angle) - rise
    if drop < 0.2:  # beside the limit of reach there are too few distances, or there is no shot
        return
    speed = math.sqrt(G * distance**2 / (2 * math.cos(angle) ** 2 * drop))
    time = distance / (speed * math.cos(angle))
    assert row[SPEED] == pytest.approx(speed, abs=2e-4)
    assert row[AWAY] == pytest.approx(speed * math.cos(angle), abs=5e-3)
    assert row[UP] == pytest.approx(speed * math.sin(angle) - G * time, abs=1e-2)
    # how far the path moves square to itself: rises by G x^2 / (v^3 cos^2) where it passes the distance
    steep = speed * math.cos(angle) / math.hypot(row[AWAY], row[UP])
    by_speed = G * distance**2 / (speed**3 * math.cos(angle) ** 2) * steep
    assert row[BY_SPEED] == pytest.approx(by_speed, rel=5e-3)
    by_angle = distance / math.cos(angle) ** 2 - G * distance**2 * math.tan(angle) / (
        speed**2 * math.cos(angle) ** 2
    )
    assert row[BY_ELEVATION] == pytest.approx(by_angle * steep, abs=2e-2)


@pytest.mark.parametrize(("target", "rows_"), [(RING, (16, 22)), (GATE, (4, 16))], ids=["ring", "gate"])
def test_rows_of_the_table_are_single_linearised_shots(target, rows_):
    case = mapper(target).case
    place = np.array([[2.13, 2.9]])
    distance = np.linalg.norm(np.array(target.centre[:2]) - place, axis=1)
    rows = case.table.at(distance)[0]
    for k in rows_:
        start = np.array([*place[0], 0.6])
        (aim,) = aims_through(AIR, target, start, case.table.elevations[k : k + 1], 0.15)
        (one,) = linear_shots(AIR, target, [aim])
        shots = shots_at(case, place, rows[k : k + 1])
        expected = one.jacobian.copy()
        expected[:, 3] = one.spin_parameter_effect
        np.testing.assert_allclose(shots.jacobian[0], expected, rtol=2e-4, atol=2e-4)
        assert rows[k, SPEED] == pytest.approx(aim.speed, abs=1e-4)


# ------------------------------------------------------------------ settings and chances


@pytest.mark.parametrize("target", [RING, GATE], ids=["ring", "gate"])
def test_settings_are_those_of_the_search_at_one_position(target):
    one = mapper(target)
    places = np.array([[1.7, 5.5], [2.3, 1.2], [0.4, 4.1]])
    found = best_settings(one.case, places)
    chance = chances(one.case, found).mean(axis=1)
    for place, mine, speed in zip(places, chance, launch_values(one.case, found)[0], strict=True):
        spot = FiringPosition("spot", *place.tolist(), 0.02, 0.01)
        other = best_setting(
            AIR, BALL, LAUNCHER, spot, target, one.case.scatter, AROUND, (), np.zeros((1, COLUMNS))
        )
        assert mine == pytest.approx(other.chance, abs=2e-3)
        assert mine >= other.chance - 1e-3
        assert speed == pytest.approx(other.shot.aim.speed, abs=0.6)


def test_the_search_keeps_away_from_where_slow_and_fast_shots_meet():
    """At 75 degrees the limit of reach is a degree away; a table going on there promised 0.94 for 0.82."""
    spot = FiringPosition("spot", 2.3, 1.2, 0.02, 0.01)
    spread = scatter()
    found = best_setting(AIR, BALL, LAUNCHER, spot, RING, spread, AROUND, (), np.zeros((1, COLUMNS)))
    hits = [
        flown_hits(
            AIR,
            RING,
            found.shot.aim,
            spread.at(k),
            AROUND,
            np.random.default_rng(k).standard_normal((2000, COLUMNS)),
            ball=BALL,
        ).mean()
        for k in range(0, DRAWS, 4)
    ]
    # fifty of the draws stand for all: the table's own chance over the same fifty
    assert found.scoring is not None
    known = found.scoring.of([found.shot.aim], spread)[0, ::4].mean()
    assert known == pytest.approx(np.mean(hits), abs=0.002 + 3 * math.sqrt(0.07 / 100_000))


def test_balls_flown_by_the_older_way_score_as_often_as_the_map_says():
    one = mapper(scatter=scatter(1))
    place = np.array([[1.5, 2.0]])
    setting = best_settings(one.case, place)
    (expected,) = chances(one.case, setting)[:, 0]
    speed, elevation, azimuth = (float(v[0]) for v in launch_values(one.case, setting))
    start = np.array([*place[0], 0.6])
    aim = dataclasses.replace(
        aims_through(AIR, RING, start, np.array([elevation]), 0.15)[0], speed=speed, azimuth=azimuth
    )
    normals = np.random.default_rng(2).standard_normal((20_000, COLUMNS))
    hits = flown_hits(AIR, RING, aim, one.case.scatter.at(0), AROUND, normals, ball=BALL)
    assert expected == pytest.approx(hits.mean(), abs=0.002 + 3 * hits.std() / math.sqrt(len(hits)))


@settings(max_examples=6, deadline=None)
@given(st.floats(0.6, 3.2), st.floats(0.6, 7.4))
def test_a_level_ring_is_the_same_from_all_sides_and_a_gate_from_both(x, y):
    steady = dataclasses.replace(scatter(), azimuth_offset=np.zeros(DRAWS))  # an offset has a side
    ring, gate = mapper().case, mapper(GATE, scatter=steady).case
    turned = np.array([[x, y], [8 - x, y], [y, x], [8 - x, 8 - y]])
    assert np.ptp(chances(ring, best_settings(ring, turned)).mean(axis=1)) < 2e-3
    mirrored = np.array([[x, y], [x, 8 - y]])
    assert np.ptp(chances(gate, best_settings(gate, mirrored)).mean(axis=1)) < 1e-6


@settings(max_examples=6, deadline=None)
@given(st.floats(0.5, 3.2), st.floats(0.5, 7.5), st.floats(1.05, 2.0))
def test_more_spread_never_scores_more_where_the_middle_is_aimed_at(x, y, wider):
    place = np.array([[x, y]])
    one, other = (mapper(scatter=scatter(size=s)).case for s in (0.02, 0.02 * wider))
    tight, wide = (chances(c, best_settings(c, place)).mean() for c in (one, other))
    assert wide <= tight + 1e-6


def test_places_that_cannot_score_say_why():
    slow = dataclasses.replace(LAUNCHER, speed_high=7.0)
    small = dataclasses.replace(RING, radius=0.08)
    assert best_settings(mapper(launcher=slow).case, np.array([[0.1, 0.1]])).code[0] == OUT_OF_REACH
    assert best_settings(mapper(small).case, np.array([[2.0, 2.0]])).code[0] == TOO_TIGHT
    flat = dataclasses.replace(GATE, centre=(4.0, 4.0, 2.0))
    assert best_settings(mapper(flat).case, np.array([[6.0, 4.0]])).code[0] == BEHIND
    wall = Prism("wall", ((2.0, 0.0), (2.2, 0.0), (2.2, 8.0), (2.0, 8.0)), 0.0, 9.0)
    values = mapper(solids=(wall,), step=0.4)(np.arange(400))
    x = np.tile(mapper(step=0.4).floor.x, 20)
    assert (values.code[x < 1.9] == BLOCKED).all()
    assert (values.code[np.abs(x - 2.1) < 0.1] == TAKEN).all()
    assert (values.code[x > 2.5] == SCORES).mean() > 0.9


def test_a_post_in_the_way_costs_hits_only_behind_it():
    # the lowest elevation brings the ball past the post at its height
    post = Post("post", 2.0, 4.0, 0.05, 0.0, 3.0)
    fixed = dataclasses.replace(LAUNCHER, elevation_low=math.radians(50), elevation_high=math.radians(50))
    numbers = np.arange(400)
    free, held = (mapper(solids=s, step=0.4, launcher=fixed)(numbers) for s in ((), (post,)))
    places = mapper(step=0.4).floor.places(numbers)
    apart = np.abs(places[:, 1] - 4.0) > 1.5
    np.testing.assert_array_equal(free.chance[apart], held.chance[apart])
    behind = (places[:, 0] < 1.6) & (np.abs(places[:, 1] - 4.0) < 0.3)
    behind &= free.code == SCORES
    assert behind.sum() >= 4
    assert ((held.code[behind] == BLOCKED) | (held.lost[behind] > 0.2)).all()
    both = (free.code == SCORES) & (held.code == SCORES)
    assert (held.chance[both] <= free.chance[both] + 1e-12).all()


# ------------------------------------------------------------------ rounds


def run_plainly(one, chunks):
    return [one(chunk) for chunk in chunks]


def test_rounds_come_coarse_first_and_chunks_do_not_matter_to_who_computes_them():
    seen = []
    one = mapper(step=0.25)
    last = rounds_of(one, run_plainly, lambda v: seen.append((v.code >= 0).sum()))
    assert seen == [4, 68, 1024]
    again: list[FloorValues] = []

    def backwards(some, chunks):
        return [some(chunk) for chunk in reversed(chunks)][::-1]

    rounds_of(one, backwards, lambda v: again.append(v))
    first: list[FloorValues] = []
    rounds_of(one, run_plainly, lambda v: first.append(v))
    for name in FloorValues.__dataclass_fields__:
        np.testing.assert_array_equal(getattr(first[0], name), getattr(again[0], name))
    assert all(len(chunk) <= CHUNK for chunk in last.chunks(np.arange(1024)))
    off, error, count = checked_error(last, first[0], 1)
    assert count == 24
    assert off < 0.002 + 3 * error


def test_a_trend_is_the_cubic_it_was_made_from():
    rng = np.random.default_rng(0)
    places = rng.uniform(0, 8, (60, 2))
    x, y = places.T / 8
    gaps = 0.001 + 0.002 * x - 0.001 * x * y**2
    found = gap_trend(places, gaps, np.full(60, 1e-3))
    np.testing.assert_allclose(found.at(places), gaps, atol=1e-12)
    assert gap_trend(places[:0], gaps[:0], gaps[:0]).at(places).tolist() == [0.0] * 60


# ------------------------------------------------------------------ errors


def test_wind_and_bad_floors_are_refused():
    with pytest.raises(NoAnswer, match="still air"):
        floor_mapper(
            flight_model(BALL, Weather(wind=(1.0, 0.0, 0.0))),
            BALL,
            LAUNCHER,
            RING,
            scatter(),
            AROUND,
            (),
            floor_of((0, 8), (0, 8), 1.0),
            1,
        )
    for x, y, step, field in (
        ((0, 0), (0, 8), 1.0, "floor"),
        ((0, 8), (0, 8), 0.0, "step"),
        ((0, 8), (0, 8), 1e-4, "step"),
    ):
        with pytest.raises(BadInput) as caught:
            floor_of(x, y, step)
        assert caught.value.field == field


def test_one_elevation_is_enough():
    fixed = dataclasses.replace(LAUNCHER, elevation_low=math.radians(60), elevation_high=math.radians(60))
    case: FloorCase = mapper(launcher=fixed).case
    found = best_settings(case, np.array([[1.0, 2.0]]))
    assert launch_values(case, found)[1][0] == pytest.approx(math.radians(60))
    assert found.code[0] == SCORES
