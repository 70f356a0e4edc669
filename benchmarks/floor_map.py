"""How long does a whole-floor map take: 8 m by 8 m in steps of 5 cm, 1,000 draws a place, on all cores?

    python benchmarks/floor_map.py [--step 0.05] [--draws 1000] [--workers 0]

Limits: the first coarse picture within 1 s, all within 20 s on two cores. Printed for each round are the
processor time of this process over the number of cores, and wall time, as shares of the limits; the rounds
are computed here, one after the other. With --workers the last round is computed once more in that many
processes, its wall time is printed, and its numbers are compared bit for bit. Errors are checked in the same
run: 24 places flown with 12,000 balls.
"""

from __future__ import annotations

import argparse
import math
import os
import time

import numpy as np

from shotwright.bench.sweeps.run import run_chunks
from shotwright.choice.floor_cells import SCORES
from shotwright.choice.floor_map import FloorValues, checked_error, floor_mapper, floor_of, rounds_of
from shotwright.flight.chance import Scatter, Surroundings
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, Post, Prism, Target, Weather
from shotwright.trials.records import Prototype

BALL = Ball(
    "ball",
    0.178,
    0.14,
    CoefficientLaw("constant", 0.5),
    CoefficientLaw("cross"),
    diameter_sd=0.001,
    mass_sd=0.002,
)
RING = Target("level ring", (4.0, 4.0, 2.2), 0.0, math.pi / 2, radius=0.4)
GATE = Target(
    "upright", (8.0, 4.0, 2.0), math.pi, 0.0, corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
)
WALL = Prism("wall", ((2.0, 2.0), (2.3, 2.0), (2.3, 6.0), (2.0, 6.0)), 0.0, 1.5)
POST = Post("post", 5.5, 5.5, 0.1, 0.0, 2.6)
LAUNCHER = Prototype("wheel", "", 0.6, math.radians(30), math.radians(75), 4.0, 14.0, 0.15, 0.01)
AROUND = Surroundings(0.02, 0.01, 0.002, 0.001, 0.01)
FIRST, ALL = 1.0, 20.0  # s


def scatter(draws):
    """Draws of a launch spread as a few shots leave them."""
    rng = np.random.default_rng(0)
    spread = np.exp(0.3 * rng.normal(size=(3, draws)))
    return Scatter(
        speed=0.02 * spread[0],
        elevation=0.012 * spread[1],
        azimuth=0.012 * spread[2],
        speed_offset=0.006 * rng.normal(size=draws),
        elevation_offset=np.zeros(draws),
        azimuth_offset=0.004 * rng.normal(size=draws),
    )


def here(mapper, chunks):
    """Compute chunks in this process."""
    return [mapper(chunk) for chunk in chunks]


def main() -> None:
    """Print one block for each case."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--step", type=float, default=0.05)
    parser.add_argument("--draws", type=int, default=1000)
    parser.add_argument("--workers", type=int, default=0)
    options = parser.parse_args()
    floor, cores = floor_of((0.0, 8.0), (0.0, 8.0), options.step), os.cpu_count() or 1
    model, spread = flight_model(BALL, Weather()), scatter(options.draws)

    def mapper_for(target, solids):
        return floor_mapper(model, BALL, LAUNCHER, target, spread, AROUND, solids, floor, 1)

    mapper_for(RING, (WALL,))(np.arange(0, len(floor.x) * len(floor.y), 97)[:64])  # compiles
    print(f"{cores} cores; {len(floor.x) * len(floor.y)} places, {options.draws} draws each")
    for target, solids in ((RING, ()), (GATE, ()), (RING, (WALL, POST))):
        start, wall = time.process_time(), time.perf_counter()
        kept: list[FloorValues] = []

        def seen(values, start=start, wall=wall, kept=kept):
            kept[:] = [values]
            spent, passed = time.process_time() - start, time.perf_counter() - wall
            done = int(np.sum(values.code >= 0))
            limit = FIRST if done < len(values.code) / 100 else ALL
            quiet, loaded = spent / cores / limit, passed / limit
            print(f"  {done:7d} places: {quiet:5.2f} of {limit:g} s (processor time), {loaded:5.2f} (wall)")

        print(f"{target.name}, {len(solids)} solids")
        last = rounds_of(mapper_for(target, solids), here, seen)
        values = kept[0]
        off, error, count = checked_error(last, values, 1)
        scores = values.code == SCORES
        print(
            f"  check: {count} places, largest difference {off:.4f} (standard error {error:.4f}); "
            f"{np.mean(values.bent[scores]):.1%} of the places flown"
        )
        if options.workers:
            chunks = last.chunks(np.arange(len(values.code)))
            wall = time.perf_counter()
            found = run_chunks(chunks, last, workers=options.workers)
            passed = time.perf_counter() - wall
            same = all(
                np.array_equal(getattr(part, name), getattr(values, name)[chunk], equal_nan=True)
                for chunk, part in zip(chunks, found, strict=True)
                for name in FloorValues.__dataclass_fields__
            )
            print(f"  last round in {options.workers} processes: {passed:.1f} s, same bit for bit: {same}")


if __name__ == "__main__":
    main()
