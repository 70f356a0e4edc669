"""A match of a wheel: closed forms, an independent integrator, and what must always hold."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.powertrain.motor import Motor, SelfResetting, Thermal, generic_motors
from shotwright.powertrain.pieces import catch_up_time, two_nodes
from shotwright.powertrain.supply import Battery, Breaker, Supply, generic_battery
from shotwright.powertrain.train import Stage, Train, stage, worm
from shotwright.powertrain.wheel_duty import (
    STOPS,
    Burst,
    Drive,
    Duty,
    Wheel,
    ball_inertia,
    recovery_time,
    spin_up,
)
from shotwright.powertrain.wheel_match import MatchRun, run_match, trace_match

WARM = generic_motors()[1]
COLD = dataclasses.replace(WARM, copper_coefficient=0.0, magnet_coefficient=0.0)
BENCH = Battery("bench supply", 64800, (1.0,), (12.0,), (0.02,))
TRAIN = Train((stage("spur", 6, 0.9),))
DRIVE = Drive(COLD, 2, TRAIN, Supply(BENCH, wiring=0.01), Wheel(0.002))
BURSTS = tuple(Burst(6.0 * i, 3) for i in range(4))
DUTY = Duty(150.0, 0.00049, BURSTS, match=25.0, feed=0.1)


def books_close(run: MatchRun) -> None:
    assert abs(run.balance) < 1e-9
    assert abs(run.heat_balance) < 1e-9


def hard(stop: str) -> tuple[Drive, Duty]:
    """Everything at once: warmth, charge, limit, other loads, friction, protections."""
    ptc = SelfResetting(0.02, 40.0, 0.9, 398.15)
    supply = Supply(
        generic_battery("NiMH", 10, 3.0, 0.08),
        level=0.9,
        wiring=0.01,
        current_limit=40.0,
        other_current=6.0,
        main_breaker=Breaker(30),
        motor_breaker=Breaker(10, 5.0),
    )
    drive = Drive(dataclasses.replace(WARM, protection=ptc), 2, TRAIN, supply, Wheel(0.002, 0.006))
    return drive, dataclasses.replace(DUTY, stop=stop, brake_resistance=0.05)


@pytest.mark.parametrize("stop", STOPS)
def test_against_an_independent_integrator(stop: str) -> None:
    """scipy's DOP853 with resistance and magnets that follow the temperature at every instant."""
    drive, duty = hard(stop)
    duty = dataclasses.replace(duty, bursts=(Burst(0.0, 2), Burst(1.0, 1)), match=1.4)
    run = run_match(drive, duty, fine=0.0005, coarse=0.0005)
    books_close(run)
    speed, rotor, warm, case, drawn, shots = integrated(drive, duty)
    assert run.winding_k - 293.15 == pytest.approx(warm - 293.15, rel=2e-4)
    assert run.case_k - 293.15 == pytest.approx(case - 293.15, rel=2e-4)
    assert (0.9 - run.level) * drive.supply.battery.charge == pytest.approx(drawn, rel=2e-4)
    found = trace_match(drive, duty, fine=0.0005, coarse=0.0005)[1]
    assert found.speed_rad_s[-1] == pytest.approx(speed, rel=2e-4, abs=1e-6)
    assert shots == sum(one.fired for one in run.bursts)
    assert rotor <= speed + 1e-9


