"""Tilt and feed: worms, slews against an integration, a pile of balls, rates against events."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.game.records import Ball, CoefficientLaw
from shotwright.powertrain.motor import generic_motors
from shotwright.powertrain.supply import Battery, Supply
from shotwright.powertrain.train import Train, stage
from shotwright.robot.feed import (
    Feed,
    belt_pull,
    dead_time_rate,
    fire_rate,
    jam_factor,
    jam_margin,
    mean_wait,
    traction,
)
from shotwright.robot.slewing import running, slew
from shotwright.robot.tilt import (
    Tilt,
    WormDrive,
    backlash_sd,
    critical_lead,
    locking,
    worm_torques,
)

LAW = CoefficientLaw("constant", 0.5)
BALL = Ball("felt ball", 0.15, 0.165, LAW, LAW, diameter_sd=0.0012)


def worm(lead: float = 3.576334375, friction: float = 0.08, **more: float) -> WormDrive:
    return WormDrive(
        threads=1,
        teeth=30,
        module=0.001,
        diameter=0.001 / math.tan(math.radians(lead)),
        friction=friction,
        static_friction=more.get("static", friction),
        vibration=more.get("vibration", 0.5),
    )


def tilt(**more: object) -> Tilt:
    supply = Supply(Battery("bench", 64800.0, (1.0,), (12.0,), (0.05,)), wiring=0.01)
    given_: dict[str, object] = {
        "mass": 4.0,
        "arm": 0.18,
        "inertia": 0.15,
        "worm": worm(),
        "train": Train((stage("spur", 12, 0.95),)),
        "motor": generic_motors()[0],
        "supply": supply,
    }
    return Tilt(**(given_ | more))  # type: ignore[arg-type]


@settings(max_examples=50, deadline=None)
@given(lead=st.floats(0.5, 40.0), friction=st.floats(0.02, 0.4), vibration=st.floats(0.0, 0.9))
def test_a_worm_locks_where_it_can_not_be_driven_back(lead: float, friction: float, vibration: float) -> None:
    found = locking(worm(lead, friction, vibration=vibration))
    # law: with one friction for rest and motion the margin passes 1 where the back efficiency passes 0
    if abs(found.margin - 1) > 1e-9:
        assert found.locks == (found.back_efficiency < 0)
    assert found.shaken_margin == pytest.approx(found.margin * (1 - vibration))
    assert (found.lead_deg < found.critical_lead_deg) == found.locks or abs(found.margin - 1) < 1e-9
    if found.locks:
        assert found.efficiency < 0.5  # a worm that locks wastes more than half


def test_the_table_of_efficiencies() -> None:
    table = np.loadtxt(Path(__file__).parents[1] / "authorities" / "worm_efficiency.csv", delimiter=",")
    for lead, pressure, printed in table:
        one = dataclasses.replace(worm(lead, 0.05), pressure=math.radians(pressure))
        assert 100 * one.stage.efficiency == pytest.approx(printed, abs=0.05)  # printed digits


def test_efficiency_at_the_critical_lead() -> None:
    lead = critical_lead(0.1)
    found = locking(worm(math.degrees(lead), 0.1))
    # closed form: e = (1 - tan^2 l)/2
    assert found.efficiency == pytest.approx((1 - math.tan(lead) ** 2) / 2, rel=1e-12)
    assert found.margin == pytest.approx(1.0)


def test_lowering_drives_a_locking_worm_and_is_driven_by_another() -> None:
    assert worm_torques(worm(3.0, 0.1), 5.0)[1] > 0
    assert worm_torques(worm(20.0, 0.05), 5.0)[1] < 0


@pytest.mark.parametrize(("start", "end"), [(20.0, 66.0), (45.0, 55.0), (66.0, 20.0)])
def test_a_slew_against_an_integration(start: float, end: float) -> None:
    """The start of a slew, motor and weight integrated: it reaches speed no later than the profile says."""
    one = tilt()
    found = slew(one, math.radians(start), math.radians(end))
    motor, ratio = one.motor, one.train.ratio * one.worm.ratio
    loop = motor.resistance + 0.01 + 0.05
    sign = 1.0 if end > start else -1.0
    ahead = one.train.efficiency * one.worm.stage.efficiency
    whole = one.inertia + ahead * motor.rotor_inertia * ratio**2

    def moves(_: float, y: np.ndarray) -> list[float]:
        amps = (12.0 - motor.constant * ratio * y[1]) / loop
        elevation = math.radians(start) + sign * y[0]
        weight = one.weight_torque(elevation)
        if sign > 0:
            out = ahead * ratio * motor.constant * (amps - motor.free_current) - weight
        else:  # lowering through a locking worm: the motor brings what the friction keeps
            down = worm_torques(one.worm, weight)[1] / one.train.ratio / one.train.efficiency
            out = ahead * ratio * (motor.constant * (amps - motor.free_current) - down)
        return [y[1], out / whole]

    done = solve_ivp(moves, (0, 3), [0.0, 0.0], rtol=1e-9, atol=1e-12, max_step=1e-3)
    steady = math.radians(found.rate_deg_s)
    gone = np.interp(found.time_s, done.t, done.y[0])
    # without stopping it is further than half the braking way beyond the end, or at least there
    assert gone >= math.radians(abs(end - start)) * (1 - 1e-6)
    assert np.max(done.y[1]) >= steady * (1 - 1e-3)
    assert found.time_s < 3 * math.radians(abs(end - start)) / steady + 1.0


def test_a_motor_that_is_too_weak_is_told() -> None:
    with pytest.raises(NoAnswer, match="at most"):
        running(tilt(mass=4000.0), 4000 * 9.8 * 0.18)


def test_backlash_against_draws() -> None:
    drawn = np.random.default_rng(1).uniform(-0.6, 0.6, 200_000)
    assert backlash_sd(1.2) == pytest.approx(drawn.std(), rel=0.005)


def feed(**more: object) -> Feed:
    given_: dict[str, object] = {
        "carrier": "belt and rail",
        "surface_speed": 0.9,
        "pitch": 0.165,
        "length": 0.65,
        "width": 0.156,
        "friction": 0.6,
        "squeeze": 6.0,
        "recovery": 0.3,
    }
    return Feed(**(given_ | more))  # type: ignore[arg-type]


@settings(max_examples=40, deadline=None)
@given(slope=st.floats(0, 1.5), acceleration=st.floats(0, 10), alpha=st.floats(0.4, 0.67))
def test_carrying_forces_obey_newton(slope: float, acceleration: float, alpha: float) -> None:
    found = traction(feed(slope=slope, acceleration=acceleration), BALL.mass, alpha)
    along = found.carried_n + found.guided_n - BALL.mass * 9.80665 * math.sin(slope)
    assert along == pytest.approx(BALL.mass * acceleration, abs=1e-12)
    # rolling: omega' = a/r, so the torque is alpha m r a
    assert found.carried_n - found.guided_n == pytest.approx(alpha * BALL.mass * acceleration, abs=1e-12)


def pile(diameter: float, width: float, friction: float, balls: int) -> float:
    """Force behind a zigzag pile that gives 1 N, balls slipping on the walls, as a linear system.

    Unknown for each ball: the force behind it, along the channel, and that of the wall.
    """
    stagger = math.asin((width - diameter) / diameter)
    size = 2 * balls
    left, right = np.zeros((size, size)), np.zeros(size)
    for i in range(balls):
        # axial: P_(i+1) - P_i - mu N = 0; across: N = (P_i + P_(i+1)) tan(gamma); P are axial parts
        left[2 * i, balls + i] = -friction
        left[2 * i, i] = 1.0
        left[2 * i + 1, balls + i] = 1.0
        left[2 * i + 1, i] = -math.tan(stagger)
        if i == 0:
            right[0], right[1] = 1.0, math.tan(stagger)
        else:
            left[2 * i, i - 1] = -1.0
            left[2 * i + 1, i - 1] = -math.tan(stagger)
    return float(np.linalg.solve(left, right)[balls - 1])


@pytest.mark.parametrize("width", [0.152, 0.16, 0.18])
def test_a_zigzag_pile_against_its_equations(width: float) -> None:
    _, factor = jam_factor(0.15, width, 0.4)
    assert factor**4 == pytest.approx(pile(0.15, width, 0.4, 4), rel=1e-10)


def test_jam_margins() -> None:
    snug, loose = jam_margin(feed(), BALL, 4), jam_margin(feed(width=0.29), BALL, 4)
    assert snug.lock_margin > 5
    assert loose.lock_margin < 1
    assert math.isinf(loose.push_per_ball)
    drawn = np.random.default_rng(2).normal(BALL.diameter, BALL.diameter_sd, 400_000)
    tight = jam_margin(feed(width=0.151), BALL, 4)
    assert tight.too_wide == pytest.approx(np.mean(drawn > 0.151), abs=0.003)


def test_rates_against_events() -> None:
    """Random arrivals, with and without room to wait, event by event."""
    rate, time, balls = 2.0, 0.3, 400_000
    arrivals = np.cumsum(np.random.default_rng(3).exponential(1 / rate, balls))
    free, served = -1.0, 0
    begun, last = np.empty(balls), -time
    for i, when in enumerate(arrivals):
        if when >= free:
            free, served = when + time, served + 1
        last = max(last + time, when)
        begun[i] = last
    assert dead_time_rate(rate, time) == pytest.approx(served / arrivals[-1], rel=0.01)
    wait = mean_wait(rate, time)
    assert wait is not None
    assert wait == pytest.approx(float(np.mean(begun - arrivals)), rel=0.03)
    assert mean_wait(4.0, 0.3) is None


def test_fire_rates() -> None:
    rolling, two = fire_rate(feed(), 0.15), fire_rate(feed(carrier="two belts"), 0.15)
    assert rolling.limited_by == "feed"  # the ball rolls at half the belt's speed
    assert two.limited_by == "launcher"
    assert rolling.capacity == 4
    assert rolling.burst_s == pytest.approx(3 * 0.165 / 0.45)
    with pytest.raises(BadInput, match="less than a ball"):
        fire_rate(feed(pitch=0.1), 0.15)
    assert fire_rate(feed(length=0.1), 0.15).capacity == 0


def test_a_belt_pulls_as_small_pieces_of_it_do() -> None:
    tension, pieces = 60.0, 200_000
    step = math.pi / pieces
    for _ in range(pieces):
        tension -= 0.5 * tension * step  # dT = mu T d(beta)
    assert belt_pull(60.0, 0.5, math.pi) == pytest.approx(60.0 - tension, rel=1e-4)
    assert belt_pull(60.0, 0.5, math.pi, line_mass=0.05, speed=15.0) < belt_pull(60.0, 0.5, math.pi)
    assert dataclasses.replace(feed(), carrier="two belts").ball_speed == 2 * feed().ball_speed
