"""Flights with bounces: closed forms, an integrator of a general library, compiled against plain text."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput
from shotwright.flight import rebound
from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.opening import passes
from shotwright.flight.rebound import Ending, follow_bounces, follow_one
from shotwright.game.records import Ball, Board, CoefficientLaw, Post, Prism, Rim, Surface, Target, Weather

G = 9.80665
RADIUS = 0.12
START = (0.0, 0.0, 2.1336)
STILL = (0.0, 0.0, 0.0)
NONE = CoefficientLaw("none")
VACUUM = flight_model(
    Ball("b", 2 * RADIUS, 0.6, CoefficientLaw("constant", 0.5), NONE, inertia_factor=0.6),
    Weather(),
    density=0.0,
    buoyancy=False,
)
AIR = flight_model(
    Ball(
        "b",
        2 * RADIUS,
        0.6,
        CoefficientLaw("constant", 0.5),
        CoefficientLaw("cross"),
        inertia_factor=0.62,
        spin_decay=0.05,
    ),
    Weather(wind=(0.5, -0.3, 0.0)),
    density=1.2,
    buoyancy=False,
)
FLOOR, STEEL, GLASS = Surface(0.75, 0.1, 0.6), Surface(0.5, 0.1, 0.5), Surface(0.7, 0.15, 0.4)
PLAIN_RING = Target("ring", (4.191, 0.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
RING = Target(
    "ring",
    (4.191, 0.0, 3.048),
    0.0,
    math.pi / 2,
    radius=0.2286,
    rim=Rim(0.009, STEEL),
    board=Board((4.572, 0.0, 3.4), math.pi, 0.0, 1.8, 1.05, 0.03, GLASS),
)
OBSTACLES = (
    Prism("wall", ((2.0, -1.0), (2.1, -1.0), (2.1, 1.0), (2.0, 1.0)), 0.0, 1.0, Surface(0.6, 0.1, 0.5)),
    Post("padded post", 4.9, 0.0, 0.06, 0.0, 3.5, Surface(0.6, 0.1, 0.5)),
    Post("bare post", 3.0, 0.8, 0.05, 0.0, 2.0),
)


def launches(n: int, seed: int = 1, aside: float = 0.05):
    rng = np.random.default_rng(seed)
    return launch_vectors(
        rng.uniform(6.8, 8.2, n),
        np.radians(rng.uniform(45, 62, n)),
        rng.normal(0, aside, n),
        rng.uniform(-10, 40, n),
    )


@settings(max_examples=20, deadline=None)
@given(st.floats(0.3, 3.0), st.floats(0.4, 0.95), st.integers(1, 6))
def test_dropped_ball_bounces_in_a_geometric_series(height, e, count):
    # closed form: heights e^2k H, times sqrt(2H/g) (1 + 2 e + 2 e^2 + ...)
    found = follow_one(
        VACUUM, None, (0, 0, height + RADIUS), STILL, STILL, bounces=count, floor=Surface(e, 0.0, 0.5)
    )
    assert found.ending == Ending.NO_BOUNCES_LEFT
    fall = math.sqrt(2 * height / G)
    for k, bounce in enumerate(found.bounces):
        assert bounce.time == pytest.approx(fall * (1 + 2 * sum(e**i for i in range(1, k + 1))), abs=1e-9)
        assert bounce.velocity_after[2] == pytest.approx(e ** (k + 1) * G * fall, abs=1e-9)
        assert bounce.off == "the floor"
    assert found.touched == "the floor"


def test_a_ball_that_hardly_bounces_any_more_stays():
    found = follow_one(VACUUM, None, (0, 0, 1.0), STILL, STILL, bounces=50, floor=Surface(0.5, 0.0, 0.5))
    assert found.ending == Ending.STAYS
    assert 10 < len(found.bounces) < 20
    dead = follow_one(VACUUM, None, (0, 0, 1.0), (1.0, 0, 0), STILL, bounces=5, floor=Surface(0.0, 0.0, 0.5))
    assert (dead.ending, len(dead.bounces)) == (Ending.STAYS, 1)


def test_a_mirror_floor_is_a_parabola_repeated():
    v = (2.0, 0.5, 3.0)
    found = follow_one(VACUUM, None, (0, 0, RADIUS), v, STILL, bounces=6, floor=Surface(1.0, 0.0, 0.0))
    for k, bounce in enumerate(found.bounces, 1):
        np.testing.assert_allclose(bounce.position, (2.0 * k * 6 / G, 0.5 * k * 6 / G, RADIUS), atol=1e-9)
        np.testing.assert_allclose(bounce.velocity_after, v, atol=1e-9)


def test_flights_through_a_mirror_can_be_run_backwards():
    # rim, board and floor that lose nothing: reversed at the end, the ball comes back to where it began
    mirror = Surface(1.0, 0.0, 0.0)
    target = Target(
        "ring",
        RING.centre,
        0.0,
        math.pi / 2,
        radius=0.2286,
        rim=Rim(0.009, mirror),
        board=Board((4.572, 0.0, 3.4), math.pi, 0.0, 1.8, 1.05, 0.03, mirror),
    )
    velocity, spin = launches(30, seed=5)
    kept = 0
    for v, w in zip(velocity, spin, strict=True):
        there = follow_bounces(VACUUM, target, START, v, w, bounces=4, floor=mirror, time_limit=1.15)
        if there.ending[0] != Ending.TIMED_OUT or there.bounces[0] == 0:
            continue
        kept += 1
        back = follow_bounces(
            VACUUM,
            target,
            there.position,
            -there.velocity,
            w,
            bounces=9,
            floor=mirror,
            time_limit=1.15,
        )
        if back.ending[0] == Ending.TIMED_OUT:  # else it fell through the ring on its way back
            np.testing.assert_allclose(back.position[0], START, atol=1e-6)
    assert kept >= 5


def test_without_bounces_left_the_ring_passes_as_without_bounces():
    """The same balls score as by the least distance from the edge at the crossing."""
    velocity, spin = launches(1500, seed=2, aside=0.01)
    velocity += (0.0, 0.12, 0.0)  # against the wind
    found = follow_bounces(AIR, PLAIN_RING, START, velocity, spin, bounces=0)
    crossings = fly_to_plane(AIR, START, velocity, spin, PLAIN_RING.centre, (0, 0, 1))
    assert found.scored().sum() > 10
    np.testing.assert_array_equal(found.scored(), passes(PLAIN_RING, crossings, RADIUS))
    assert (found.bounces == 0).all()


def test_without_bounces_an_upright_polygon_passes_as_without_bounces():
    frame = Target(
        "frame", (4.0, 0.0, 2.4), math.pi, 0.3, corners=((-0.5, -0.3), (0.5, -0.3), (0.3, 0.4), (-0.4, 0.3))
    )
    velocity, spin = launches(400, seed=9)
    velocity *= 0.95
    found = follow_bounces(AIR, frame, START, velocity, spin, bounces=0, obstacles=OBSTACLES)
    _, _, normal = frame.axes()
    crossings = fly_to_plane(AIR, START, velocity, spin, frame.centre, normal, obstacles=OBSTACLES)
    assert (crossings.status == Status.CROSSED).sum() > 100
    assert 40 < found.scored().sum() < 380
    np.testing.assert_array_equal(found.scored(), passes(frame, crossings, RADIUS))


def test_more_bounces_allowed_never_score_less():
    velocity, spin = launches(3000, seed=4)
    shares = [
        follow_bounces(AIR, RING, START, velocity, spin, bounces=n, obstacles=OBSTACLES, floor=FLOOR).scored()
        for n in (0, 1, 2, 5)
    ]
    for fewer, more in itertools.pairwise(shares):
        assert (more | ~fewer).all()
        assert more.sum() > fewer.sum()
    most = follow_bounces(AIR, RING, START, velocity, spin, bounces=5, obstacles=OBSTACLES, floor=FLOOR)
    for n, share in zip((0, 1, 2), shares, strict=False):
        np.testing.assert_array_equal(most.scored(n), share)


def test_compiled_text_is_the_plain_one(monkeypatch):
    velocity, spin = launches(60, seed=3)

    def run():
        return follow_bounces(
            AIR, RING, START, velocity, spin, bounces=6, obstacles=OBSTACLES, floor=FLOOR, time_limit=4.0
        )

    compiled = run()
    monkeypatch.setattr(rebound, "_FEW", 1000)
    plain = run()
    assert len(set(compiled.ending.tolist())) >= 4
    assert compiled.bounces.max() >= 4
    np.testing.assert_array_equal(compiled.ending, plain.ending)
    np.testing.assert_array_equal(compiled.bounces, plain.bounces)
    for field in ("time", "position", "velocity", "spin"):
        np.testing.assert_allclose(getattr(compiled, field), getattr(plain, field), rtol=0, atol=1e-7)


def independent(v, w, until):
    """Flight with at most 6 bounces by scipy's events; equations, distances and impact typed anew."""
    alpha, wind = 0.62, np.array([0.5, -0.3, 0.0])
    k = 1.2 * math.pi / 4 * (2 * RADIUS) ** 2 / (2 * 0.6)

    def rate(_t, y):
        u = y[3:6] - wind
        speed = np.linalg.norm(u)
        size = np.linalg.norm(y[6:9])
        s = RADIUS * size / speed
        lift = s / (2.32 * s + 0.4) * k * speed * np.cross(y[6:9], u) / size if size else np.zeros(3)
        decay = 0.05 * 1.2 * math.pi / 4 * (2 * RADIUS) ** 2 / (2 * alpha * 0.6)
        pull = -0.5 * k * speed * u + lift - [0, 0, G]
        return np.concatenate([y[3:6], pull, -decay * speed * y[6:9]])

    centre, reach = np.array([4.191, 0.0, 3.048]), 0.2286 + 0.009

    def foot_ring(x):
        flat = np.array([x[0] - centre[0], x[1] - centre[1], 0.0])
        on = centre + reach * flat / np.linalg.norm(flat)
        return on + 0.009 * (x - on) / np.linalg.norm(x - on)

    def foot_board(x):
        return np.clip(x, [4.572, -0.9, 2.875], [4.602, 0.9, 3.925])

    def foot_floor(x):
        return np.array([x[0], x[1], 0.0])

    feet = ((foot_floor, FLOOR), (foot_ring, STEEL), (foot_board, GLASS))
    events = []
    for foot, _ in feet:

        def event(_t, y, foot=foot):
            return np.linalg.norm(y[:3] - foot(y[:3])) - RADIUS

        event.terminal, event.direction = True, -1
        events.append(event)
    y, t, seen = np.concatenate([START, v, w]), 0.0, []
    while t < until and len(seen) < 6:
        part = solve_ivp(
            rate, (t, until), y, method="DOP853", events=events, rtol=1e-11, atol=1e-11, max_step=0.01
        )
        t, y = part.t[-1], part.y[:, -1].copy()
        hit = [i for i, times in enumerate(part.t_events) if len(times)]
        if not hit:
            break
        foot, surface = feet[hit[0]]
        n = (y[:3] - foot(y[:3])) / RADIUS
        arm = -RADIUS * n
        contact = y[3:6] + np.cross(y[6:9], arm)
        normal_speed = contact @ n
        slip = contact - normal_speed * n
        push = -(1 + surface.restitution) * normal_speed
        # the impulse (per mass) that turns the slip into -e_t times itself, limited by friction
        wanted = -(1 + surface.tangential) * slip / (1 + 1 / alpha)
        limit = surface.friction * push / np.linalg.norm(wanted)
        impulse = push * n + min(1.0, limit) * wanted
        y[3:6] += impulse
        y[6:9] += np.cross(arm, impulse) / (alpha * RADIUS**2)
        y[:3] += 1e-9 * n
        seen.append(hit[0])
    return t, y, seen


