"""Search of drives: 4 motors x 4 counts x 60 ratios x 20 inertias, the whole match of each.

Target: under 10 s on two cores. The first line of times includes compiling, or loading what was compiled.
"""

from __future__ import annotations

import statistics
import time

import numpy as np

from shotwright.powertrain.drive_loads import Limits
from shotwright.powertrain.drive_search import search_drives
from shotwright.powertrain.drive_sweep import Choices, sweep_drives
from shotwright.powertrain.motor import generic_motors
from shotwright.powertrain.supply import Breaker, Supply, generic_battery
from shotwright.powertrain.train import Train, stage
from shotwright.powertrain.wheel_duty import Burst, Duty

SUPPLY = Supply(
    generic_battery("NiMH", 10, 3.0, 0.08),
    wiring=0.01,
    current_limit=40.0,
    other_current=5.0,
    main_breaker=Breaker(40.0),
    motor_breaker=Breaker(20.0),
)
CHOICES = Choices(
    generic_motors(),
    (1, 2, 3, 4),
    tuple(Train((stage("spur", float(ratio)),)) for ratio in np.geomspace(0.5, 8.0, 60)),
    tuple(np.geomspace(2e-4, 8e-3, 20).tolist()),
    friction=0.006,
)


def main() -> None:
    """Print the times of some rounds, for each way to stop."""
    for stop in ("brake", "keep running"):
        duty = Duty(150.0, 0.00049, tuple(Burst(10.0 * i, 5) for i in range(15)), feed=0.2, stop=stop)
        took, found = [], None
        for turn in range(4):
            started = time.perf_counter()
            found = search_drives(CHOICES, SUPPLY, duty, Limits(recovery=0.5))
            took.append(time.perf_counter() - started)
            print(f"{stop}, round {turn}: {took[-1]:.2f} s")
        assert found is not None
        print(
            f"{stop}: {found.tried} drives, {found.simulated} matches of {duty.match:g} s, "
            f"{found.within_limits} within limits, median {statistics.median(took[1:]):.2f} s"
        )
        one = time.perf_counter()
        sweep_drives(CHOICES, SUPPLY, duty, workers=1)
        print(f"{stop}: on one thread {time.perf_counter() - one:.2f} s")


if __name__ == "__main__":
    main()
