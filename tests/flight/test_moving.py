"""Shots on the move against closed forms, Galileo's shift of frame, mirrors and an independent integrator."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.flight.aiming import aims_through
from shotwright.flight.crossing import trace
from shotwright.flight.model import flight_model
from shotwright.flight.moving import STANDING, Motion, moving_launch, setting_of
from shotwright.flight.moving_aims import (
    Limits,
    aims_at_elevation,
    aims_at_speed,
    arrives,
    nearest_aim,
    setting_change,
    slowest_aim,
)
from shotwright.flight.moving_family import shot_family
from shotwright.game.records import Ball, CoefficientLaw, Prism, Target, Weather

G = 9.80665
FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"), spin_decay=0.05)
AIR = flight_model(FOAM, Weather())
VACUUM = flight_model(FOAM, Weather(), density=0.0, buoyancy=False)
START = np.array([0.0, 0.0, 0.6])
RING = Target("ring", (4.0, 0.0, 2.0), math.pi, math.pi / 2, radius=0.4)
TILTED = Target("tilted", (4.0, 0.3, 2.0), math.pi, 0.9, radius=0.4)
WALL = Target(
    "wall", (4.0, 0.0, 2.0), math.pi, 0.0, corners=((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5))
)
velocities = st.tuples(st.floats(-3, 3), st.floats(-3, 3))
few = settings(max_examples=8, deadline=None)


def test_turning_about_a_point_beside_the_release() -> None:
    # v = omega x r by numpy's cross product
    motion = Motion((1.0, -0.5), 2.5, (0.2, -0.3))
    across = np.cross([0, 0, 2.5], [0.2, -0.3, 0.0])
    np.testing.assert_allclose(motion.release_velocity, np.array([1.0, -0.5, 0.0]) + across, atol=1e-15)
    velocity, spin = moving_launch(8.0, 0.9, 0.2, 30.0, motion)
    own, axis = moving_launch(8.0, 0.9, 0.2, 30.0, STANDING)
    np.testing.assert_allclose(velocity - own, [motion.release_velocity], atol=1e-14)
    np.testing.assert_allclose(spin - axis, [[0, 0, 2.5]], atol=1e-14)
    free = Motion((1.0, -0.5), 2.5, (0.2, -0.3), ball_turns=False)
    np.testing.assert_allclose(moving_launch(8.0, 0.9, 0.2, 30.0, free)[1], axis)


@given(velocities, st.floats(-4, 4), st.floats(3, 20), st.floats(-0.3, 1.4), st.floats(-3, 3))
@few
def test_a_setting_comes_back_from_its_ball(
    velocity: tuple[float, float], turn: float, speed: float, elevation: float, azimuth: float
) -> None:
    motion = Motion(velocity, turn, (0.25, 0.1))
    ball, _ = moving_launch(speed, elevation, azimuth, 0.0, motion)
    aim = setting_of(ball[0], motion, START, 0.2, None, FOAM.radius)
    assert (aim.speed, aim.elevation, aim.azimuth) == pytest.approx((speed, elevation, azimuth), abs=1e-9)
    fixed = setting_of(ball[0], motion, START, 0.2, 33.0, FOAM.radius)
    assert fixed.spin(FOAM.radius) == pytest.approx(33.0)


@given(velocities, st.tuples(st.floats(-4, 4), st.floats(-4, 4), st.floats(-1, 1)), st.floats(-60, 60))
@few
def test_a_moving_robot_is_a_standing_one_in_another_wind(
    velocity: tuple[float, float], wind: tuple[float, float, float], spin: float
) -> None:
    """Galileo: seen from a frame that moves with the robot, only the wind is another; drag and lift too."""
    motion = Motion(velocity)
    times = np.array([0.2, 0.6, 1.1])
    ball, axis = moving_launch(8.0, 0.9, 0.3, spin, motion)
    own, same = moving_launch(8.0, 0.9, 0.3, spin, STANDING)
    here = trace(flight_model(FOAM, Weather(wind=wind)), START, ball[0], axis[0], times)
    shifted = (wind[0] - velocity[0], wind[1] - velocity[1], wind[2])
    there = trace(flight_model(FOAM, Weather(wind=shifted)), START, own[0], same[0], times)
    there[:, :2] += np.multiply.outer(times, velocity)
    np.testing.assert_allclose(here, there, rtol=0, atol=1e-12)


@given(st.floats(math.radians(35), math.radians(70)))
@few
def test_without_motion_it_is_the_standing_shot(elevation: float) -> None:
    # by another method: a search for the speed at which the crossing is right
    (standing,) = aims_through(AIR, TILTED, START, np.array([elevation]), 0.2)
    family = shot_family(AIR, TILTED, START, STANDING, 0.2)
    (found,) = aims_at_elevation(family, elevation)
    assert standing is not None
    assert found.aim.speed == pytest.approx(standing.speed, abs=1e-7)
    assert found.aim.azimuth == pytest.approx(standing.azimuth, abs=1e-7)
    assert arrives(family, TILTED, found)
    assert nearest_aim(family, standing, Limits()).aim.speed == pytest.approx(standing.speed, abs=1e-5)  # type: ignore[union-attr]


@given(velocities, st.floats(math.radians(40), math.radians(70)))
@few
def test_without_air_at_a_fixed_elevation(velocity: tuple[float, float], elevation: float) -> None:
    """u = (D/T - V, h/T + g T/2); its elevation makes a quartic in 1/T, solved here by its roots."""
    d, h, (vx, vy), t = 4.0, 1.4, velocity, math.tan(elevation)
    # (h s + g/(2 s))^2 = tan^2 ((d s - vx)^2 + vy^2), times s^2
    quartic = [h * h - (t * d) ** 2, 2 * t * t * d * vx, h * G - t * t * (vx * vx + vy * vy), 0.0, G * G / 4]
    slowness = np.roots(quartic)
    times = sorted(1 / s.real for s in slowness if abs(s.imag) < 1e-9 * abs(s) and s.real > 0)
    family = shot_family(VACUUM, RING, START, Motion(velocity), 0.2)
    reachable = [time for time in times if family.times[0] < time < family.times[-1]]
    found = aims_at_elevation(family, elevation)
    assert [one.time for one in found] == pytest.approx(reachable, abs=1e-9)
    for one in found:
        own = np.array([d / one.time - vx, -vy, h / one.time + G * one.time / 2])
        assert one.aim.speed == pytest.approx(np.linalg.norm(own), abs=1e-9)
        assert math.cos(one.aim.azimuth - math.atan2(own[1], own[0])) == pytest.approx(1.0, abs=1e-12)


@given(velocities, st.floats(6, 14))
@few
def test_without_air_at_a_fixed_speed(velocity: tuple[float, float], speed: float) -> None:
    """|u|^2 = s^2 is a quartic in T; its real roots are all the answers there are."""
    d, h, (vx, vy) = 4.0, 1.4, velocity
    quartic = [G * G / 4, 0.0, vx * vx + vy * vy + h * G - speed * speed, -2 * d * vx, d * d + h * h]
    roots = [r for r in np.roots(quartic) if abs(r.imag) < 1e-6]
    times = sorted(r.real for r in roots if r.real > 0)
    if any(abs(a - b) < 1e-3 for a, b in itertools.pairwise(times)):
        return  # at the least speed itself two answers are one
    family = shot_family(VACUUM, RING, START, Motion(velocity), 0.2)
    assert [one.time for one in aims_at_speed(family, speed)] == pytest.approx(times, abs=1e-8)


@given(st.floats(-2.5, 2.5), st.floats(-3, 3), st.floats(-3, 3))
@few
def test_mirrored_motion_mirrors_the_aim(toward: float, across: float, turn: float) -> None:
    model = AIR
    left = shot_family(model, RING, START, Motion((toward, across), turn, (0.1, 0.2)), 0.2)
    right = shot_family(model, RING, START, Motion((toward, -across), -turn, (0.1, -0.2)), 0.2)
    for one, other in zip(aims_at_elevation(left, 1.0), aims_at_elevation(right, 1.0), strict=True):
        assert one.aim.speed == pytest.approx(other.aim.speed, abs=1e-7)
        assert one.aim.azimuth == pytest.approx(-other.aim.azimuth, abs=1e-7)


def test_an_independent_integrator_arrives_too() -> None:
    wind = (0.8, -0.5, 0.0)
    model = flight_model(FOAM, Weather(wind=wind))
    motion = Motion((1.5, -2.0), 2.0, (0.15, -0.2))
    family = shot_family(model, TILTED, START, motion, 0.25)
    k = model.density * math.pi * FOAM.radius**2 / (2 * FOAM.mass)
    g = model.gravity * (1 - model.density * math.pi * FOAM.diameter**3 / 6 / FOAM.mass)
    decay = FOAM.spin_decay * model.density * math.pi * FOAM.radius**2 / (2 * FOAM.inertia_factor * FOAM.mass)

    def rate(_: float, y: np.ndarray) -> np.ndarray:
        u, w = y[3:6] - wind, y[6:9]
        speed, turning = np.linalg.norm(u), np.linalg.norm(w)
        s = FOAM.radius * turning / speed
        side = np.cross(w / turning, u)
        pull = -k * 0.47 * speed * u + k * s / (2.32 * s + 0.4) * speed * side
        return np.concatenate([y[3:6], pull - [0, 0, g], -decay * speed * w])

    shots = [*aims_at_elevation(family, 0.95), *aims_at_speed(family, 9.0)]
    assert len(shots) == 3
    for shot in shots:
        velocity, spin = shot.ball(FOAM.radius)
        flown = solve_ivp(
            rate, (0, shot.time), [*START, *velocity, *spin], method="DOP853", rtol=1e-12, atol=1e-12
        )
        np.testing.assert_allclose(flown.y[:3, -1], TILTED.centre, rtol=0, atol=1e-6)


def test_a_lead_by_the_textbook() -> None:
    # across at V with a level throw u: sin(lead) = V/u; drive along y past a wall at 4 m, no drop asked for
    family = shot_family(VACUUM, WALL, START, Motion((0.0, 2.0)), 0.0)
    for one in aims_at_speed(family, 9.0):
        level = one.aim.speed * math.cos(one.aim.elevation)
        assert math.sin(-one.aim.azimuth) == pytest.approx(2.0 / level, abs=1e-9)
        assert math.tan(-one.aim.azimuth) == pytest.approx(2.0 * one.time / 4.0, abs=1e-9)


def test_least_change_is_least_and_within_the_limits() -> None:
    (standing,) = aims_through(AIR, TILTED, START, np.array([1.0]), 0.2)
    assert standing is not None
    family = shot_family(AIR, TILTED, START, Motion((1.5, 1.0)), 0.2)
    best = nearest_aim(family, standing, Limits())
    assert best is not None
    change = setting_change(best.aim, standing)
    others = [setting_change(family.setting(v), standing) for v in family.velocities]
    assert change <= min(others) + 1e-9
    assert change < setting_change(aims_at_elevation(family, 1.0)[0].aim, standing)
    held = nearest_aim(family, standing, Limits(elevation_low=1.0, elevation_high=1.0))
    assert held is not None
    assert held.aim.elevation == pytest.approx(1.0, abs=1e-9)
    assert nearest_aim(family, standing, Limits(speed_high=3.0)) is None


def test_when_nothing_reaches() -> None:
    with pytest.raises(NoAnswer, match=r"no launch speed up to 5\.0 m/s reaches"):
        shot_family(AIR, TILTED, START, Motion((-2.0, 0.0)), 0.2, fastest=5.0)
    away = shot_family(AIR, TILTED, START, Motion((-2.0, 0.0)), 0.2)
    slowest = slowest_aim(away)
    assert slowest.aim.speed > slowest_aim(shot_family(AIR, TILTED, START, STANDING, 0.2)).aim.speed
    assert aims_at_speed(away, slowest.aim.speed - 0.01) == ()
    assert len(aims_at_speed(away, slowest.aim.speed + 0.01)) == 2
    with pytest.raises(BadInput, match="release point is at the point aimed at"):
        shot_family(AIR, TILTED, np.array(TILTED.centre), STANDING, 0.2)


def test_what_is_in_the_way_counts() -> None:
    family = shot_family(AIR, TILTED, START, Motion((0.0, 1.5)), 0.2)
    (shot,) = aims_at_elevation(family, 1.0)
    assert arrives(family, TILTED, shot)
    high = Prism("gate", ((1.9, -2), (2.1, -2), (2.1, 2), (1.9, 2)), 0.0, 3.0)
    assert not arrives(family, TILTED, shot, [high])
    behind = Target("behind", TILTED.centre, 0.0, -0.9, radius=0.4)
    assert not arrives(family, behind, shot)


def test_motion_must_be_numbers() -> None:
    with pytest.raises(BadInput, match="is no motion"):
        Motion((math.nan, 0.0))