@pytest.mark.slow
def test_independent_integrator_with_events():
    velocity, spin = launches(25, seed=6)
    kinds, compared = set(), 0
    for v, w in zip(velocity, spin, strict=True):
        ours = follow_one(AIR, RING, START, v, w, bounces=6, floor=FLOOR, time_limit=2.5)
        if ours.ending == Ending.SCORED:
            last = ours.bounces[-1].time + 0.02 if ours.bounces else ours.time
            ours = follow_one(AIR, RING, START, v, w, bounces=6, floor=FLOOR, time_limit=min(last, ours.time))
        if ours.ending != Ending.TIMED_OUT:
            continue
        t, y, seen = independent(v, w, ours.time)
        names = {"the floor": 0, "the rim of ring": 1, "the board of ring": 2}
        assert [names[b.off] for b in ours.bounces] == seen
        kinds.update(seen)
        compared += 1
        assert t == pytest.approx(ours.time, abs=1e-9)
        # a touch of the rim multiplies what was off before it
        np.testing.assert_allclose(ours.position, y[:3], rtol=0, atol=2e-6)
        np.testing.assert_allclose(ours.velocity, y[3:6], rtol=0, atol=2e-5)
        np.testing.assert_allclose(ours.spin, y[6:9], rtol=0, atol=2e-4)
    assert kinds == {0, 1, 2}
    assert compared >= 15


