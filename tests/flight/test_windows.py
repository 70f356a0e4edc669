"""Shot windows against the closed form without air, another integrator, and the laws they must keep."""

from __future__ import annotations

import dataclasses
import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from shotwright.base.errors import BadInput
from shotwright.flight.chance import Scatter, Surroundings
from shotwright.flight.forgiving import SpreadOfLaunch
from shotwright.flight.line_of_fire import line_of_fire
from shotwright.flight.model import flight_model
from shotwright.flight.windows import ShotWindow, scoring_elevations, shot_window
from shotwright.game.records import (
    Ball,
    CoefficientLaw,
    Defender,
    FiringPosition,
    Game,
    Post,
    Prism,
    Target,
    Weather,
)

G = 9.80665
UP = math.pi / 2
STILL = Weather()
PLAIN = Ball("ball", 0.24, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
SPOT = FiringPosition("spot", 0.0, 3.0, 0.01, 0.005)
RING = Target("ring", (4.191, 3.0, 3.048), 0.0, UP, radius=0.2286)
GATE = Target(
    "gate", (5.0, 3.0, 1.8), math.pi, 0.0, corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
)


def box(name: str, x: float, y: float, length: float, width: float, bottom: float, top: float) -> Prism:
    a, b = length / 2, width / 2
    return Prism(name, ((x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)), bottom, top)


def game_of(**changes: object) -> Game:
    return dataclasses.replace(Game("yard", 9.0, 6.0, PLAIN, (RING, GATE), (SPOT,)), **changes)


def window(target: Target, game: Game | None = None, **options: object) -> ShotWindow:
    game = game or game_of()
    density = options.pop("density", None)
    position = options.pop("position", game.positions[0])
    model = flight_model(game.ball, game.weather, density=density, buoyancy=False)
    return shot_window(
        model,
        game,
        position,
        target,
        **{"release_height": 1.0, "elevation_steps": 11, "spin_parameter": 0.1} | options,
    )


def rows_within(inner: ShotWindow, outer: ShotWindow, slack: float = 1e-6) -> bool:
    return all(
        any(c - slack <= a and b <= d + slack for c, d in wide)
        for narrow, wide in zip(inner.intervals_m_s, outer.intervals_m_s, strict=True)
        for a, b in narrow
    )


# ------------------------------------------------------------------ without air: the closed form


def clearance_of_parabola(speed: float, angle: float, edge_x: float, rise: float) -> float:
    """Least distance of a parabola from a point: roots of the cubic d(distance^2)/dt = 0, by numpy."""
    vx, vy = speed * math.cos(angle), speed * math.sin(angle)
    cubic = [G**2 / 2, -1.5 * G * vy, vx**2 + vy**2 + G * rise, -vx * edge_x - vy * rise]
    times = [root.real for root in np.roots(cubic) if abs(root.imag) < 1e-9 and root.real > 0]
    return min(math.hypot(vx * t - edge_x, vy * t - G * t * t / 2 - rise) for t in times)


def clean_speeds(angle: float, length: float, rise: float, ring: float, ball: float) -> tuple[float, float]:
    """Slowest and fastest speed that clear both rim points; the slowest is the larger where none does."""
    to_near, to_far = (
        math.sqrt(G * x**2 / (2 * math.cos(angle) ** 2 * (x * math.tan(angle) - rise)))
        for x in (length - ring, length + ring)
    )

    def gap(edge_x: float, speed: float) -> float:
        return clearance_of_parabola(speed, angle, edge_x, rise) - ball

    if gap(length - ring, to_far) < 0 or gap(length + ring, to_near) < 0:
        return math.inf, 0.0
    return (
        brentq(lambda v: gap(length - ring, v), to_near, to_far, xtol=1e-12),
        brentq(lambda v: gap(length + ring, v), to_near, to_far, xtol=1e-12),
    )


@settings(max_examples=10, deadline=None)
@given(
    st.floats(52.0, 70.0),
    st.floats(3.0, 8.0),
    st.floats(0.3, 1.5),
    st.floats(0.22, 0.35),
    st.floats(0.05, 0.12),
)
def test_speeds_without_air_are_those_of_the_parabola(
    angle: float, length: float, rise: float, ring: float, ball: float
) -> None:
    elevation = math.radians(angle)
    thrown = dataclasses.replace(PLAIN, diameter=2 * ball)
    opening = Target("ring", (length, 3.0, 1.0 + rise), 0.0, UP, radius=ring)
    found = window(
        opening,
        game_of(ball=thrown, targets=(opening,)),
        density=0.0,
        elevation_range=(elevation, elevation),
        elevation_steps=1,
    )
    slowest, fastest = clean_speeds(elevation, length, rise, ring, ball)
    if fastest <= slowest:
        assert found.blocked
    else:
        assert found.intervals_m_s[0][0] == pytest.approx((slowest, fastest), abs=1e-7)


def test_lowest_clean_elevation_of_a_free_throw() -> None:
    # closed form: parabola clearance at both rim points at once, 46.57918123 deg
    low, high = math.radians(46.5790), math.radians(46.5800)
    found = window(RING, density=0.0, release_height=2.1336, elevation_range=(low, high), elevation_steps=2)
    assert [len(one) for one in found.intervals_m_s] == [0, 1]


def test_elevations_at_one_speed_come_in_two_branches() -> None:
    model = flight_model(PLAIN, STILL, density=0.0)
    wide = dataclasses.replace(RING, radius=0.6)
    line = line_of_fire(model, wide, SPOT, 2.1336)
    found = scoring_elevations(line, np.array([6.5, 8.0]))
    assert [len(one) for one in found] == [0, 2]
    speeds = window(
        wide,
        density=0.0,
        release_height=2.1336,
        elevation_range=(found[1][0][0], found[1][0][1]),
        elevation_steps=2,
    )
    # the edge in elevation at 8 m/s is an edge in speed at that elevation
    for row in speeds.intervals_m_s:
        assert min(abs(end - 8.0) for one in row for end in one) < 1e-6


# ------------------------------------------------------------------ in air, among solids: another integrator


def flown_apart(speed: float, elevation: float, azimuth: float, spin: float, start: np.ndarray) -> np.ndarray:
    """Path of the ball's centre by scipy, every 0.2 ms; same physics, other text."""
    k = 1.204 * math.pi * 0.12**2 / (2 * 0.6)
    axis = np.array([math.sin(azimuth), -math.cos(azimuth), 0.0])

    def rate(_: float, y: np.ndarray) -> np.ndarray:
        v = y[3:]
        size = np.linalg.norm(v)
        s = 0.12 * spin / size
        lift = k * s / (2.32 * s + 0.4) * size * np.cross(axis, v)
        return np.concatenate([v, np.array([0, 0, -G]) - k * 0.5 * size * v + lift])

    heading = [
        math.cos(elevation) * math.cos(azimuth),
        math.cos(elevation) * math.sin(azimuth),
        math.sin(elevation),
    ]
    y0 = np.concatenate([start, speed * np.array(heading)])
    times = np.arange(0.0, 2.5, 2e-4)
    return solve_ivp(rate, (0, 2.5), y0, t_eval=times, rtol=1e-10, atol=1e-12).y[:3].T


def scores_apart(path: np.ndarray, target: Target, solids: list[Prism], radius: float = 0.12) -> bool:
    """Straight from the definition: sampled distances of the centre from edge and boxes."""
    u, w, n = target.axes()
    local = (path - np.array(target.centre)) @ np.array([u, w, n]).T
    crossing = np.nonzero((local[:-1, 2] > 0) & (local[1:, 2] <= 0))[0]
    if not len(crossing):
        return False
    k = crossing[0]
    inside = abs(local[k, 0]) < 0.4 and abs(local[k, 1]) < 0.3
    edge = np.inf
    corners = np.array(target.corners)
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        share = np.clip((local[:, :2] - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
        gap = np.column_stack([local[:, :2] - a - share[:, None] * (b - a), local[:, 2]])
        edge = min(edge, np.linalg.norm(gap, axis=1).min())
    for solid in solids:
        xs, ys = zip(*solid.footprint, strict=True)
        low, high = np.array([min(xs), min(ys), solid.bottom]), np.array([max(xs), max(ys), solid.top])
        way = path[: k + 1]
        if np.linalg.norm(way - np.clip(way, low, high), axis=1).min() < radius:
            return False
    return bool(inside and edge >= radius and path[: k + 1, 2].min() > radius)


def test_inside_scores_and_just_outside_does_not_by_another_integrator() -> None:
    beam = box("beam", 2.5, 3.0, 0.3, 3.0, 2.2, 2.5)
    found = window(GATE, game_of(obstacles=(beam,)), density=1.204, elevation_steps=17)
    start = np.array([0.0, 3.0, 1.0])
    edges = 0
    for degrees, azimuth, row in zip(
        found.elevations_deg, found.azimuths_deg, found.intervals_m_s, strict=True
    ):
        for low, high in row:
            for speed, expected in (
                (low + 2e-4, True),
                (0.5 * (low + high), True),
                (high - 2e-4, True),
                (low - 2e-4, False),
                (high + 2e-4, False),
            ):
                if not 0.5 < speed < 20.0:
                    continue
                path = flown_apart(
                    speed, math.radians(degrees), math.radians(azimuth), 0.1 * speed / 0.12, start
                )
                assert scores_apart(path, GATE, [beam]) == expected, (degrees, speed)
                edges += not expected
    assert edges >= 10


def test_a_beam_across_the_path_splits_the_speeds() -> None:
    beam = box("beam", 2.5, 3.0, 0.3, 3.0, 2.2, 2.25)
    tall = dataclasses.replace(GATE, corners=((-0.4, -1.0), (0.4, -1.0), (0.4, 1.0), (-0.4, 1.0)))
    free, cut = (window(tall, game_of(obstacles=o), elevation_steps=81) for o in ((), (beam,)))
    assert max(len(row) for row in free.intervals_m_s) == 1
    assert max(len(row) for row in cut.intervals_m_s) == 2
    assert any("split the speeds" in sentence for sentence in cut.words)


# ------------------------------------------------------------------ laws


def mirrored(game: Game) -> Game:
    """Reflect the scene in y; a polygon's u axis turns round with it."""

    def solid(one: Prism | Post) -> Prism | Post:
        if isinstance(one, Post):
            return dataclasses.replace(one, y=6.0 - one.y)
        return dataclasses.replace(one, footprint=tuple((x, 6.0 - y) for x, y in reversed(one.footprint)))

    def target(one: Target) -> Target:
        x, y, z = one.centre
        corners = tuple((-u, w) for u, w in reversed(one.corners))
        return dataclasses.replace(one, centre=(x, 6.0 - y, z), azimuth=-one.azimuth, corners=corners)

    wx, wy, wz = game.weather.wind
    return dataclasses.replace(
        game,
        targets=tuple(target(t) for t in game.targets),
        positions=tuple(dataclasses.replace(p, y=6.0 - p.y) for p in game.positions),
        obstacles=tuple(solid(o) for o in game.obstacles),
        weather=dataclasses.replace(game.weather, wind=(wx, -wy, wz)),
    )


@settings(max_examples=6, deadline=None)
@given(st.floats(0.5, 5.5), st.floats(-2.0, 2.0), st.booleans())
def test_a_mirrored_scene_gives_the_same_window(y: float, wind: float, upright: bool) -> None:
    target = dataclasses.replace(GATE, corners=((-0.5, -0.3), (0.4, -0.3), (0.3, 0.5))) if upright else RING
    game = game_of(
        targets=(target,),
        positions=(FiringPosition("spot", 0.5, y, 0.0, 0.0),),
        obstacles=(Post("post", 2.5, 2.8, 0.1, 0.0, 2.4), box("wall", 3.0, 3.5, 0.2, 1.0, 0.0, 1.2)),
        weather=Weather(wind=(0.5, wind, 0.0)),
    )
    one, other = window(target, game), window(mirrored(game).targets[0], mirrored(game))
    assert one.elevations_deg == other.elevations_deg
    assert [len(row) for row in one.intervals_m_s] == [len(row) for row in other.intervals_m_s]
    for mine, theirs in zip(one.intervals_m_s, other.intervals_m_s, strict=True):
        assert np.array(mine) == pytest.approx(np.array(theirs), abs=1e-6)
    assert np.array(one.azimuths_deg) == pytest.approx(-np.array(other.azimuths_deg), abs=1e-6)


@settings(max_examples=6, deadline=None)
@given(st.floats(0.0, 0.4), st.floats(0.8, 2.0), st.booleans())
def test_a_larger_opening_holds_the_window_of_a_smaller(grown: float, height: float, upright: bool) -> None:
    if upright:
        smaller, larger = (
            GATE,
            dataclasses.replace(
                GATE, corners=tuple((u * (1 + grown), w * (1 + grown)) for u, w in GATE.corners)
            ),
        )
    else:
        smaller, larger = RING, dataclasses.replace(RING, radius=0.2286 + grown)
    found = [window(one, release_height=height) for one in (smaller, larger)]
    assert rows_within(*found)


@settings(max_examples=6, deadline=None)
@given(
    st.floats(1.0, 3.8),
    st.floats(2.0, 4.0),
    st.floats(0.05, 0.6),
    st.floats(0.0, 2.0),
    st.floats(0.2, 2.5),
    st.booleans(),
)
def test_an_obstacle_never_adds(
    x: float, y: float, size: float, bottom: float, height: float, as_post: bool
) -> None:
    top = bottom + height
    solid = Post("o", x, y, size / 2, bottom, top) if as_post else box("o", x, y, size, size, bottom, top)
    free, cut = window(GATE), window(GATE, game_of(obstacles=(solid,)))
    assert rows_within(cut, free)
    standing = window(
        GATE, game_of(defenders=(Defender("d", box("d", x, y, size, size, 0.0, top)),)), defended=True
    )
    assert rows_within(standing, free)


def test_fixed_spin_and_spin_parameter_meet_at_one_speed() -> None:
    elevation = math.radians(65)
    span = {"elevation_range": (elevation, elevation), "elevation_steps": 1}
    by_parameter = window(RING, spin_parameter=0.25, **span)
    edge = by_parameter.intervals_m_s[0][0][0]
    fixed = window(RING, spin=0.25 * edge / PLAIN.radius, **span)
    assert fixed.intervals_m_s[0][0][0] == pytest.approx(edge, abs=1e-7)
    assert fixed.spin_parameter is None
    assert fixed.spin_rev_s == pytest.approx(0.25 * edge / 0.12 / math.tau)
    assert fixed.minimum_speed.spin_rev_s == pytest.approx(fixed.spin_rev_s)


def test_a_crosswind_is_aimed_off() -> None:
    calm, windy = (window(GATE, game_of(weather=Weather(wind=(0.0, w, 0.0)))) for w in (0.0, 3.0))
    assert set(calm.azimuths_deg) == {0.0}
    assert not windy.blocked
    assert all(
        azimuth < 0 for row, azimuth in zip(windy.intervals_m_s, windy.azimuths_deg, strict=True) if row
    )


def test_an_opening_whose_origin_is_a_corner_is_aimed_at_its_middle() -> None:
    moved = dataclasses.replace(
        GATE, centre=(5.0, 3.4, 1.5), corners=tuple((u + 0.4, w + 0.3) for u, w in GATE.corners)
    )
    one, other = window(GATE), window(moved)
    for mine, theirs in zip(one.intervals_m_s, other.intervals_m_s, strict=True):
        assert np.array(mine) == pytest.approx(np.array(theirs), abs=1e-7)


# ------------------------------------------------------------------ single shots


def test_the_slowest_shot_touches_and_no_row_is_slower() -> None:
    found = window(GATE, elevation_steps=41)
    slowest = found.minimum_speed
    assert slowest.speed_m_s <= min(a for row in found.intervals_m_s for a, _ in row)
    assert slowest.edge_clearance_m == pytest.approx(0.0, abs=1e-7)
    assert found.minimum_speed_through_centre.edge_clearance_m > 0.1
    assert slowest.speed_m_s < found.minimum_speed_through_centre.speed_m_s
    near = slowest.elevation_deg
    finer = window(
        GATE, elevation_steps=101, elevation_range=(math.radians(near - 2), math.radians(near + 2))
    )
    least = min(a for row in finer.intervals_m_s for a, _ in row)
    assert slowest.speed_m_s == pytest.approx(least, abs=2e-6)


@pytest.mark.authority
@pytest.mark.parametrize(
    ("angle", "speed", "sd", "expected"),
    [
        (52, 7.1485, 0.03, 0.640606),
        (52, 7.1485, 0.06, 0.360704),
        (60, 7.3695, 0.03, 0.659816),
        (60, 7.3695, 0.06, 0.530525),
    ],
)
def test_hit_probability_of_a_free_throw(angle: float, speed: float, sd: float, expected: float) -> None:
    # independent computation: Gauss-Legendre over the angle (sd 1 deg) with exact speed windows, no air
    model = flight_model(PLAIN, STILL, density=0.0)
    line = line_of_fire(model, RING, SPOT, 2.1336)
    spread = SpreadOfLaunch(Scatter(sd / speed, math.radians(1.0), 0.0), Surroundings(), PLAIN)
    found = spread.chances(line, [line.aim(speed, math.radians(angle), 0.0)], 4096)[0]
    assert found == pytest.approx(expected, abs=0.006)


def test_no_aim_on_a_grid_forgives_more() -> None:
    found = window(GATE, elevation_steps=21)
    game = game_of()
    model = flight_model(PLAIN, STILL, buoyancy=False)
    line = line_of_fire(model, GATE, SPOT, 1.0, spin_parameter=0.1)
    scatter = Scatter(found.scatter_speed, math.radians(0.7), math.radians(0.7))
    spread = SpreadOfLaunch(scatter, Surroundings(0.01, 0.005), game.ball)
    aims = [
        line.aim(low + share * (high - low), math.radians(degrees), 0.0)
        for degrees, row in zip(found.elevations_deg, found.intervals_m_s, strict=True)
        for low, high in row
        for share in (0.25, 0.5, 0.75)
    ]
    assert found.most_forgiving.hit_probability >= spread.chances(line, aims, 512).max() - 0.03
    assert found.most_forgiving.hit_probability > found.minimum_speed.hit_probability


def test_clearances_name_what_is_met() -> None:
    warden = Defender("warden", box("warden", 2.5, 3.0, 0.6, 0.6, 0.0, 1.4))
    game = game_of(obstacles=(box("wall", 3.5, 3.0, 0.2, 2.0, 0.0, 1.0),), defenders=(warden,))
    free, held = window(GATE, game), window(GATE, game, defended=True)
    assert rows_within(held, free)
    assert held.most_forgiving.defender_clearance_m > 0
    assert held.most_forgiving.obstacle_clearance_m > 0
    assert held.most_forgiving.meets == ""
    tall = Defender("warden", dataclasses.replace(warden.solid, top=2.2))
    undefended = window(GATE, dataclasses.replace(game, defenders=(tall,)))
    for shot in (undefended.minimum_speed, undefended.most_forgiving):
        assert (shot.meets == "warden") == (shot.defender_clearance_m == 0.0)


# ------------------------------------------------------------------ records and errors


def test_a_result_is_plain_data() -> None:
    plain = window(RING).to_dict()
    json.dumps(plain, allow_nan=False)
    assert plain["most_forgiving"]["obstacle_clearance_m"] is None
    assert len(plain["intervals_m_s"]) == len(plain["elevations_deg"])


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"release_height": 0.1}, "release_height"),
        ({"release_height": math.nan}, "release_height"),
        ({"speed_range": (0.0, 5.0)}, "speed_range"),
        ({"speed_range": (9.0, 5.0)}, "speed_range"),
        ({"speed_range": (1.0, 500.0)}, "speed_range"),
        ({"elevation_range": (1.0, 0.5)}, "elevation_range"),
        ({"elevation_range": (0.5, math.pi)}, "elevation_range"),
        ({"elevation_steps": 1}, "elevation_steps"),
        ({"spin_parameter": math.inf}, "spin_parameter"),
        ({"spin": math.nan}, "spin"),
    ],
)
def test_bad_input_names_its_field(options: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as caught:
        window(RING, **options)
    assert caught.value.field == field
