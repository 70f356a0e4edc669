"""Motors, trains and supplies against closed forms and general libraries."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.powertrain.motor import (
    Sheet,
    constants_of,
    from_sheet,
    generic_motors,
    motor_curve,
    winding_temperature,
)
from shotwright.powertrain.motor_fit import Reading, fit_motor
from shotwright.powertrain.supply import Battery, Breaker, Supply, current_for_power, generic_battery, sag
from shotwright.powertrain.train import all_trains, nearest_trains, stage, worm

MOTOR = generic_motors()[1]


@settings(max_examples=40, deadline=None)
@given(st.floats(3, 24), st.floats(0.02, 3), st.floats(0.001, 0.1), st.floats(0, 1))
def test_a_sheet_made_of_a_motor_gives_it_back(volts: float, r: float, k: float, share: float) -> None:
    stall = volts / r
    idle = 0.3 * share * stall
    sheet = Sheet(volts, (volts - idle * r) / k, idle, k * (stall - idle), stall)
    assert constants_of(sheet) == pytest.approx((r, k, k), rel=1e-12)
    motor = from_sheet("one", sheet, 1e-5, MOTOR.thermal)
    curve = motor_curve(motor, volts)
    # closed form: the best efficiency beats that of every other current
    for current in np.linspace(idle + 1e-9, stall, 30):
        power = (current - idle) * (volts - current * r)
        assert power / (volts * current) <= curve.best_efficiency + 1e-12


def test_fit_recovers_and_its_interval_covers() -> None:
    exact = [Reading(12, i, (12 - 0.15 * i) / 0.006, 0.006 * (i - 2)) for i in (5, 20, 40)]
    fit = fit_motor(exact)
    assert (fit.resistance_ohm.value, fit.constant_v_s.value, fit.free_current_a.value) == pytest.approx(
        (0.15, 0.006, 2.0), rel=1e-9
    )
    # simulated readings: 95 % intervals hold K in 95 of 100, within the Monte Carlo doubt of 400 runs
    rng = np.random.default_rng(6)
    held = 0
    for _ in range(400):
        noisy = [
            Reading(
                12 + 0.05 * rng.standard_normal(),
                r.current,
                r.speed,
                r.torque + 0.05 / 12 * 0.228 * rng.standard_normal(),
            )
            for r in exact
        ]
        found = fit_motor(noisy).constant_v_s
        held += found.low <= 0.006 <= found.high
    assert abs(held / 400 - 0.95) < 3.5 * math.sqrt(0.95 * 0.05 / 400)


def test_fit_refuses_one_load() -> None:
    with pytest.raises(BadInput, match="one load"):
        fit_motor([Reading(12, 5, 1875, 0.018)] * 3)
    with pytest.raises(BadInput, match="at least two"):
        fit_motor([Reading(12, 5, 1875, 0.018)])


def test_warm_motor_and_its_way_back() -> None:
    warm = MOTOR.at(MOTOR.limit)
    assert warm.at(300.0) == warm
    # IEC 60034-1, resistance method: 1.25 times from 22 degC is 86.25 degC
    assert winding_temperature(1.25, 295.15) - 273.15 == pytest.approx(86.25)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(8, 80), min_size=2, max_size=5, unique=True),
    st.floats(0.2, 12),
    st.integers(1, 2),
)
def test_nearest_trains_are_those_of_a_full_search(teeth: list[int], wanted: float, most: int) -> None:
    found = nearest_trains(wanted, teeth, most, show=1000)
    ratios = {
        math.prod(b for _, b in chain) / math.prod(a for a, _ in chain)
        for n in range(1, most + 1)
        for chain in itertools.product(itertools.permutations(teeth, 2), repeat=n)
    }
    assert sorted(one.ratio for one in found) == sorted(ratios)
    assert abs(found[0].error) == pytest.approx(min(abs(r / wanted - 1) for r in ratios), abs=1e-9)
    for one in found:
        assert one.ratio == math.prod(b for _, b in one.pairs) / math.prod(a for a, _ in one.pairs)
        assert one.size == sum(map(sum, one.pairs))


def test_trains_refuse_what_makes_none() -> None:
    with pytest.raises(BadInput, match="no tooth counts"):
        all_trains([])
    with pytest.raises(BadInput, match="makes no ratio"):
        nearest_trains(2.0, [20])
    with pytest.raises(BadInput, match="worm"):
        stage("worm", 30)
    assert (
        worm(30, math.radians(3), 0.08).back_efficiency < 0 < worm(30, math.radians(20), 0.05).back_efficiency
    )


def test_sag_power_and_its_limit() -> None:
    ideal = Battery("bench", 64800, (1.0,), (12.8,), (0.025,))
    assert sag(ideal, 0.5, 120).voltage_v == pytest.approx(9.8)
    found = current_for_power(ideal, 0.5, 500)
    assert found.power_w == pytest.approx(500)
    with pytest.raises(NoAnswer, match="at most 1638 W"):
        current_for_power(ideal, 1.0, 1700)


@pytest.mark.parametrize("chemistry", ["NiMH", "lead-acid", "Li-ion"])
def test_a_battery_falls_as_it_empties(chemistry: str) -> None:
    battery = generic_battery(chemistry, 6, 3.0)
    levels = np.linspace(0, 1, 101)
    assert (np.diff([battery.voltage_at(x) for x in levels]) > 0).all()
    assert (np.diff([battery.resistance_at(x) for x in levels]) <= 0).all()
    with pytest.raises(BadInput, match="state of charge"):
        Supply(battery, level=1.2)


@settings(max_examples=30, deadline=None)
@given(st.floats(1.06, 8), st.floats(0, 1.0), st.floats(1, 100))
def test_breaker_trips_when_its_filtered_square_is_full(over: float, before: float, tau: float) -> None:
    breaker = Breaker(20, tau)
    current = over * 20
    time = breaker.trip_time(current, before * 20)
    # the one-node equation solved by quadrature: t = integral of tau dx/(I^2 - x)
    limit = (1.05 * 20) ** 2
    expected = quad(lambda x: tau / (current**2 - x), (before * 20) ** 2, limit)[0]
    assert time == pytest.approx(expected, rel=1e-8)
    assert breaker.trip_time(20.9) == math.inf
