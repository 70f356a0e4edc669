"""The spring piston against an independent integrator, a spring cut into pieces, and its energy book."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.launcher.piston import free_piston, push, push_beats_strike_above, strike, stroke_time
from shotwright.launcher.spring import RAYLEIGH, end_mass_root, spring_share

G = 9.80665  # m/s^2, standard gravity

STIFFNESS = st.floats(100, 5000)
LENGTHS = st.floats(0.0, 0.2)
STROKES = st.floats(0.02, 0.3)
MASSES = st.floats(0.02, 0.5)


def _pushed_by_integration(k, x0, s, mp, ms, mb, force, theta, gap):
    """Speed of the ball by scipy's DOP853 on the equations of motion, contact force watched."""
    hammer, up = mp + ms / 3, G * math.sin(theta)
    x1, meets = x0 + s, x0 + s - gap

    def fall(mass, weight):
        return lambda _t, y: [-y[1], (k * y[0] - force - weight) / mass]

    def reaches(x):
        def event(_t, y):
            return y[0] - x

        event.terminal = True
        return event

    v, x = 0.0, x1
    if gap > 0:
        way = solve_ivp(
            fall(hammer, (mp + ms / 2) * up),
            (0, 5),
            [x, 0.0],
            "DOP853",
            events=reaches(meets),
            rtol=1e-11,
            atol=1e-12,
        )
        x, v = way.y[0, -1], way.y[1, -1] * hammer / (hammer + mb)
    parts = max(x0, min(force / k, x))
    if parts < x:
        way = solve_ivp(
            fall(hammer + mb, (mp + ms / 2 + mb) * up),
            (0, 5),
            [x, v],
            "DOP853",
            events=reaches(parts),
            rtol=1e-11,
            atol=1e-12,
        )
        v = way.y[1, -1]
    return math.sqrt(v**2 - 2 * up * (parts - x0))


@pytest.mark.parametrize(
    ("force", "degrees", "gap"),
    [(0, 0, 0), (12, 50, 0), (12, 50, 0.02), (60, 30, 0.0), (60, 75, 0.03), (5, -20, 0.01)],
)
def test_pushed_speed_agrees_with_the_equations_of_motion(force: float, degrees: float, gap: float) -> None:
    theta = math.radians(degrees)
    wanted = _pushed_by_integration(900, 0.04, 0.09, 0.18, 0.06, 0.14, force, theta, gap)
    found = push(900, 0.04, 0.09, 0.18, 0.06, 0.14, friction=force, elevation=theta, gap=gap)
    assert float(found.speed) == pytest.approx(wanted, rel=1e-8)


def _pushed_by_a_chain(k: float, x0: float, s: float, end: float, ms: float, pieces: int = 300) -> float:
    """Speed of a mass at the end of a spring cut into pieces, as it comes by its front stop."""
    masses = np.full(pieces, ms / pieces)
    masses[-1] = end + ms / pieces / 2
    stiff = k * pieces

    def motion(_t: float, y: np.ndarray) -> np.ndarray:
        place, speed = y[:pieces], y[pieces:]
        stretch = np.diff(place, prepend=0.0)
        pull = stiff * stretch
        return np.concatenate([speed, (np.append(pull[1:], 0.0) - pull) / masses])

    def stop(_t: float, y: np.ndarray) -> float:
        return float(y[pieces - 1] + x0)

    stop.terminal = True  # type: ignore[attr-defined]
    start = np.concatenate([-(x0 + s) * np.arange(1, pieces + 1) / pieces, np.zeros(pieces)])
    way = solve_ivp(motion, (0, 1), start, "DOP853", events=stop, rtol=1e-7, atol=1e-9)
    return float(way.y[-1, -1])


@pytest.mark.parametrize(("spring_mass", "within"), [(0.06, 0.003), (0.15, 0.01), (0.3, 0.07)])
def test_a_third_of_the_spring_is_close_to_a_spring_of_many_pieces(spring_mass: float, within: float) -> None:
    wanted = _pushed_by_a_chain(900, 0.04, 0.09, 0.32, spring_mass)
    found = float(push(900, 0.04, 0.09, 0.18, spring_mass, 0.14).speed)
    assert found == pytest.approx(wanted, rel=within)


@settings(max_examples=60, deadline=None)
@given(
    STIFFNESS,
    LENGTHS,
    STROKES,
    MASSES,
    MASSES,
    MASSES,
    st.floats(0, 100),
    st.floats(-1.5, 1.5),
    st.floats(0, 0.019),
    st.floats(0, 1),
)
def test_the_books_close(k, x0, s, mp, ms, mb, force, theta, gap, e):
    common = {"friction": force, "elevation": theta}
    for shot in (
        push(k, x0, s, mp, ms, mb, gap=gap, **common),
        strike(k, x0, s, mp, ms, mb, restitution=e, **common),
        free_piston(k, x0, s, mp, ms, **common),
    ):
        spent = shot.ball + shot.piston + shot.friction + shot.lifting + shot.impact + shot.held
        assert float(spent) == pytest.approx(float(shot.usable), rel=1e-9, abs=1e-9)
        assert float(shot.usable) <= float(shot.stored)
        assert float(shot.speed) >= 0
        assert bool(shot.fires) or float(shot.speed) == 0


@settings(max_examples=40, deadline=None)
@given(STIFFNESS, LENGTHS, STROKES, MASSES, MASSES, st.floats(0.05, 0.95))
def test_push_and_strike_change_places_at_the_stated_ratio(k, x0, s, mp, ms, e):
    hammer = mp + ms / 3
    for factor, push_is_better in ((0.98, False), (1.02, True)):
        ball = factor * float(push_beats_strike_above(e)) * hammer
        pushed = float(push(k, x0, s, mp, ms, ball).speed)
        struck = float(strike(k, x0, s, mp, ms, ball, restitution=e).speed)
        assert (pushed > struck) == push_is_better


def test_best_strike_is_at_equal_masses() -> None:
    balls = np.linspace(0.05, 0.6, 1101)
    shot = strike(900, 0.04, 0.09, 0.18, 0.06, balls, restitution=0.6)
    share = shot.ball / shot.usable
    assert balls[np.argmax(share)] == pytest.approx(0.2, abs=0.001)
    assert share.max() == pytest.approx(1.6**2 / 4, abs=1e-6)


def test_too_much_friction_does_not_fire_and_says_so() -> None:
    shot = push(900, 0.04, 0.09, 0.18, 0.06, 0.14, friction=[10.0, 200.0])
    assert shot.fires.tolist() == [True, False]
    assert float(shot.speed[1]) == 0.0
    assert float(shot.held[1]) == float(shot.usable[1])


def test_stroke_time_of_a_relaxed_spring_is_a_quarter_of_its_period() -> None:
    assert float(stroke_time(900, 0.0, 0.09, 0.34)) == pytest.approx(math.pi / 2 * math.sqrt(0.34 / 900))


@settings(max_examples=60, deadline=None)
@given(st.floats(1e-6, 1e4))
def test_share_of_the_spring_lies_between_a_third_and_its_limit(ratio: float) -> None:
    beta = float(end_mass_root(ratio))
    assert beta * math.tan(beta) == pytest.approx(ratio, rel=1e-9)
    share = float(spring_share(ratio, 1.0))
    assert RAYLEIGH - 1e-9 <= share <= 4 / math.pi**2 + 1e-9
