"""Strikes off the centre, throwing arms and rubber: laws, limits, an independent integrator."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from shotwright.launcher.arm import drive_length, drive_torque, spring_energy, throw
from shotwright.launcher.spring import rubber_energy, rubber_force
from shotwright.launcher.tip import free_strike, greatest_height, guided_strike

SPEED = st.floats(1, 20)
MASS = st.floats(0.05, 0.6)
ALPHA = st.floats(0.4, 2 / 3)
PART = st.floats(-0.9, 0.9)
BOUNCE = st.floats(0, 1)
GRIP = st.floats(0.05, 1.5)
RADIUS = 0.05


@settings(max_examples=80, deadline=None)
@given(SPEED, MASS, MASS, ALPHA, PART, BOUNCE, GRIP)
def test_a_strike_keeps_momentum_and_gives_no_energy(u, M, m, alpha, part, e, mu):
    for strike in (guided_strike, free_strike):
        shot = strike(u, M, m, RADIUS, alpha, part * RADIUS, restitution=e, grip=mu)
        along = m * float(shot.speed) * math.cos(float(shot.direction))
        assert M * (u - float(shot.hammer_speed)) == pytest.approx(along, rel=1e-9)
    guided = guided_strike(u, M, m, RADIUS, alpha, part * RADIUS, restitution=e, grip=mu)
    assert float(guided.loss) >= -1e-9


@settings(max_examples=60, deadline=None)
@given(SPEED, MASS, MASS, ALPHA, BOUNCE, GRIP)
def test_through_the_centre_both_are_the_plain_strike(u, M, m, alpha, e, mu):
    wanted = (1 + e) * M * u / (M + m)
    for strike in (guided_strike, free_strike):
        shot = strike(u, M, m, RADIUS, alpha, 0.0, restitution=e, grip=mu)
        assert float(shot.speed) == pytest.approx(wanted)
        assert float(shot.spin) == 0.0
        assert float(shot.direction) == 0.0


@settings(max_examples=60, deadline=None)
@given(SPEED, MASS, MASS, ALPHA, st.floats(0.01, 0.9), BOUNCE, GRIP)
def test_above_and_below_mirror_each_other(u, M, m, alpha, part, e, mu):
    for strike in (guided_strike, free_strike):
        up, down = (
            strike(u, M, m, RADIUS, alpha, side * part * RADIUS, restitution=e, grip=mu) for side in (1, -1)
        )
        assert float(up.speed) == pytest.approx(float(down.speed))
        assert float(up.spin) == pytest.approx(-float(down.spin))
        assert float(up.direction) == pytest.approx(-float(down.direction))
        if strike is guided_strike:
            assert float(down.spin) > 0  # below the centre is backspin
        else:
            assert float(up.direction) < 0


@settings(max_examples=60, deadline=None)
@given(SPEED, MASS, MASS, ALPHA, PART, st.floats(0, 0.5), GRIP)
def test_a_free_ball_gains_no_energy_at_a_dull_strike(u, M, m, alpha, part, e, mu):
    assert float(free_strike(u, M, m, RADIUS, alpha, part * RADIUS, restitution=e, grip=mu).loss) > 0


def test_restitution_holds_at_the_contact() -> None:
    shot = guided_strike(12, 0.2, 0.14, RADIUS, 0.4, 0.3 * RADIUS, restitution=0.6)
    parting = float(shot.speed) - float(shot.spin) * 0.3 * RADIUS - float(shot.hammer_speed)
    assert parting / 12 == pytest.approx(0.6)


def test_a_tip_that_slips_is_marked_and_grips_up_to_its_limit() -> None:
    limit = float(greatest_height(RADIUS, 0.5))
    shot = guided_strike(12, 0.2, 0.14, RADIUS, 0.4, [0.99 * limit, 1.01 * limit], restitution=0.6, grip=0.5)
    assert shot.slips.tolist() == [False, True]
    assert float(shot.spin[1]) == pytest.approx(float(shot.spin[0]), rel=0.02)


@settings(max_examples=60, deadline=None)
@given(st.floats(100, 3000), st.floats(-40, 20), st.floats(30, 85), MASS, st.floats(0, 0.6))
def test_arm_books_close(k, start, stop, m, arm_mass):
    energy = 0.5 * k * 0.1**2
    shot = throw(
        energy,
        0.012,
        0.35,
        m,
        arm_mass=arm_mass,
        arm_centre=0.15,
        start=math.radians(start),
        stop=math.radians(stop),
        radius=RADIUS,
    )
    if shot.fires:
        assert float(shot.ball + shot.arm + shot.lifting) == pytest.approx(energy, rel=1e-9)
    else:
        assert float(shot.speed) == 0.0


def test_arm_agrees_with_its_equation_of_motion() -> None:
    lever, anchor, k, rest = 0.08, 0.20, 1200.0, 0.12
    inertia, length, m, arm_mass, centre = 0.012, 0.35, 0.14, 0.3, 0.15
    whole = inertia + m * length**2

    def motion(_t: float, y: np.ndarray) -> list[float]:
        phi, turning = y
        gamma = math.radians(130) - phi
        force = k * max(float(drive_length(lever, anchor, gamma)) - rest, 0.0)
        torque = float(drive_torque(force, lever, anchor, gamma))
        weight = (arm_mass * centre + m * length) * 9.80665 * math.cos(phi)
        return [turning, (torque - weight) / whole]

    def stop(_t: float, y: np.ndarray) -> float:
        return float(y[0] - math.radians(70))

    stop.terminal = True  # type: ignore[attr-defined]
    way = solve_ivp(motion, (0, 1), [math.radians(-20), 0.0], "DOP853", events=stop, rtol=1e-11, atol=1e-12)
    given_energy = float(
        spring_energy(k, rest, drive_length(lever, anchor, math.radians(150)))
        - spring_energy(k, rest, drive_length(lever, anchor, math.radians(60)))
    )
    found = throw(
        given_energy,
        inertia,
        length,
        m,
        arm_mass=arm_mass,
        arm_centre=centre,
        start=math.radians(-20),
        stop=math.radians(70),
    )
    assert float(found.turning) == pytest.approx(way.y[1, -1], rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 0.6), st.floats(1.05, 4))
def test_rubber_energy_is_the_area_under_its_pull(rest: float, stretch: float) -> None:
    area, modulus = 5e-5, 4e5
    work, _ = quad(lambda length: float(rubber_force(length, rest, area, modulus)), rest, rest * stretch)
    assert float(rubber_energy(rest * stretch, rest, area, modulus)) == pytest.approx(work, rel=1e-7)
    assert float(rubber_force(0.9 * rest, rest, area, modulus)) == 0.0
