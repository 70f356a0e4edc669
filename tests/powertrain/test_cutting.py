"""Breakers, fuses and protections that cut: closed forms, an independent integrator, closed books."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.powertrain import cutting, match_kernel
from shotwright.powertrain import wheel_steps as at
from shotwright.powertrain.motor import SelfResetting, generic_motors
from shotwright.powertrain.supply import Battery, Breaker, Supply, generic_battery
from shotwright.powertrain.train import Train, stage, worm
from shotwright.powertrain.wheel_duty import STOPS, Burst, Drive, Duty, Wheel
from shotwright.powertrain.wheel_match import battery_table, build_row, run_match, run_of, trace_match
from shotwright.powertrain.winding_duty import even_turn, run_winding

COLD = dataclasses.replace(generic_motors()[1], copper_coefficient=0.0, magnet_coefficient=0.0)
BENCH = Battery("bench supply", 1e9, (1.0,), (12.0,), (0.02,))
TRAIN = Train((stage("spur", 6, 0.9),))
DUTY = Duty(150.0, 0.00049, (Burst(1.0, 2), Burst(9.0, 2)), match=20.0, feed=0.1)


def drive(supply: Supply, motor=COLD, train: Train = TRAIN) -> Drive:  # type: ignore[no-untyped-def]
    return Drive(motor, 2, train, supply, Wheel(0.002, 0.006))


def test_a_steady_load_trips_closes_and_trips_again_at_the_closed_form() -> None:
    """IEC 60255-149: t = tau ln((I^2 - Ip^2)/(I^2 - Ik^2)); open for tau ln(1/share)."""
    breaker = Breaker(40.0, 30.0, 1.0, 0.5)
    supply = Supply(BENCH, other_current=60.0, main_breaker=breaker)
    duty = dataclasses.replace(DUTY, bursts=(Burst(99.0, 1),), match=100.0)
    run = run_match(drive(supply), duty)
    first = breaker.trip_time(60.0)
    again = 30 * math.log((60**2 - 0.5 * 40**2) / (60**2 - 40**2))
    assert run.breaks["main breaker"] == pytest.approx(first, abs=1e-6)
    # closed from 0, then `again` long; open in between
    opened, clock = 0.0, first
    while clock < 99.0:
        opened += min(breaker.open_time, 99.0 - clock)
        clock += breaker.open_time + again
    assert run.open_s["main breaker"] == pytest.approx(opened, abs=1.1)  # the burst's last second may be open
    charge = 60.0 * (100.0 - run.open_s["main breaker"])
    motors_share = 2 * 90.0 * 1.0  # at most two motors at stall for the burst's second
    drawn = (1.0 - run.level) * BENCH.charge
    assert charge - 1e-6 <= drawn <= charge + motors_share


def test_a_fuse_ends_the_match_and_the_wheel_coasts_as_newton_says() -> None:
    """Independent: scipy integrates speed and the thermal image, then the coast is a straight line."""
    fuse = Breaker(15.0, 1.0, 1.0)
    one = drive(Supply(BENCH, wiring=0.01, motor_breaker=fuse))
    duty = dataclasses.replace(DUTY, speed=290.0, bursts=(Burst(0.0, 3),), match=6.0)
    run, trace = trace_match(one, duty, fine=2e-4, coarse=2e-4)
    g, eta, k, n = 6.0, 0.9, COLD.constant, 2
    joined, push = 0.002 + eta * g * g * n * COLD.rotor_inertia, eta * g * n * k
    loop = COLD.resistance + 0.01 + n * 0.02

    def law(_: float, y: np.ndarray) -> list[float]:
        i = (12 - k * g * y[0]) / loop
        return [(push * (i - COLD.free_current) - 0.006) / joined, (i * i - y[1]) / 1.0]

    def trips(_: float, y: np.ndarray) -> float:
        return y[1] - 15.0**2

    trips.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(law, (0, 6), [0, 0], events=trips, rtol=1e-10, atol=1e-10, max_step=0.01)
    assert run.breaks["motor breaker"] == pytest.approx(found.t[-1], rel=1e-5)
    tripped_at = found.y[0, -1]
    behind = 0.002 + g * g * n * COLD.rotor_inertia / eta
    slowing = (g * n * k * COLD.free_current / eta + 0.006) / behind
    later = found.t[-1] + 0.5
    assert np.interp(later, trace.time_s, trace.speed_rad_s) == pytest.approx(
        max(tripped_at - slowing * 0.5, 0.0), rel=1e-3
    )
    assert sum(burst.fired for burst in run.bursts) == 0
    assert run.open_s["motor breaker"] == pytest.approx(6.0 - run.breaks["motor breaker"], abs=1e-3)
    after = trace.time_s > run.breaks["motor breaker"] + 1e-6
    assert np.all(trace.battery_a[after] == 0.0)
    assert abs(run.balance) < 1e-9


def test_without_the_main_breaker_no_feed_brings_a_ball() -> None:
    """A wheel that is still fast enough fires while only its motors are cut, and not when all is."""
    train, wheel = Train((stage("spur", 3, 0.95),)), Wheel(0.5)
    duty = Duty(100.0, 0.0001, (Burst(0.0, 1), Burst(14.0, 3)), match=20.0, feed=0.1, ready=0.5)
    image = Breaker(40.0, 5.0, 1.0)
    each = run_match(Drive(COLD, 2, train, Supply(BENCH, motor_breaker=image), wheel), duty)
    both = run_match(Drive(COLD, 2, train, Supply(BENCH, main_breaker=image), wheel), duty)
    assert each.breaks["motor breaker"] < 14.0
    assert both.breaks["main breaker"] < 14.0
    assert [one.fired for one in both.bursts] == [0, 0]
    slow = dataclasses.replace(duty, ready=0.001)
    assert [
        one.fired
        for one in run_match(Drive(COLD, 2, train, Supply(BENCH, motor_breaker=image), wheel), slow).bursts
    ] == [1, 3]


def test_a_warm_protection_stays_open_while_voltage_is_on_it() -> None:
    """Closed form: once nobody asks for speed it cools with its time constant."""
    ptc = SelfResetting(0.02, 40.0, 0.25, 293.15 + 60.0, falls=30.0)
    motor = dataclasses.replace(COLD, protection=ptc)
    duty = dataclasses.replace(DUTY, speed=180.0, bursts=(Burst(0.0, 50),), match=60.0, stop="coast")
    held = run_match(drive(Supply(BENCH), motor), duty)
    tripped = held.breaks["motor protection"]
    assert held.open_s["motor protection"] == pytest.approx(60.0 - tripped, abs=1e-6)
    assert held.bursts[0].fired < 50
    # once nobody asks for speed it closes ln 2 time constants later
    duty = dataclasses.replace(duty, bursts=(Burst(0.0, 1), Burst(150.0, 1)), match=300.0)
    one = drive(Supply(BENCH), dataclasses.replace(motor, protection=dataclasses.replace(ptc, capacity=3.0)))
    row, table = build_row(one, duty), battery_table(one.supply)
    s, e = np.zeros(at.STATE), np.zeros(at.BOOKS)
    match_kernel.begin(s, e)
    s[at.OPEN + 2], s[at.X_MAIN + 2] = 1.0, 60.0
    kept = np.empty(at.STATE + at.BOOKS)
    cutting.step_while_cut(row, table, s, e, True, 10.0, kept)
    assert (s[at.OPEN + 2], s[at.X_MAIN + 2]) == (1.0, 60.0)
    cutting.step_while_cut(row, table, s, e, False, 1e4, kept)
    assert s[at.OPEN + 2] == 0.0
    assert s[at.T] == pytest.approx(10.0 + 120.0 * math.log(2), abs=1e-6)


def test_a_self_locking_train_stops_the_wheel_at_once() -> None:
    train = Train((worm(30.0, math.radians(3), 0.1),))
    assert train.back_efficiency <= 0
    one = drive(Supply(BENCH, motor_breaker=Breaker(6.0, 2.0)), train=train)
    run, trace = trace_match(one, dataclasses.replace(DUTY, speed=30.0))
    tripped = run.breaks["motor breaker"]
    assert trace.speed_rad_s[trace.time_s <= tripped + 1e-6].max() > 1.0
    assert np.all(trace.speed_rad_s[trace.time_s > tripped + 1e-6] == 0.0)
    assert abs(run.balance) < 1e-9


@settings(max_examples=30, deadline=None)
@given(
    main=st.one_of(st.none(), st.floats(5, 60)),
    each=st.one_of(st.none(), st.floats(3, 30)),
    tau=st.floats(0.3, 10),
    closes=st.floats(0, 0.95),
    protected=st.booleans(),
    stop=st.sampled_from(STOPS),
    locks=st.booleans(),
)
def test_books_close_whatever_cuts(
    main: float | None,
    each: float | None,
    tau: float,
    closes: float,
    protected: bool,
    stop: str,
    locks: bool,
) -> None:
    ptc = SelfResetting(0.02, 40.0, 0.2, 293.15 + 80.0)
    motor = dataclasses.replace(generic_motors()[1], protection=ptc if protected else None)
    supply = Supply(
        generic_battery("NiMH", 10, 3.0, 0.08),
        wiring=0.01,
        current_limit=40.0,
        other_current=4.0,
        main_breaker=None if main is None else Breaker(main, tau, 1.05, closes),
        motor_breaker=None if each is None else Breaker(each, tau, 1.05, closes),
    )
    train = Train((worm(6.0, math.radians(3), 0.1),)) if locks else TRAIN
    built = drive(supply, motor, train)
    duty = dataclasses.replace(DUTY, stop=stop, brake_resistance=0.05)
    try:
        run = run_match(built, duty)
    except NoAnswer:
        assert locks
        return
    watched = run_match(built, duty, cuts=False)
    assert abs(run.balance) < 1e-9
    assert abs(run.heat_balance) < 1e-9
    assert watched.open_s == {}
    if not set(watched.breaks) - {"winding limit"}:
        assert run == watched
    else:
        first = min(when for what, when in watched.breaks.items() if what != "winding limit")
        assert min(v for k, v in run.breaks.items() if k != "winding limit") == pytest.approx(first, abs=0.11)
        assert run.from_battery_j <= watched.from_battery_j * (1 + 1e-12) or closes > 0
    for what, share in run.used.items():
        if what != "winding limit":
            assert share <= 1 + 1e-6


def test_compiled_and_plain_agree_where_it_cuts() -> None:
    supply = Supply(BENCH, other_current=4.0, motor_breaker=Breaker(9.0, 2.0, 1.0, 0.6))
    built = drive(supply)
    row = build_row(built, DUTY)
    states, books = np.zeros((1, at.STATE)), np.zeros((1, at.BOOKS))
    bursts = np.array([[one.start, one.shots] for one in DUTY.bursts])
    told = np.zeros((1, len(bursts), match_kernel.BURST_WIDTH))
    match_kernel.many_matches()(row[None], battery_table(supply), bursts, states, books, told)
    fast = run_of(row, DUTY.bursts, states[0], books[0], told[0], 1.0)
    plain = run_match(built, DUTY)
    assert plain.open_s["motor breaker"] > 0
    assert fast.open_s == pytest.approx(plain.open_s, rel=1e-7)
    assert fast.energy_j == pytest.approx(plain.energy_j, rel=1e-7, abs=1e-9)
    assert [one.fired for one in fast.bursts] == [one.fired for one in plain.bursts]


@settings(max_examples=20, deadline=None)
@given(rating=st.floats(2, 12), tau=st.floats(0.2, 4), closes=st.floats(0, 0.9), locks=st.booleans())
def test_a_piston_waits_for_its_breaker(rating: float, tau: float, closes: float, locks: bool) -> None:
    train = Train((worm(60, math.radians(3), 0.1),)) if locks else Train((stage("spur", 60, 0.8),))
    supply = Supply(
        generic_battery("NiMH", 10, 3.0, 0.1),
        other_current=2.0,
        motor_breaker=Breaker(rating, tau, 1.05, closes),
    )
    winder = Drive(generic_motors()[1], 1, train, supply, Wheel(1e-4, 0.02))
    turn = even_turn(0.9, 5.0)
    try:
        found = run_winding(winder, turn, [Burst(1.0, 6), Burst(20.0, 6)], 40.0)
    except NoAnswer:
        return  # the first turn was never ended
    assert abs(found.run.balance) < 1e-9
    assert abs(found.run.heat_balance) < 1e-9
    fired = sum(one.fired for one in found.run.bursts)
    assert found.run.energy_j["shots"] >= fired * turn.work * (1 - 1e-9)
    if "motor breaker" not in found.run.breaks:
        assert fired == 12
        assert found.run.energy_j["shots"] == pytest.approx(12 * turn.work, rel=1e-9)
    elif closes == 0:
        assert fired < 12


def test_what_a_breaker_can_not_be() -> None:
    with pytest.raises(BadInput, match="0, or below 1"):
        Breaker(10.0, closes_at=1.0)
