"""Winding a piston: the quasi-static closed form, an independent integrator, closed books."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.powertrain.motor import generic_motors
from shotwright.powertrain.supply import Battery, Supply, generic_battery
from shotwright.powertrain.train import Train, stage, worm
from shotwright.powertrain.wheel_duty import Burst, Drive, Wheel
from shotwright.powertrain.winding_duty import Turn, even_turn, run_winding, spring_turn

COLD = dataclasses.replace(generic_motors()[1], copper_coefficient=0.0, magnet_coefficient=0.0)
IDEAL = Supply(Battery("ideal", 1e9, (1.0,), (12.0,), (0.0,)))
DRIVE = Drive(COLD, 1, Train((stage("spur", 300, 0.8),)), IDEAL, Wheel(1e-4))


def test_a_turn_of_constant_torque_settles_at_the_closed_form() -> None:
    """closed form: I = I0 + T/(eta G K), w = (V - I R)/(K G)."""
    found = run_winding(DRIVE, even_turn(1.232754506086), [Burst(0.0, 6)], 20.0)
    current = 2 + 1.232754506086 / (0.8 * 300 * 0.006)
    speed = (12 - 0.15 * current) / (0.006 * 300)
    assert found.last_turn_s == pytest.approx(2 * math.pi / speed, rel=1e-9)
    assert found.record.motor_a[-1] == pytest.approx(current, rel=1e-9)
    assert found.heat_per_turn_j == pytest.approx(0.15 * current**2 * found.last_turn_s, rel=1e-9)
    assert found.run.energy_j["shots"] == pytest.approx(6 * 2 * math.pi * 1.232754506086, rel=1e-12)


def test_against_an_independent_integrator() -> None:
    angles = np.linspace(0, 2 * math.pi, 13)
    turn = spring_turn(900.0, 0.04, np.linspace(0.02, 0.008, 13), angles, friction=2.0)
    drive = dataclasses.replace(DRIVE, train=Train((stage("spur", 60, 0.8),)), wheel=Wheel(0.004))
    found = run_winding(drive, turn, [Burst(0.0, 1)], 5.0)
    push, joined = 0.8 * 60 * 0.006, 0.004 + 0.8 * 60**2 * 1.5e-5

    def law(_: float, y: np.ndarray) -> list[float]:
        i = (12 - 0.006 * 60 * y[1]) / 0.15
        torque = turn.torques[min(int(np.searchsorted(angles, y[0], "right")) - 1, 11)]
        return [y[1], (push * (i - 2) - torque) / joined, 0.15 * i * i]

    def done(_: float, y: np.ndarray) -> float:
        return y[0] - 2 * math.pi

    done.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(law, (0, 5), [0, 0, 0], events=done, rtol=1e-9, atol=1e-11, max_step=2e-4)
    assert found.first_turn_s == pytest.approx(run.t[-1], rel=1e-6)
    assert found.heat_per_turn_j == pytest.approx(run.y[2, -1], rel=1e-6)
    assert found.record.speed_rad_s[-1] == pytest.approx(run.y[1, -1], rel=1e-6)


@settings(max_examples=30, deadline=None)
@given(
    torques=st.lists(st.floats(0, 2.0), min_size=1, max_size=6),
    ratio=st.floats(60, 400),
    limit=st.floats(12, 90),
    friction=st.floats(0, 0.1),
    locks=st.booleans(),
)
def test_books_close(torques: list[float], ratio: float, limit: float, friction: float, locks: bool) -> None:
    train = Train((worm(ratio, math.radians(3), 0.1),) if locks else (stage("spur", ratio, 0.7),))
    supply = Supply(
        generic_battery("NiMH", 10, 3.0, 0.1), wiring=0.02, current_limit=limit, other_current=4.0
    )
    drive = Drive(generic_motors()[1], 1, train, supply, Wheel(1e-3, friction))
    turn = Turn(tuple(np.linspace(0, 2 * math.pi, len(torques) + 1).tolist()), tuple(torques))
    try:
        found = run_winding(drive, turn, [Burst(1.0, 2), Burst(30.0, 1)], 60.0)
    except NoAnswer:
        return
    assert abs(found.run.balance) < 1e-9
    assert abs(found.run.heat_balance) < 1e-9
    assert found.run.energy_j["shots"] == pytest.approx(3 * turn.work, rel=1e-9, abs=1e-12)


@settings(max_examples=30, deadline=None)
@given(torque=st.floats(0.05, 3.0), more=st.floats(1.001, 2.0), ratio=st.floats(80, 400))
def test_a_harder_turn_is_never_quicker_nor_cooler(torque: float, more: float, ratio: float) -> None:
    drive = dataclasses.replace(DRIVE, train=Train((stage("spur", ratio, 0.8),)))
    easy, hard = (
        run_winding(drive, even_turn(t, 5.5), [Burst(0.0, 3)], 60.0) for t in (torque, more * torque)
    )
    assert hard.last_turn_s >= easy.last_turn_s
    assert hard.heat_per_turn_j >= easy.heat_per_turn_j
    assert hard.torque_margin < easy.torque_margin


def test_it_says_where_it_stalls() -> None:
    weak = dataclasses.replace(DRIVE, train=Train((stage("spur", 4, 0.8),)))
    turn = Turn((0.0, math.pi, 2 * math.pi), (0.1, 5.0))
    with pytest.raises(NoAnswer, match="degrees into the turn"):
        run_winding(weak, turn, [Burst(0.0, 1)], 5.0)
    with pytest.raises(BadInput, match="below zero"):
        Turn((0.0, 1.0), (-1.0,))