def test_what_has_no_surface_stops_a_ball():
    found = follow_one(AIR, None, START, (7.0, 1.85, 0.0), STILL, bounces=5, obstacles=OBSTACLES)
    assert (found.ending, found.touched, len(found.bounces)) == (Ending.STOPPED, "bare post", 0)
    floor = follow_one(AIR, None, START, (1.0, 0.0, 0.0), STILL, bounces=5)
    assert (floor.ending, floor.touched) == (Ending.STOPPED, "the floor")
    inside = follow_one(AIR, None, (2.05, 0.0, 0.5), (1.0, 0.0, 0.0), STILL, bounces=5, obstacles=OBSTACLES)
    assert (inside.ending, inside.touched, inside.time) == (Ending.STOPPED, "wall", 0.0)


def test_a_shot_off_the_board_counts_only_where_bounces_are_allowed():
    # aimed at the board above the ring: the mirror image of a direct shot
    speeds = np.linspace(8.0, 8.6, 601)
    velocity, spin = launch_vectors(speeds, math.radians(55), 0.0, 6.0)
    still = flight_model(AIR.ball, Weather())
    one = follow_bounces(still, RING, START, velocity, spin, bounces=1, floor=FLOOR)
    none = follow_bounces(still, RING, START, velocity, spin, bounces=0, floor=FLOOR)
    assert one.scored().sum() > 3
    assert not none.scored().any()
    for v, w in zip(velocity[one.scored()], spin[one.scored()], strict=True):
        told = follow_one(still, RING, START, v, w, bounces=1, floor=FLOOR)
        assert [bounce.off for bounce in told.bounces] == ["the board of ring"]


def test_balls_of_their_own_size():
    velocity, spin = launches(40, seed=12)
    sizes = np.linspace(0.2, 0.26, 40)
    many = follow_bounces(AIR, RING, START, velocity, spin, bounces=2, floor=FLOOR, diameter=sizes)
    for i in range(0, 40, 7):
        one = follow_bounces(
            AIR, RING, START, velocity[i], spin[i], bounces=2, floor=FLOOR, diameter=[sizes[i]]
        )
        assert (many.ending[i], many.bounces[i]) == (one.ending[0], one.bounces[0])
        np.testing.assert_allclose(many.position[i], one.position[0], atol=1e-8)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"bounces": -1}, "-1 bounces are not followed"),
        ({"bounces": 51}, "51 bounces are not followed"),
        ({"time_limit": math.inf}, "is not a time limit"),
        ({"floor": Surface(1.1, 0, 0)}, "1.1 is not a coefficient of restitution"),
        ({"obstacles": (Post("p", 0, 0, -1.0, 0, 1),)}, "is not a post"),
    ],
)
def test_bad_input_is_named(change, what):
    with pytest.raises(BadInput, match=what):
        follow_bounces(AIR, RING, START, (5, 0, 5), STILL, **({"bounces": 1} | change))
