"""The scatter of a shot on the move against closed forms, and its two computations against each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.flight.chance import Aim, Scatter, Surroundings, linear_shots
from shotwright.flight.model import flight_model
from shotwright.flight.moving import STANDING, Motion, MovingAim
from shotwright.flight.moving_aims import aims_at_elevation
from shotwright.flight.moving_chance import (
    AZIMUTH,
    COLUMNS,
    ELEVATION,
    SPEED,
    TIME,
    TURN,
    VELOCITY_X,
    VELOCITY_Y,
    MotionErrors,
    X,
    Y,
    departed_launches,
    moving_hits,
    moving_shot,
)
from shotwright.flight.moving_family import shot_family
from shotwright.game.records import Ball, CoefficientLaw, Target, Weather

FOAM = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"), spin_decay=0.05)
AIR = flight_model(FOAM, Weather())
VACUUM = flight_model(FOAM, Weather(), density=0.0, buoyancy=False)
START = np.array([0.0, 0.0, 0.6])
WALL = Target("wall", (4.0, 0.0, 2.0), math.pi, 0.0, corners=((-0.5, -5), (0.5, -5), (0.5, 5), (-0.5, 5)))
RING = Target("ring", (4.0, 0.0, 2.0), math.pi, math.pi / 2, radius=0.4)
MOTION = Motion((1.2, -1.8), 1.5, (0.2, 0.1))
NONE = Scatter(0.0, 0.0, 0.0)
ALONE = Surroundings()


def shot(model=AIR, target=RING, motion=MOTION, elevation=1.0):
    family = shot_family(model, target, START, motion, 0.2)
    return aims_at_elevation(family, elevation)[0]


def test_without_motion_it_is_the_scatter_of_the_standing_shot() -> None:
    moving = shot(motion=STANDING)
    found = moving_shot(AIR, RING, moving)
    (standing,) = linear_shots(AIR, RING, [moving.aim])
    assert standing is not None
    np.testing.assert_allclose(found.crossing, standing.crossing, atol=1e-8)
    np.testing.assert_allclose(found.jacobian[:, :3], standing.jacobian[:, :3], rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(found.jacobian[:, 3], standing.spin_parameter_effect, rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(found.jacobian[:, 4:8], standing.jacobian[:, 4:8], rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(found.jacobian[:, [TURN, TIME]][:, 1], 0.0, atol=1e-9)
    scatter, around = Scatter(0.02, 0.01, 0.015), Surroundings(0.03, 0.01, 0.002, 0.001, 0.02)
    ours = found.chance(scatter, around, MotionErrors())
    assert ours == pytest.approx(standing.chance(scatter, around), abs=1e-6)


def test_derivatives_without_air() -> None:
    """Onto an upright plane at D: T = D/v_x, u = -(y + v_y T), w = z + v_z T - g T^2/2, by hand."""
    motion = Motion((1.0, -2.0), 0.8, (0.3, -0.1))
    moving = shot(VACUUM, WALL, motion)
    found = moving_shot(VACUUM, WALL, moving).jacobian
    (vx, vy, vz), t = moving.ball(FOAM.radius)[0], moving.time
    fall = vz - 9.80665 * t
    np.testing.assert_allclose(found[:, VELOCITY_X], [vy * t / vx, -fall * t / vx], rtol=1e-7)
    np.testing.assert_allclose(found[:, VELOCITY_Y], [-t, 0.0], atol=1e-8)
    np.testing.assert_allclose(found[:, X], [vy / vx, -fall / vx], rtol=1e-7)
    np.testing.assert_allclose(found[:, Y], [-1.0, 0.0], atol=1e-8)
    # a turn rate acts through the lever alone: (0.1, 0.3) m/s for each rad/s
    np.testing.assert_allclose(
        found[:, TURN], 0.1 * found[:, VELOCITY_X] + 0.3 * found[:, VELOCITY_Y], rtol=1e-7, atol=1e-8
    )
    # dt later: moved by the release point's velocity, turned by Omega dt, the lever's velocity turned too
    px, py = motion.release_velocity[:2]
    lever = -0.8 * 0.8 * np.array([0.3, -0.1])
    by_hand = (
        px * found[:, X] + py * found[:, Y] + 0.8 * found[:, AZIMUTH]
        + lever[0] * found[:, VELOCITY_X] + lever[1] * found[:, VELOCITY_Y]
    )  # fmt: skip
    np.testing.assert_allclose(found[:, TIME], by_hand, rtol=1e-6, atol=1e-7)


def test_the_moment_of_release_by_complex_numbers() -> None:
    """The robot as a plane of complex numbers: centre + lever e^(i Omega t), differentiated by hand."""
    motion = Motion((0.7, -0.4), 3.0, (0.25, -0.15))
    moving = MovingAim(Aim(START, 8.0, 0.9, 0.3, 0.2), motion, 1.0)
    for late in (-0.05, 0.02, 0.3):
        departures = np.zeros((1, len(COLUMNS)))
        departures[0, TIME] = late
        found = departed_launches(AIR, moving, departures)
        lever, turned = complex(*motion.offset), np.exp(1j * motion.turn_rate * late)
        place = complex(*motion.velocity) * late + lever * (turned - 1)
        speed = complex(*motion.velocity) + 1j * motion.turn_rate * lever * turned
        throw = 8.0 * math.cos(0.9) * np.exp(0.3j) * turned
        assert complex(*found.point[0, :2]) == pytest.approx(place, abs=1e-14)
        assert complex(*found.velocity[0, :2]) == pytest.approx(speed + throw, abs=1e-13)
        assert found.velocity[0, 2] == pytest.approx(8.0 * math.sin(0.9))


def test_the_chance_without_air_through_a_slot() -> None:
    """Errors across alone, onto a slot far higher than they reach: one normal integral."""
    motion = Motion((0.0, 2.0))
    moving = shot(VACUUM, WALL, motion)
    found = moving_shot(VACUUM, WALL, moving)
    # the ball comes square onto the slot, so its half width is 0.5 m less the radius
    half = 0.5 - FOAM.radius
    direction = moving.ball(FOAM.radius)[0]
    assert direction[1] == pytest.approx(0.0, abs=1e-8)
    place, late, error = 0.05, 0.03, 0.2
    got = found.chance(NONE, Surroundings(place_sd=place), MotionErrors(velocity=error, release_time=late))
    sd = math.sqrt(place**2 + (2.0 * late) ** 2 + (error * moving.time) ** 2)
    assert got[0] == pytest.approx(1 - 2 * norm.sf(half / sd), abs=1e-4)


@pytest.mark.parametrize("model", [AIR, VACUUM], ids=["air", "no air"])
def test_flown_and_linear_agree_where_errors_are_small(model) -> None:
    moving = shot(model)
    found = moving_shot(model, RING, moving)
    scatter, around = (
        Scatter(0.01, 0.008, 0.01, 0.002, 0.001, -0.002),
        Surroundings(0.02, 0.005, 0.001, 0.0, 0.01),
    )
    errors = MotionErrors(0.08, 0.1, 0.02)
    normals = np.random.default_rng(5).standard_normal((20_000, len(COLUMNS)))
    deviations, means = found.deviations(scatter, around, errors), found.means(scatter)
    flown = moving_hits(model, RING, moving, deviations, means, normals)
    chance = found.chance(scatter, around, errors)[0]
    assert 0.5 < chance < 0.99
    assert flown.mean() == pytest.approx(
        chance, abs=0.012
    )  # three standard errors and the bend of the flight


def test_the_chance_falls_with_each_error() -> None:
    found = moving_shot(AIR, RING, shot())
    scatter = Scatter(0.015, 0.01, 0.01)
    for name in ("velocity", "turn_rate", "release_time"):
        chances = [
            float(found.chance(scatter, ALONE, MotionErrors(**{name: sd}))[0])
            for sd in (0.0, 0.05, 0.1, 0.2, 0.4)
        ]
        assert chances == sorted(chances, reverse=True)
        assert chances[0] - chances[-1] > 0.01, name


def test_shares_are_shares() -> None:
    found = moving_shot(AIR, RING, shot())
    scatter = Scatter(np.array([0.01, 0.02]), np.array([0.01, 0.01]), np.array([0.01, 0.02]))
    shares = found.shares(scatter, ALONE, MotionErrors(0.1, 0.0, 0.02))
    assert shares.sum() == pytest.approx(1.0)
    assert shares[[SPEED, ELEVATION, AZIMUTH, VELOCITY_X, VELOCITY_Y, TIME]].min() > 0
    assert shares[TURN] == 0
    assert found.shares(NONE, ALONE, MotionErrors()).sum() == 0


def test_what_can_not_be() -> None:
    with pytest.raises(BadInput, match="a standard deviation is 0 or more"):
        MotionErrors(velocity=-0.1)
    away = MovingAim(Aim(START, 3.0, 0.9, math.pi, 0.0), STANDING, 1.0)
    with pytest.raises(NoAnswer, match="grazes"):
        moving_shot(AIR, RING, away)
