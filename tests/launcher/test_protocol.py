"""The launcher protocol: inputs with spreads, releases placed on the field."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.flight.model import launch_vectors
from shotwright.game.records import Ball, CoefficientLaw
from shotwright.launcher.protocol import Amount, Mounted, amounts_of, ball_inputs, draw_inputs, input_arrays
from shotwright.launcher.release import LIMIT_WORDS, Limit, Releases, spin_vectors

BALL = Ball(
    "test", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("constant", 0.0), 0.002, 0.003
)
MOUNT = Mounted(name="a", elevation=Amount(0.8, 0.01), release_height=Amount(0.5))


def releases(speed: float, elevation: float, azimuth: float, spin: np.ndarray) -> Releases:
    one = np.ones(1)
    zero = np.zeros(1)
    return Releases(
        speed * one, elevation * one, azimuth * one, spin, np.array([[0.1, 0.02, 0.5]]), zero, zero, zero,
        zero, {}, np.zeros((1, 0)), np.zeros(1, np.uint8),
    )  # fmt: skip


def test_inputs_are_the_records_amounts_then_the_balls() -> None:
    names = [one.name for one in MOUNT.inputs(BALL)]

    assert names == [
        "elevation",
        "release_height",
        "azimuth",
        "ball_diameter",
        "ball_mass",
        "inertia_factor",
    ]


def test_changed_amounts_keep_their_spread() -> None:
    changed = MOUNT.with_amounts({"elevation": 0.7, "azimuth": Amount(0.1, 0.2, "calibrated")})

    assert changed.elevation == Amount(0.7, 0.01)
    assert changed.azimuth == Amount(0.1, 0.2, "calibrated")


def test_unknown_or_impossible_amounts_are_told() -> None:
    with pytest.raises(BadInput, match="rim_speed: no such amount; 'a' has azimuth, elevation"):
        MOUNT.with_amounts({"rim_speed": 3.0})
    with pytest.raises(BadInput, match="release height: -1 m is out of range"):
        amounts_of(MOUNT.with_amounts({"release_height": -1.0}))


def test_draws_have_the_stated_spread() -> None:
    draws = draw_inputs(MOUNT, BALL, 40_000, np.random.default_rng(1))  # type: ignore[arg-type]

    # 5 standard errors of a mean and of a standard deviation
    assert abs(draws["elevation"].mean() - 0.8) < 5 * 0.01 / math.sqrt(40_000)
    assert abs(draws["elevation"].std() / 0.01 - 1) < 5 / math.sqrt(80_000)
    assert (draws["azimuth"] == 0).all()


def test_given_inputs_are_spread_over_the_shots() -> None:
    filled = input_arrays(MOUNT, BALL, {"elevation": [0.1, 0.2, 0.3]})  # type: ignore[arg-type]

    assert filled["elevation"].tolist() == [0.1, 0.2, 0.3]
    assert filled["ball_mass"].tolist() == [0.14] * 3
    assert len(ball_inputs(BALL)) == 3


@given(
    speed=st.floats(0, 30),
    elevation=st.floats(-1.4, 1.4),
    azimuth=st.floats(-1, 1),
    aim=st.floats(-3, 3),
    back=st.floats(-200, 200),
)
@settings(max_examples=50, deadline=None)
def test_placing_on_the_field_agrees_with_the_flights_own_vectors(
    speed: float, elevation: float, azimuth: float, aim: float, back: float
) -> None:
    shot = releases(speed, elevation, azimuth, spin_vectors(elevation, azimuth, back))
    velocity, spin = launch_vectors(speed, elevation, azimuth + aim, back)
    placed = shot.in_field(2.0, 3.0, aim)

    np.testing.assert_allclose(placed[1], velocity, atol=1e-12)
    np.testing.assert_allclose(placed[2], spin, atol=1e-11)
    np.testing.assert_allclose(shot.backspin, back, atol=1e-11)
    assert math.isclose(math.hypot(*(placed[0][0, :2] - [2, 3])), math.hypot(0.1, 0.02), rel_tol=1e-12)


@given(elevation=st.floats(-1.4, 1.4), azimuth=st.floats(-3, 3), parts=st.tuples(*[st.floats(-9, 9)] * 3))
@settings(max_examples=50, deadline=None)
def test_spin_parts_come_back_by_projection(
    elevation: float, azimuth: float, parts: tuple[float, float, float]
) -> None:
    spin = spin_vectors(elevation, azimuth, *parts)[0]
    forward = np.array(
        [
            math.cos(elevation) * math.cos(azimuth),
            math.cos(elevation) * math.sin(azimuth),
            math.sin(elevation),
        ]
    )
    left = np.array([-math.sin(azimuth), math.cos(azimuth), 0.0])

    np.testing.assert_allclose(
        [-spin @ left, spin @ np.cross(forward, left), spin @ forward], parts, atol=1e-12
    )


def test_every_limit_has_its_words() -> None:
    assert set(LIMIT_WORDS) == set(Limit)