def integrated(drive: Drive, duty: Duty) -> tuple[float, float, float, float, float, int]:
    """The same match, written down again from Kirchhoff and Newton, torque by torque."""
    m, n, th = drive.motor, drive.motors, drive.motor.thermal
    g, eta = drive.train.ratio, drive.train.efficiency
    b, sup = drive.supply.battery, drive.supply
    jw, jm, drag = drive.wheel.inertia, m.rotor_inertia, drive.wheel.friction
    joined = jw + eta * g * g * n * jm
    assert m.protection is not None
    series = sup.wiring + m.protection.resistance

    def electric(y: np.ndarray, w: float, current: float | None) -> tuple[float, float, float, float]:
        r = m.resistance * (1 + 0.00393 * (y[2] - 293.15))
        k = m.constant * (1 - 0.002 * (y[3] - 293.15))
        level = 0.9 - y[4] / b.charge
        v, rb = b.voltage_at(level), b.resistance_at(level)
        full = (v - rb * sup.other_current - k * g * w) / (r + series + n * rb)
        if current is None:
            i = min(full, sup.current_limit)
        else:
            i = current if current >= 0 else k * g * w / (r + series + duty.brake_resistance)
        if current is not None and current <= 0:
            return i, 0.0, r, k
        if i == full:
            return i, n * i, r, k
        power, left = n * i * (i * (r + series) + k * g * w), v - rb * sup.other_current
        return i, (left - math.sqrt(left**2 - 4 * rb * power)) / (2 * rb), r, k

    def heat(y: np.ndarray, i: float, r: float, k: float, q: float) -> list[float]:
        flow = (y[2] - y[3]) / th.winding_to_case
        away = (y[3] - duty.air) / th.case_to_air
        return [
            (i * i * r - flow) / th.winding_capacity,
            (k * m.free_current * g * q + flow - away) / th.case_capacity,
        ]

    def driven(_: float, y: np.ndarray) -> list[float]:
        i, ib, r, k = electric(y, y[0], None)
        a = (eta * g * n * k * (i - m.free_current) - drag) / joined
        return [a, a, *heat(y, i, r, k, y[0]), ib + sup.other_current]

    def catching(_: float, y: np.ndarray) -> list[float]:
        i, ib, r, k = electric(y, y[1], None)
        a = k * (i - m.free_current) / (g * jm)
        return [-drag / jw, a, *heat(y, i, r, k, y[1]), ib + sup.other_current]

    def held(_: float, y: np.ndarray) -> list[float]:
        k = m.constant * (1 - 0.002 * (y[3] - 293.15))
        i, ib, r, k = electric(y, y[0], m.free_current + drag / (eta * g * n * k))
        return [0.0, 0.0, *heat(y, i, r, k, y[0]), ib + sup.other_current]

    def slowing(_: float, y: np.ndarray) -> list[float]:
        still = y[0] <= 0
        i, _ib, r, k = electric(y, max(y[0], 0.0), -1.0 if duty.stop == "brake" else 0.0)
        behind = jw + g * g * n * jm / eta
        a = 0.0 if still else -(g * n * k * (i + m.free_current) / eta + drag) / behind
        return [a, a, *heat(y, i, r, k, max(y[0], 0.0)), sup.other_current]

    def apart(_: float, y: np.ndarray) -> list[float]:
        _i, _ib, r, k = electric(y, 0.0, 0.0)
        a = -k * m.free_current / (g * jm) if y[1] > 0 else 0.0
        return [-drag / jw if y[0] > 0 else 0.0, a, *heat(y, 0.0, r, k, y[1]), sup.other_current]

    def until(law, y, t, end, event=None):  # type: ignore[no-untyped-def]
        if event is not None:
            event.terminal = True
        found = solve_ivp(law, (t, end), y, "DOP853", events=event, rtol=1e-10, atol=1e-12, max_step=0.02)
        return found.y[:, -1], found.t[-1], found.status == 1

    y, t, shots = np.array([0.0, 0.0, duty.air, duty.air, 0.0]), 0.0, 0
    ready = duty.ready * duty.speed
    ends = [*(one.start for one in duty.bursts[1:]), duty.match]
    for burst, end in zip(duty.bursts, ends, strict=True):
        for shot in range(burst.shots):
            if shot == 0 and y[1] < y[0]:
                y, t, _ = until(catching, y, t, end, lambda _, z: z[1] - z[0])
                y[1] = y[0]
            fired = t - duty.feed if shot == 0 else t
            if y[0] < ready:
                y, t, _ = until(driven, y, t, end, lambda _, z: z[0] - ready)
            if fired + duty.feed > t:
                y, t, there = until(driven, y, t, fired + duty.feed, lambda _, z: z[0] - duty.speed)
                if there:
                    y, t, _ = until(held, y, t, fired + duty.feed)
            y[0] = y[1] = y[0] * joined / (joined + duty.ball_inertia)
            shots += 1
        if duty.stop == "keep running":
            y, t, there = until(driven, y, t, end, lambda _, z: z[0] - duty.speed)
            if there:
                y, t, _ = until(held, y, t, end)
            continue
        law = apart if duty.stop == "clutch" else slowing
        y, t, there = until(law, y, t, end, lambda _, z: z[1] - 1e-9)
        if there:
            y[1] = 0.0
            y[0] = y[0] if law is apart else 0.0
            y, t, _ = until(law, y, t, end)
    return float(y[0]), float(y[1]), float(y[2]), float(y[3]), float(y[4]), shots


