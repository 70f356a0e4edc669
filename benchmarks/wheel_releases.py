"""Releases per second of wheel launchers, beside the flight kernel's flights per second, in one run.

    python benchmarks/wheel_releases.py [releases]

Forces that stay constant between events are followed exactly; others by an adaptive integrator. The turns are
interleaved, and the ratio to the flights is the figure to read: seconds depend on the machine.
"""

from __future__ import annotations

import dataclasses
import math
import sys
import time

import numpy as np

from shotwright.flight.crossing import fly_to_floor
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.launcher.compression import hertz_from_modulus
from shotwright.launcher.opposed_wheels import OpposedWheels
from shotwright.launcher.protocol import Amount, draw_inputs
from shotwright.launcher.three_wheels import ThreeWheels
from shotwright.launcher.wheel_and_hood import WheelAndHood

BALL = Ball("foam", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"), 0.001, 0.003)
COMMON = {
    "name": "paper",
    "elevation": Amount(math.radians(55), math.radians(0.4)),
    "release_height": Amount(0.5),
    "wheel_radius": Amount(0.05),
    "wheel_inertia": Amount(8e-4),
    "wheel_grip": Amount(0.6, 0.05),
    "feed_speed": Amount(1.5, 0.2),
    "compression": hertz_from_modulus(0.089, 0.3e6, 0.2, 0.2),
}
HOOD = WheelAndHood(
    rim_speed=Amount(18.0, 0.2),
    gap=Amount(0.158),
    wrap_angle=Amount(1.4),
    hood_grip=Amount(0.6, 0.05),
    **COMMON,
)
PAIR = OpposedWheels(
    first_rim_speed=Amount(10.0, 0.1), second_rim_speed=Amount(12.0, 0.1), gap=Amount(0.15), **COMMON
)
TRIO = ThreeWheels(
    lower_rim_speed=Amount(12.0, 0.1), upper_left_rim_speed=Amount(10.0, 0.1),
    upper_right_rim_speed=Amount(10.0, 0.1), spacing=Amount(0.1), gap=Amount(0.14), upper_grip=Amount(0.6),
    **COMMON,
)  # fmt: skip
LAUNCHERS = {
    "wheel and hood, inertia on the curve left out": dataclasses.replace(HOOD, inertia_on_curve="left out"),
    "wheel and hood, inertia on the curve counted": HOOD,
    "opposed wheels, force even": dataclasses.replace(PAIR, contact_force="even"),
    "opposed wheels, force followed": PAIR,
    "three wheels": TRIO,
}
ROUNDS = 3


def main(count: int) -> None:
    rng = np.random.default_rng(1)
    inputs = {name: draw_inputs(one, BALL, count, rng) for name, one in LAUNCHERS.items()}
    model = flight_model(BALL, Weather())
    velocity, spin = launch_vectors(rng.normal(8, 0.1, count), rng.normal(0.96, 0.01, count), 0.0, 60.0)
    jobs = {name: (lambda one=one, x=inputs[name]: one.release(x)) for name, one in LAUNCHERS.items()}
    jobs["flights to the floor"] = lambda: fly_to_floor(model, (0.0, 0.0, 0.5), velocity, spin)
    for job in jobs.values():
        job()  # compile, and touch the memory
    best = dict.fromkeys(jobs, math.inf)
    for _ in range(ROUNDS):
        for name, job in jobs.items():
            started = time.perf_counter()
            job()
            best[name] = min(best[name], time.perf_counter() - started)
    flights = best["flights to the floor"]
    print(f"{count} each, best of {ROUNDS} interleaved rounds")
    for name, seconds in best.items():
        print(f"{name:46s} {count / seconds / 1e3:8.0f} thousand/s   {seconds / flights:6.2f} x a flight")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
