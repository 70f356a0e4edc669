"""Is any flight's end wrong? A million of the repeatable launches against careful flights.

    python benchmarks/flight_status.py [--flights 1000000] [--law constant-cross ...] [--seed 999]

Launches, balls and planes are those of the kernel's workload (speed 6 to 14 m/s, elevation 20 to 70 degrees,
spin 0 to 60 rev/s, tilted by up to 20 degrees), variant A (constant drag) and B (drag crisis, wind, spin
decay), level plane z and upright plane x; --law flies other pairs of drag and lift law instead. The reference
flies each ball by itself, with an error estimate of 1e-12 m/s a step; the tests hold it to an independent
integrator.
Apexes within 1e-9 m of the plane are listed apart. Errors are of the crossing point, divided by |v|/|v_n|.
"""

from __future__ import annotations

import argparse
import math

import numpy as np

from shotwright.flight.crossing import Status, fly_to_plane
from shotwright.flight.lanes.kinds import STEPS
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather

START = (0.0, 0.0, 0.4)
PLANES = {"z": ((0.0, 0.0, 1.2), (0.0, 0.0, 1.0)), "x": ((4.0, 0.0, 0.0), (-1.0, 0.0, 0.0))}
PART = 100_000
# 1/L so that the spin falls to 1/e in about 4 s at 8 m/s
DECAY = 0.25 / 8 * 2 * 0.4 * 0.140 / (1.2 * math.pi / 4 * 0.178**2)
CURVE = ((2e4, 0.5), (8e4, 0.5), (1.2e5, 0.42), (1.6e5, 0.32), (3e5, 0.3))
RISE = ((0.0, 0.0), (0.3, 0.2), (1.0, 0.35), (3.0, 0.4))


def launches(n: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Draw velocity and spin, array by array in the order that fixes the workload."""
    rng = np.random.Generator(np.random.PCG64(seed))
    speed, elevation = rng.uniform(6, 14, n), np.radians(rng.uniform(20, 70, n))
    azimuth, spin = np.radians(rng.uniform(-10, 10, n)), 2 * math.pi * rng.uniform(0, 60, n)
    tilt = np.radians(rng.uniform(-20, 20, n))
    ahead = np.column_stack([np.cos(azimuth), np.sin(azimuth), 0 * azimuth])
    up = np.array([0.0, 0.0, 1.0])
    velocity = speed[:, None] * (np.cos(elevation)[:, None] * ahead + np.sin(elevation)[:, None] * up)
    back = np.column_stack([np.sin(azimuth), -np.cos(azimuth), 0 * azimuth])
    across = -np.sin(elevation)[:, None] * ahead + np.cos(elevation)[:, None] * up
    axis = np.cos(tilt)[:, None] * back + np.sin(tilt)[:, None] * across
    return velocity, spin[:, None] * axis


def model(variant: str) -> FlightModel:
    """Return variant A or B, or a pair of laws written as drag/lift."""
    if variant == "A":
        drag, lift, decay, wind = "constant", "cross", 0.0, (0.0, 0.0, 0.0)
    elif variant == "B":
        drag, lift, decay, wind = "drag-crisis", "cross", DECAY, (2.0, -1.0, 0.3)
    else:
        drag, lift = variant.split("/")
        decay, wind = DECAY, (2.0, -1.0, 0.3)
    ball = Ball(
        "ball",
        0.178,
        0.140,
        CoefficientLaw(drag, 0.5, CURVE),
        CoefficientLaw(lift, 0.2, RISE),
        spin_decay=decay,
    )
    return flight_model(ball, Weather(wind=wind), density=1.2, viscosity=1.8e-5, buoyancy=False)


def compare(variant: str, plane: str, flights: int, seed: int) -> dict[float, list[float]]:
    """Return for each accuracy: wrong ends, near ones, largest error by |v|/|v_n|, its time and apex."""
    ball, (point, normal) = model(variant), PLANES[plane]
    rows = {accuracy: [0, 0, 0.0, 0.0, 0.0] for accuracy in STEPS}
    for k in range(-(-flights // PART)):
        n = min(PART, flights - k * PART)
        velocity, spin = launches(n, seed + k)
        inputs = (ball, START, velocity, spin, point, normal)
        careful = fly_to_plane(*inputs, floor=0.0, tolerance=1e-12)
        crossed = careful.status == Status.CROSSED
        across = np.where(crossed, np.abs(careful.velocity @ normal), np.abs(careful.velocity[:, 2]))
        grazing = np.linalg.norm(careful.velocity, axis=1) / np.maximum(across, 1e-12)
        near = (plane == "z") & (np.abs(careful.apex_height - point[2]) < 1e-9)
        for accuracy, row in rows.items():
            found = fly_to_plane(*inputs, floor=0.0, accuracy=accuracy)
            wrong = found.status != careful.status
            error = np.linalg.norm(found.position - careful.position, axis=1) / grazing
            row[0] += int((wrong & ~near).sum())
            row[1] += int((wrong & near).sum())
            row[2] = max(row[2], float(error[~wrong].max()))
            row[3] = max(row[3], float(np.abs(found.apex_height - careful.apex_height).max()))
            row[4] = max(row[4], float(grazing.max()))
    return rows


def main() -> None:
    """Print one line for each variant, plane and accuracy."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--flights", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=12345)
    parser.add_argument(
        "--law", nargs="*", default=["A", "B"], help="A, B or drag/lift, e.g. constant/nathan"
    )
    options = parser.parse_args()
    print(f"{options.flights:,} flights each; errors in m, of the place divided by |v|/|v_n|")
    print("| law | plane | accuracy | wrong ends | apex within 1e-9 m | error | apex | largest |v|/|v_n| |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for variant in options.law:
        for plane in PLANES:
            for accuracy, row in compare(variant, plane, options.flights, options.seed).items():
                wrong, near, error, apex, grazing = row
                print(
                    f"| {variant} | {plane} | {accuracy:g} | {wrong} | {near} | {error:.1e} | {apex:.1e} | "
                    f"{grazing:.0f} |",
                    flush=True,
                )


if __name__ == "__main__":
    main()