@settings(max_examples=40, deadline=None)
@given(
    stop=st.sampled_from(STOPS),
    motors=st.integers(1, 6),
    ratio=st.floats(0.3, 40),
    eta=st.floats(0.3, 1.0),
    inertia=st.floats(1e-5, 0.05),
    friction=st.floats(0, 0.2),
    limit=st.floats(3, 200),
    other=st.floats(0, 30),
    idle=st.floats(0, 4),
    speed=st.floats(5, 900),
)
def test_books_close_whatever_is_built(
    stop: str,
    motors: int,
    ratio: float,
    eta: float,
    inertia: float,
    friction: float,
    limit: float,
    other: float,
    idle: float,
    speed: float,
) -> None:
    drive, duty = hard(stop)
    drive = dataclasses.replace(
        drive,
        motor=dataclasses.replace(drive.motor, free_current=idle),
        motors=motors,
        train=Train((stage("spur", ratio, eta),)),
        supply=dataclasses.replace(drive.supply, current_limit=limit, other_current=other),
        wheel=Wheel(inertia, friction),
    )
    books_close(run_match(drive, dataclasses.replace(duty, speed=speed)))


@settings(max_examples=40, deadline=None)
@given(st.floats(1e-4, 0.02), st.floats(1.01, 4), st.floats(60, 300))
def test_more_inertia_never_recovers_faster_from_the_same_drop(
    inertia: float, more: float, speed: float
) -> None:
    """Equal motor, equal drop in speed: tau grows with J."""
    light = dataclasses.replace(DRIVE, wheel=Wheel(inertia))
    heavy = dataclasses.replace(DRIVE, wheel=Wheel(inertia * more))
    for one, other in ((0.0, 0.9 * speed), (0.85 * speed, 0.98 * speed)):
        a, b = spin_up(light, other, one), spin_up(heavy, other, one)
        assert a.time_s <= b.time_s
        assert a.winding_heat_j <= b.winding_heat_j * (1 + 1e-12)


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 5), st.floats(0.0, 0.03), st.floats(20, 120))
def test_one_more_motor_is_never_slower_and_a_limit_never_faster(n: int, wire: float, limit: float) -> None:
    supply = Supply(BENCH, wiring=wire)
    few = Drive(COLD, n, TRAIN, supply, Wheel(0.05))
    many = dataclasses.replace(few, motors=n + 1)
    limited = dataclasses.replace(few, supply=dataclasses.replace(supply, current_limit=limit))
    assert spin_up(many, 150.0).time_s <= spin_up(few, 150.0).time_s
    assert spin_up(limited, 150.0).time_s >= spin_up(few, 150.0).time_s * (1 - 1e-12)


def test_a_simulated_burst_is_the_closed_form() -> None:
    duty = dataclasses.replace(DUTY, bursts=(Burst(0.0, 4),), feed=0.0, speed=200.0)
    run = run_match(DRIVE, duty)
    up, again = (
        spin_up(DRIVE, 196.0),
        recovery_time(DRIVE, dataclasses.replace(duty, speed=196.0, ready=1 - 1e-12)),
    )
    assert run.bursts[0].ready_after_s == pytest.approx(up.time_s, rel=1e-9)
    assert run.bursts[0].worst_recovery_s == pytest.approx(again, rel=1e-7)
    books_close(run)


def test_stops_rank_as_the_physics_says() -> None:
    """Braking through the motor warms it most; a clutch warms it least."""
    warm = {}
    for stop in STOPS[1:]:
        drive, duty = hard(stop)
        warm[stop] = run_match(drive, duty).winding_k
    assert warm["brake"] > warm["coast"] > warm["clutch"]


