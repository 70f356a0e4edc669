"""The search keeps, ranks and picks what a plain loop over single matches does."""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import NoAnswer
from shotwright.powertrain.drive_loads import Limits, loads_of
from shotwright.powertrain.drive_search import pareto_front, search_drives
from shotwright.powertrain.drive_sweep import Choices
from shotwright.powertrain.motor import generic_motors
from shotwright.powertrain.recovery_map import recovery_map, with_ratio
from shotwright.powertrain.supply import Breaker, Supply, generic_battery
from shotwright.powertrain.train import Train, stage
from shotwright.powertrain.wheel_duty import Burst, Drive, Duty, Wheel
from shotwright.powertrain.wheel_match import run_match

SUPPLY = Supply(
    generic_battery("NiMH", 10, 3.0, 0.08),
    wiring=0.01,
    current_limit=40,
    other_current=5,
    main_breaker=Breaker(40),
)
CHOICES = Choices(
    generic_motors()[1:3],
    (1, 2),
    tuple(Train((stage("spur", r),)) for r in (2.0, 5.0, 9.0, 30.0)),
    (0.0008, 0.003),
    friction=0.006,
)
DUTY = Duty(150.0, 0.00049, (Burst(0.0, 4), Burst(8.0, 4)), match=20.0, feed=0.1, stop="brake")
LIMITS = Limits(recovery=0.3, battery_current=90.0)


def test_the_search_is_a_loop_over_single_matches() -> None:
    found = search_drives(CHOICES, SUPPLY, DUTY, LIMITS)
    assert found.tried == 32
    rows = []
    for motor, n, train, inertia in itertools.product(
        CHOICES.motors, CHOICES.counts, CHOICES.trains, CHOICES.inertias
    ):
        drive = Drive(motor, n, train, SUPPLY, Wheel(inertia, 0.006))
        run = run_match(drive, DUTY)
        worst = [one.worst_recovery_s for one in run.bursts]
        if any(one.fired < 4 for one in run.bursts) or None in worst:
            continue
        slowest = max(w for w in worst if w is not None)
        if slowest > 0.3 or run.peak_battery_a > 90 or run.breaks:
            continue
        rows.append((1 / max(slowest, 0.1), run.peak_winding_k, n, drive))
    assert found.within_limits == len(rows)
    best = {
        (a[2], round(a[1], 6))
        for a in rows
        if not any(b[0] >= a[0] and b[1] <= a[1] and b[2] <= a[2] and b[:3] != a[:3] for b in rows)
    }
    assert {(one.motors, round(one.winding_k, 6)) for one in found.front} == best
    assert found.drive in [row[3] for row in rows]
    assert found.loads[0].used < 1
    # an emptier battery uses more of the speed that the motors can reach
    used = {one.what: one.used for one in found.loads}
    low = {one.what: one.used for one in found.low_battery}
    assert low["speed that the motors reach"] > used["speed that the motors reach"]


def test_it_says_why_nothing_fits() -> None:
    with pytest.raises(NoAnswer, match="most break the recovery"):
        search_drives(CHOICES, SUPPLY, DUTY, Limits(recovery=1e-4))
    with pytest.raises(NoAnswer, match="none of 32 drives reaches"):
        search_drives(CHOICES, SUPPLY, dataclasses.replace(DUTY, speed=9000.0), LIMITS)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5), st.integers(1, 4)), min_size=1, max_size=30))
def test_nothing_beats_the_front(points: list[tuple[int, int, int]]) -> None:
    rate, warm, motors = (np.array(column, float) for column in zip(*points, strict=True))
    front = pareto_front(rate, warm, motors, np.arange(len(points)))
    kept = {points[i] for i in front}
    for one in points:
        beaten = any(b[0] >= one[0] and b[1] <= one[1] and b[2] <= one[2] and b != one for b in points)
        assert (one in kept) == (not beaten)
    assert len(kept) == len(front)


def test_single_shots_and_loads() -> None:
    lone = dataclasses.replace(DUTY, bursts=(Burst(0.0, 1), Burst(8.0, 1)))
    found = search_drives(CHOICES, SUPPLY, lone, LIMITS)
    assert 0 < found.pick.recovery_s < 0.3
    tight = loads_of(found.drive, lone, Limits(motor_current=1.0))
    assert tight[0].what == "current of a motor"
    assert tight[0].used == pytest.approx(found.pick.motor_a, rel=1e-9)


def test_the_map_follows_the_closed_form() -> None:
    drive = Drive(CHOICES.motors[0], 2, CHOICES.trains[1], SUPPLY, Wheel(0.002, 0.006))
    found = recovery_map(drive, DUTY, [3.0, 5.0, 60.0], [0.001, 0.002])
    assert found.shape == (3, 2)
    assert math.isinf(found[2, 0])
    assert with_ratio(drive.train, 3.0).ratio == pytest.approx(3.0)
