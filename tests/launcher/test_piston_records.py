"""Spring piston and throwing arm as launchers: they give what their equations give, and close their books."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.game.records import Ball, CoefficientLaw
from shotwright.launcher import arm, piston, tip
from shotwright.launcher.protocol import Amount, draw_inputs, input_arrays
from shotwright.launcher.release import Limit
from shotwright.launcher.spring import spring_share
from shotwright.launcher.spring_piston import FREE, LINE, SpringPiston
from shotwright.launcher.throwing_arm import ThrowingArm

BALL = Ball("ball", 0.15, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("none"), 0.001, 0.003)
PISTON = SpringPiston(
    name="piston",
    elevation=Amount(math.radians(50), 0.01),
    release_height=Amount(0.5),
    action="push",
    stiffness=Amount(900, 9),
    preload=Amount(0.04),
    stroke=Amount(0.09, 0.001),
    piston_mass=Amount(0.18),
    spring_mass=Amount(0.06),
    friction=Amount(12, 2),
    gap=Amount(0.002, 0.001),
    stop_depth=Amount(0.003),
)
STRIKER = dataclasses.replace(
    PISTON, action="strike", tip=LINE, strike_height=Amount(-0.02, 0.002), gap=Amount(0.0)
)
ARM = ThrowingArm(
    name="arm",
    elevation=Amount(math.radians(20), 0.01),
    release_height=Amount(0.6),
    drive="spring",
    stiffness=Amount(1200, 12),
    rest_length=Amount(0.12),
    lever=Amount(0.08),
    anchor=Amount(0.20),
    anchor_angle=Amount(math.radians(130)),
    cocked_angle=Amount(math.radians(-20), 0.005),
    arm_length=Amount(0.35),
    arm_inertia=Amount(0.012),
    arm_mass=Amount(0.3),
    arm_centre=Amount(0.15),
)
RUBBER = dataclasses.replace(
    ARM, drive="rubber", shear_modulus=Amount(4e5), section=Amount(2e-4), returned=Amount(0.85, 0.02)
)
ALL = (PISTON, STRIKER, dataclasses.replace(STRIKER, tip=FREE), ARM, RUBBER)


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(ALL), st.integers(0, 2**31))
def test_books_of_drawn_shots_close(one, seed):
    release = one.release(draw_inputs(one, BALL, 40, np.random.default_rng(seed)))
    spent = release.ball_energy + sum(release.losses.values())
    assert spent == pytest.approx(release.energy_taken + release.motor_work, rel=1e-9, abs=1e-12)
    assert np.all(release.stored_energy >= release.energy_taken)
    assert np.all(np.isfinite(release.speed))
    assert release.spin.shape == release.point.shape == (40, 3)


def test_ball_energy_is_that_of_its_speed_and_spin() -> None:
    for one in (STRIKER, dataclasses.replace(STRIKER, tip=FREE), ARM):
        release = one.release(input_arrays(one, BALL))
        inertia = BALL.inertia_factor * BALL.mass * BALL.radius**2
        spin = np.linalg.norm(release.spin, axis=1)
        wanted = 0.5 * BALL.mass * release.speed**2 + 0.5 * inertia * spin**2
        assert release.ball_energy == pytest.approx(wanted, rel=1e-12)


def test_pushed_as_the_equation_says() -> None:
    found = PISTON.release(input_arrays(PISTON, BALL))
    wanted = piston.push(
        900, 0.04, 0.09, 0.18, 0.06, 0.14, friction=12, elevation=math.radians(50), gap=0.002
    )
    assert float(found.speed[0]) == pytest.approx(float(wanted.speed))
    assert found.limit.tolist() == [Limit.PUSHED]
    exact = dataclasses.replace(PISTON, spring_inertia="exact frequency")
    share = float(spring_share(0.06, 0.32))
    slower = piston.push(
        900,
        0.04,
        0.09,
        0.18,
        0.06,
        0.14,
        friction=12,
        elevation=math.radians(50),
        gap=0.002,
        spring_share=share,
    )
    assert float(exact.release(input_arrays(exact, BALL)).speed[0]) == pytest.approx(float(slower.speed))


def test_a_guided_strike_below_the_centre_gives_backspin_and_keeps_the_direction() -> None:
    found = STRIKER.release(input_arrays(STRIKER, BALL))
    free = piston.free_piston(900, 0.04, 0.09, 0.18, 0.06, friction=12, elevation=math.radians(50))
    hit = tip.guided_strike(free.piston_speed, 0.2, 0.14, 0.075, 0.4, -0.02, restitution=0.5, grip=0.5)
    assert float(found.speed[0]) == pytest.approx(float(hit.speed))
    assert float(found.backspin[0]) == pytest.approx(float(hit.spin))
    assert float(found.backspin[0]) > 0
    assert float(found.elevation[0]) == pytest.approx(math.radians(50))


def test_a_rigid_tip_below_a_free_ball_raises_its_direction() -> None:
    free = dataclasses.replace(STRIKER, tip=FREE)
    found = free.release(input_arrays(free, BALL, {"strike_height": [-0.02, 0.0, 0.02]}))
    assert np.all(np.diff(found.elevation) < 0)
    assert float(found.elevation[1]) == pytest.approx(math.radians(50))


def test_a_tip_that_slips_and_a_spring_too_weak_are_marked() -> None:
    slips = STRIKER.release(input_arrays(STRIKER, BALL, {"tip_grip": 0.1}))
    assert slips.limit.tolist() == [Limit.TIP_SLIPPED]
    stuck = PISTON.release(input_arrays(PISTON, BALL, {"friction": [12.0, 500.0]}))
    assert stuck.limit.tolist() == [Limit.PUSHED, Limit.NOT_THROWN]
    assert stuck.speed[1] == 0


def test_the_arm_throws_across_itself_with_topspin_and_its_point_moves_on_a_circle() -> None:
    angles = np.radians([10.0, 20.0, 35.0])
    found = ARM.release(input_arrays(ARM, BALL, {"elevation": angles}))
    assert found.backspin == pytest.approx(-found.speed / 0.35)
    pivot = np.array([0.35 * math.sin(math.radians(20)), 0.6 - 0.35 * math.cos(math.radians(20))])
    away = found.point[:, [0, 2]] - pivot
    assert np.hypot(*away.T) == pytest.approx(0.35)
    across = np.column_stack([np.cos(angles), np.sin(angles)])
    assert np.sum(away * across, axis=1) == pytest.approx(0.0, abs=1e-12)
    moved = ARM.with_amounts({"elevation": math.radians(35)})
    there = moved.release(input_arrays(moved, BALL))
    assert there.point[0, 2] == pytest.approx(found.point[2, 2])
    assert there.speed[0] == pytest.approx(found.speed[2])


def test_the_arm_of_the_published_row() -> None:
    heavy = Ball("point", 1e-9, 0.14, CoefficientLaw("none"), CoefficientLaw("none"))
    found = ARM.release(input_arrays(ARM, heavy))
    given_energy = arm.spring_energy(1200, 0.12, arm.drive_length(0.08, 0.2, math.radians(150)))
    assert float(found.stored_energy[0]) == pytest.approx(float(given_energy))
    assert float(found.speed[0]) == pytest.approx(9.593952230499, rel=1e-9)  # closed form, see the row


def test_cautions_name_the_energy_and_the_dangers() -> None:
    spring = " ".join(PISTON.cautions(BALL))
    for part in ("holds 7.61 J", "Never fire without a ball", "eye protection", "3 mm deep"):
        assert part in spring
    thrown = " ".join(ARM.cautions(BALL))
    for part in ("J in its spring", "arm's plane", "eye protection", "never fire it empty"):
        assert part in thrown


@pytest.mark.parametrize(
    ("record", "change", "told"),
    [
        (PISTON, {"strike_height": Amount(0.01)}, 'needs action = "strike"'),
        (STRIKER, {"tip": "centre"}, "off the centre"),
        (PISTON, {"gap": Amount(0.1)}, "never meets"),
        (ARM, {"drive": "rubber"}, "drive by rubber"),
        (ARM, {"cocked_angle": Amount(math.radians(75))}, "past its stop"),
    ],
)
def test_contradictions_are_refused(record, change, told):
    with pytest.raises(BadInput, match=told):
        dataclasses.replace(record, **change)