def test_braking_puts_all_kinetic_energy_into_the_loop() -> None:
    """Closed form: 1/2 J w^2, without friction and losses."""
    motor = dataclasses.replace(COLD, free_current=0.0)
    drive = Drive(motor, 2, Train((stage("spur", 6, 1.0),)), Supply(BENCH, wiring=0.01), Wheel(0.002))
    duty = Duty(200.0, 0.0, (Burst(0.0, 1),), match=8.0, stop="brake", ready=1 - 1e-13)
    run = run_match(drive, duty)
    up = spin_up(drive, 200.0)
    kinetic = 0.5 * up.inertia_kg_m2 * 200.0**2
    assert run.energy_j["windings"] - 2 * up.winding_heat_j == pytest.approx(kinetic * 0.15 / 0.16, rel=1e-9)
    books_close(run)


def test_protections_watch() -> None:
    """A stalled shaft at constant current trips each protection at its closed-form time."""
    ptc = SelfResetting(0.02, 40.0, 0.9, 398.15)
    supply = Supply(BENCH, current_limit=30.0, motor_breaker=Breaker(10.0))
    drive = Drive(dataclasses.replace(COLD, protection=ptc), 1, TRAIN, supply, Wheel(0.002, 5.0))
    run = run_match(drive, Duty(200.0, 0.0, (Burst(0.0, 1),), match=30.0), fine=0.01)
    assert run.breaks["motor protection"] == pytest.approx(ptc.trip_time(30.0, 293.15), rel=1e-9)
    assert run.bursts[0].ready_after_s is None
    books_close(run)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.floats(0.5, 300), min_size=4, max_size=4),
    st.floats(0, 50),
    st.floats(0, 50),
    st.floats(0.01, 600),
)
def test_two_nodes_is_the_matrix_exponential(built: list[float], pw: float, pc: float, time: float) -> None:
    cw, cc, r1, r2 = built
    a = np.array([[-1 / (cw * r1), 1 / (cw * r1)], [1 / (cc * r1), -1 / (cc * r1) - 1 / (cc * r2)]])
    whole = np.zeros((3, 3))
    whole[:2, :2], whole[:2, 2] = a, [pw / cw, pc / cc]
    x = expm(whole * time) @ [10.0, 5.0, 1.0]
    w, c, given_away = two_nodes(10.0, 5.0, pw, pc, time, cw, cc, r1, r2)
    assert (w, c) == pytest.approx((x[0], x[1]), rel=1e-8)
    stored = cw * (w - 10) + cc * (c - 5)
    assert given_away + stored == pytest.approx((pw + pc) * time, rel=1e-8, abs=1e-8 * (abs(stored) + 1))


def test_catching_up_meets() -> None:
    t = catch_up_time(0.0, 200.0, 322.0, 0.08, 3.0)
    assert 322.0 * (1 - math.exp(-t / 0.08)) == pytest.approx(200.0 - 3.0 * t, rel=1e-13)
    assert catch_up_time(0.0, 200.0, 150.0, 0.08, 0.0) == math.inf


def test_what_can_not_be() -> None:
    locked = dataclasses.replace(DRIVE, train=Train((worm(30, math.radians(2), 0.1),)))
    with pytest.raises(NoAnswer, match="self-locking"):
        run_match(locked, dataclasses.replace(DUTY, stop="coast"))
    with pytest.raises(BadInput, match="later than the one before"):
        dataclasses.replace(DUTY, bursts=(Burst(5, 1), Burst(5, 1)))
    with pytest.raises(BadInput, match="no drop"):
        ball_inertia(18.0, 19.0, 0.002)
    assert isinstance(TRAIN.stages[0], Stage)
    assert isinstance(Thermal(1, 1, 1, 1), Thermal)
    assert isinstance(WARM, Motor)
    # mechanics of a shot: u1 = u0 M/(M + m_eq), so 20 -> 20 .2/(.2 + .049), at R .1
    assert ball_inertia(20.0, 20 * 0.2 / 0.249, 0.002) == pytest.approx(0.00049)
