"""How many times faster is the batch kernel than a general integrator at the same accuracy?

    python benchmarks/flight_vs_solve_ivp.py [--rounds 5] [--flights 20000] [--sample 60]

Both fly the same launches down to the same level plane, in turn, in one process. The peer is scipy's
``solve_ivp`` with a tuned scalar right-hand side and an event at the plane, at the loosest tolerance that
keeps its own error under 1e-6 m. Errors are against ``solve_ivp`` at 3e-13. The ratio is of wall time, the
kernel on all cores that it takes, the peer on one; its median over the rounds is printed.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import time

import numpy as np
from scipy.integrate import solve_ivp

from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Weather

START = (0.0, 0.0, 0.4)
PLANE_HEIGHT = 1.2
PEER_TOLERANCE = 5e-8
OUR_TOLERANCE = 1e-6  # m/s a step; the default, 1e-8, is tighter and gives 6e-9 m


def launches(n: int):
    """Launch values drawn from wide ranges; all of them get over the plane or fall short of it."""
    rng = np.random.default_rng(12345)
    speed = rng.uniform(6, 14, n)
    elevation = np.radians(rng.uniform(20, 70, n))
    azimuth = np.radians(rng.uniform(-10, 10, n))
    spin = 2 * math.pi * rng.uniform(0, 60, n)
    return launch_vectors(speed, elevation, azimuth, spin)


def peer(model, velocity, spin, tolerance, method="RK45"):
    """Fly one launch with the general integrator; return (status, crossing point)."""
    ball = model.ball
    k = model.density * math.pi * ball.diameter**2 / 4 / (2 * ball.mass)
    radius, drag, g = ball.diameter / 2, ball.drag.constant, model.gravity
    if model.buoyancy:
        g *= 1 - model.density * math.pi / 6 * ball.diameter**3 / ball.mass
    wx, wy, wz = (float(w) for w in spin)
    omega = math.sqrt(wx * wx + wy * wy + wz * wz)

    def rate(_, y):
        vx, vy, vz = y[3], y[4], y[5]
        s = math.sqrt(vx * vx + vy * vy + vz * vz)
        a = -k * drag * s
        lift = k * radius * s / (2.32 * radius * omega + 0.4 * s)
        return (
            vx,
            vy,
            vz,
            a * vx + lift * (wy * vz - wz * vy),
            a * vy + lift * (wz * vx - wx * vz),
            a * vz + lift * (wx * vy - wy * vx) - g,
        )

    def plane(_, y):
        return y[2] - PLANE_HEIGHT

    def floor(_, y):
        return y[2] - radius

    plane.terminal, plane.direction = True, -1
    floor.terminal, floor.direction = True, -1
    found = solve_ivp(
        rate,
        (0, 10),
        [*START, *velocity],
        method=method,
        rtol=tolerance,
        atol=tolerance,
        events=(plane, floor),
    )
    if len(found.y_events[0]):
        return Status.CROSSED, found.y_events[0][0][:3]
    return Status.FLOOR, found.y_events[1][0][:3]


def main() -> None:
    """Print the ratio, with errors and statuses checked in the same run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--flights", type=int, default=20_000)
    parser.add_argument("--sample", type=int, default=60)
    options = parser.parse_args()
    ball = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
    model = flight_model(ball, Weather())
    velocity, spin = launches(options.flights)
    point, normal = np.array([0.0, 0.0, PLANE_HEIGHT]), np.array([0.0, 0.0, 1.0])
    ours = fly_to_plane(
        model, START, velocity, spin, point, normal, tolerance=OUR_TOLERANCE
    )  # compiles, and is checked below

    chosen = range(options.sample)
    exact = [peer(model, velocity[i], spin[i], 3e-13, "DOP853") for i in chosen]
    loose = [peer(model, velocity[i], spin[i], PEER_TOLERANCE) for i in chosen]
    steep = [i for i in chosen if abs(ours.velocity[i, 2]) >= 0.3]
    wrong_ours = sum(int(ours.status[i]) != int(exact[i][0]) for i in chosen)
    wrong_peer = sum(loose[i][0] != exact[i][0] for i in chosen)
    error_ours = max(np.abs(ours.position[i] - exact[i][1]).max() for i in steep)
    same = [i for i in steep if loose[i][0] == exact[i][0]]
    error_peer = max(np.abs(loose[i][1] - exact[i][1]).max() for i in same)

    ratios = []
    for _ in range(options.rounds):
        start = time.perf_counter()
        fly_to_plane(model, START, velocity, spin, point, normal, tolerance=OUR_TOLERANCE)
        middle = time.perf_counter()
        for i in chosen:
            peer(model, velocity[i], spin[i], PEER_TOLERANCE)
        end = time.perf_counter()
        each, theirs = (middle - start) / options.flights, (end - middle) / options.sample
        ratios.append(theirs / each)
        print(f"kernel {1e9 * each:6.0f} ns, solve_ivp {1e6 * theirs:5.0f} us a flight: {ratios[-1]:5.0f} x")
    print(f"{os.cpu_count()} cores; median ratio {statistics.median(ratios):.0f} x (target: at least 300 x)")
    print(f"largest error: kernel {error_ours:.1e} m, solve_ivp {error_peer:.1e} m (|v_z| >= 0.3 m/s)")
    print(f"wrong status of {options.sample}: kernel {wrong_ours}, solve_ivp {wrong_peer}")


if __name__ == "__main__":
    main()
