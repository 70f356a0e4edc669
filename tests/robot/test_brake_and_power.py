"""Brake and power budget: air books, standing against an opponent, and who waits."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.base.errors import BadInput
from shotwright.powertrain.supply import Battery, Breaker, Supply, generic_battery, peukert_time
from shotwright.robot.air import (
    AirSupply,
    Cylinder,
    air_match,
    leak_rate,
    strokes_adiabatic,
    strokes_isothermal,
    tank_energy,
    unregulated_pressure,
)
from shotwright.robot.brake import (
    Opponent,
    SpringBrake,
    Stand,
    bore_table,
    hold,
    holding_force,
    needed_pad_force,
)
from shotwright.robot.power import Budget, Consumer, count_motors
from shotwright.robot.power_run import follow, solve

SMALL = Cylinder(bore=0.02, rod=0.008, stroke=0.05)
TANK = AirSupply(volume=1e-3, pressure=8e5, regulated=4e5)
STAND = Stand(mass=15.0, wheel_grip=0.9, pad_grip=1.1)


@settings(max_examples=40, deadline=None)
@given(
    strokes=st.integers(0, 120),
    every=st.floats(0.3, 5.0),
    leak=st.floats(0.0, 1e-3),
    action=st.sampled_from(["single", "double"]),
)
def test_the_books_of_the_air_close(strokes: int, every: float, leak: float, action: str) -> None:
    cylinder = dataclasses.replace(SMALL, action=action)
    found = air_match(
        dataclasses.replace(TANK, leak=leak), cylinder, [i * every for i in range(strokes)], 150.0
    )
    assert found.used + found.leaked + found.left == pytest.approx(found.filled, rel=1e-12)
    assert found.served <= found.wanted <= strokes
    assert list(found.gauges_pa) == sorted(found.gauges_pa, reverse=True)
    assert found.end_gauge_pa >= 0


def test_strokes_of_a_match_are_those_of_boyle() -> None:
    most = strokes_isothermal(9e5, 5e5, 1e-3, SMALL.cycle_volume)
    found = air_match(TANK, SMALL, [float(i) for i in range(70)], 150.0)
    assert found.served == math.floor(most)
    assert found.first_weak_s == pytest.approx(math.floor(most))
    # behind the regulator a weak stroke gets what a tank without regulator would give
    left = 9e5 - found.served * 5e5 * SMALL.cycle_volume / 1e-3
    after = unregulated_pressure(left, 1e-3, SMALL.cycle_volume, 70 - found.served)
    assert found.end_gauge_pa == pytest.approx(after - 1e5, rel=1e-9)


def test_a_leak_as_it_was_measured() -> None:
    leak = leak_rate(8e5, 1e4, 60.0)
    found = air_match(dataclasses.replace(TANK, leak=leak), SMALL, [], 60.0)
    assert found.end_gauge_pa == pytest.approx(8e5 - 1e4)


def test_fast_strokes_against_a_tank_emptied_in_small_steps() -> None:
    """Energy of an open, insulated tank: d(m c_v T) = c_p T dm, gas constant cancelled."""

    def emptied(mass: float, y: np.ndarray) -> list[float]:
        return [0.4 * y[0] / mass]  # dT/dm = (gamma - 1) T/m

    found = strokes_adiabatic(9e5, 5e5, 1e-3, SMALL.cycle_volume)
    left = 1 - found.drawn
    done = solve_ivp(emptied, (1.0, left), [293.15], rtol=1e-10, atol=1e-10)
    assert found.tank_k == pytest.approx(done.y[0, -1], rel=1e-7)
    assert 9e5 * left * found.tank_k / 293.15 == pytest.approx(5e5, rel=1e-9)
    assert found.strokes < strokes_isothermal(9e5, 5e5, 1e-3, SMALL.cycle_volume)


@settings(max_examples=30, deadline=None)
@given(gauge=st.floats(1e4, 2e6).filter(lambda p: abs(p - 842_500) > 100))
def test_energies_of_a_tank_in_their_order(gauge: float) -> None:
    found = tank_energy(gauge, 1e-3)
    # the isothermal work from the same expansion, integrated: p dV from V to p V/p0
    volumes = np.geomspace(1e-3, 1e-3 * (gauge + 101325) / 101325, 20_001)
    pressures = (gauge + 101325) * 1e-3 / volumes
    assert found.isothermal_j == pytest.approx(np.trapezoid(pressures, volumes), rel=1e-6)
    # Brode's is the largest at the pressures of a small tank, not above
    assert (found.brode_j > found.isothermal_j) == (gauge < 842_500)
    assert found.isothermal_j > found.available_j > 0
    assert found.isothermal_j > found.isentropic_j > 0
    assert found.most_j == max(found.brode_j, found.isothermal_j)


@settings(max_examples=60, deadline=None)
@given(force=st.floats(0, 400), pads=st.floats(0.3, 1.6), share=st.floats(0, 1), push=st.floats(10, 250))
def test_what_holds_a_robot(force: float, pads: float, share: float, push: float) -> None:
    stand = dataclasses.replace(STAND, pad_grip=pads, held_share=share)
    held = holding_force(stand, force)
    assert held <= max(pads, 0.9 * share) * stand.weight * (1 + 1e-12)
    if force >= stand.weight:
        assert held == pytest.approx(pads * stand.weight)  # the wheels hang
    needed = needed_pad_force(stand, push)
    if needed is None:
        assert max(holding_force(stand, f) for f in np.linspace(0, 300, 50)) < push * (1 + 1e-9)
    else:
        assert holding_force(stand, needed) >= push * (1 - 1e-9)


def test_pads_worse_than_locked_wheels_make_it_worse() -> None:
    slick = dataclasses.replace(STAND, pad_grip=0.7)
    assert holding_force(slick, 100.0) < holding_force(slick, 0.0)
    assert needed_pad_force(slick, 150.0) is None


def test_bores_of_the_series() -> None:
    pusher = Opponent(18.0, 0.9)
    assert Opponent(18.0, 0.9, 90.0).force == 90.0
    rows = bore_table(STAND, pusher, TANK, SMALL)
    assert [row.bore_mm for row in rows] == [8, 10, 12, 16, 20, 25, 32]
    assert [row.bore_mm for row in rows if row.holds] == [25, 32]
    assert all(row.lifts for row in rows if row.bore_mm >= 25)
    assert [row.strokes for row in rows] == sorted((row.strokes for row in rows), reverse=True)
    assert hold(STAND, 150.0, pusher).lifts


def test_springs_keep_all_of_their_energy() -> None:
    one = SpringBrake(stiffness=2000.0, preload=0.03, stroke=0.02, springs=2)
    assert one.pad_force == pytest.approx(120.0)
    assert one.stored == pytest.approx(0.5 * 2 * 2000 * 0.05**2)
    assert one.work == pytest.approx(0.5 * (one.pad_force + one.drawn_force) * 0.02)
    with pytest.raises(BadInput):
        Cylinder(bore=0.02, rod=0.03, stroke=0.05)


def supply(**more: object) -> Supply:
    given_: dict[str, object] = {
        "level": 0.95,
        "other_current": 3.0,
        "main_breaker": Breaker(40.0),
    }
    return Supply(generic_battery("NiMH", 10, 3.0, 0.08), **(given_ | more))  # type: ignore[arg-type]


SPRINTS = Consumer(
    name="sprint", starts=tuple(7.0 * i for i in range(20)), duration=1.2, current=52.0, motors=4
)
WHEEL = Consumer(name="wheel", starts=(0.0,), duration=150.0, power=60.0, motors=2)
TILT = Consumer(
    name="tilt",
    starts=tuple(7.0 * i + 0.5 for i in range(20)),
    duration=0.5,
    power=80.0,
    motors=1,
    priority=3,
    wait=3.0,
)


def budget(**more: object) -> Budget:
    given_: dict[str, object] = {
        "supply": supply(),
        "consumers": (SPRINTS, WHEEL, TILT),
        "length": 150.0,
        "lowest_voltage": 7.5,
    }
    return Budget(**(given_ | more))  # type: ignore[arg-type]


@settings(max_examples=25, deadline=None)
@given(
    amps=st.floats(1, 120), watts=st.floats(0, 600), wait=st.floats(0, 5), step=st.sampled_from([0.05, 0.25])
)
def test_the_energy_books_of_a_match_close(amps: float, watts: float, wait: float, step: float) -> None:
    consumers = (
        dataclasses.replace(SPRINTS, current=amps),
        WHEEL,
        dataclasses.replace(TILT, power=watts + 1.0, wait=wait),
    )
    run = follow(budget(consumers=consumers, length=60.0), step=step)
    assert sum(run.energy_j.values()) == pytest.approx(run.from_battery_j, rel=1e-9)
    assert run.times_s[-1] == pytest.approx(60.0)
    assert sum(row.charge_c for row in run.rows) + 3.0 * 60.0 == pytest.approx(run.charge_c, rel=1e-9)
    assert all(row.longest_wait_s <= wait + 1e-6 for row in run.rows)


def test_who_may_wait_waits_and_the_voltage_holds() -> None:
    at_once, waiting = follow(budget(), waiting=False), follow(budget())
    assert at_once.lowest_v < 7.5 < waiting.lowest_v
    assert at_once.too_low_s > 0
    assert waiting.too_low_s == 0
    tilts = next(row for row in waiting.rows if row.name == "tilt")
    assert tilts.times == 20
    assert tilts.waited >= 15  # there is room while the battery is fresh
    assert tilts.longest_wait_s == pytest.approx(0.7)  # until the sprint ends
    assert tilts.forced == 0
    assert sum(row.energy_j for row in at_once.rows if row.name == "tilt") == pytest.approx(800.0)


def test_who_can_wait_no_longer_is_let_in() -> None:
    one = dataclasses.replace(TILT, wait=0.3)
    run = follow(budget(consumers=(SPRINTS, WHEEL, one)))
    tilts = next(row for row in run.rows if row.name == "tilt")
    assert tilts.forced == tilts.waited >= 15
    assert tilts.longest_wait_s == pytest.approx(0.3)


def test_the_breaker_trips_when_its_equation_says_so() -> None:
    steady = Consumer(name="all", starts=(0.0,), duration=150.0, current=77.0)
    run = follow(budget(consumers=(steady,)), waiting=False)
    # closed form: cold curve of IEC 60255-149
    assert run.breaker_trips_s == pytest.approx(Breaker(40.0).trip_time(80.0), rel=1e-9)
    assert run.breaker_used is not None
    assert run.breaker_used > 1


def test_a_battery_that_can_not_deliver_is_told() -> None:
    run = follow(budget(consumers=(dataclasses.replace(WHEEL, power=5000.0),)), waiting=False)
    assert run.collapses_s == 0.0
    voltage, drawn, delivers = solve(12.8, 0.025, 0.0, 2000.0)
    # closed form: V_oc^2/(4 R) = 1638.4 W is the most
    assert not delivers
    assert voltage * drawn == pytest.approx(1638.4)


def test_a_profile_is_what_its_pieces_are() -> None:
    pieces = ((0.4, 60.0), (1.0, 20.0))
    one = Consumer(name="it", starts=(5.0, 9.0), duration=1.0, profile=pieces)
    apart = (
        Consumer(name="a", starts=(5.0, 9.0), duration=0.4, current=60.0),
        Consumer(name="b", starts=(5.4, 9.4), duration=0.6, current=20.0),
    )
    whole = follow(budget(consumers=(one,), length=20.0), waiting=False)
    parts = follow(budget(consumers=apart, length=20.0), waiting=False)
    assert whole.charge_c == pytest.approx(parts.charge_c, rel=1e-9)
    assert whole.from_battery_j == pytest.approx(parts.from_battery_j, rel=1e-6)
    assert whole.lowest_v == pytest.approx(parts.lowest_v, rel=1e-6)
    assert whole.breaker_used == pytest.approx(parts.breaker_used, rel=1e-9)
    assert sum(whole.energy_j.values()) == pytest.approx(whole.from_battery_j, rel=1e-9)
    # there is no room in the first piece, and there would be in the second
    late = dataclasses.replace(TILT, starts=(5.1,), power=150.0)
    waited = follow(budget(consumers=(one, late), length=20.0, lowest_voltage=7.5))
    row = next(row for row in waited.rows if row.name == "tilt")
    assert row.longest_wait_s == pytest.approx(0.3)


def test_capacity_by_peukert() -> None:
    battery = Battery("lead", 18 * 3600.0, (1.0,), (12.0,), (0.01,))
    one = Consumer(name="all", starts=(0.0,), duration=60.0, current=36.0)
    run = follow(Budget(supply=Supply(battery), consumers=(one,), length=60.0, peukert=1.2, rated_hours=20.0))
    assert run.capacity_used == pytest.approx(60 / 3600 / peukert_time(18.0, 20.0, 36.0, 1.2))
    assert run.charge_c == pytest.approx(36.0 * 60)


def test_motors_are_counted_against_the_limit() -> None:
    assert count_motors({"drive base": 4, "tilt": 1}, 4).left == -1
    assert count_motors({"drive base": 4}, None).left is None
    with pytest.raises(BadInput, match="neither"):
        Consumer(name="nothing", starts=(0.0,), duration=1.0)
