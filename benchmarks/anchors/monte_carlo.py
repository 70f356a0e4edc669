"""Hits among a million scattered throws: draws, conversion, flights and counting, over the flights alone."""

from __future__ import annotations

import math
import statistics
import time
import tracemalloc
from collections.abc import Callable

import numpy as np

from anchors.workload import START, Case
from shotwright.flight.chance import Aim, Scatter, Surroundings, flown_hits, scattered_launches
from shotwright.flight.crossing import COARSE, fly_to_plane
from shotwright.flight.model import FlightModel, launch_vectors
from shotwright.flight.throws import counted_hits
from shotwright.game.records import Target

THROWS = 200_000
SEED = 7
ELEVATION, SPIN = math.radians(60), 0.3  # S = r omega / v


def speed_to(model: FlightModel, target: Target) -> float:
    """Speed whose flight passes the ring's centre, by halving."""
    low, high = 4.0, 16.0
    for _ in range(40):
        speed = (low + high) / 2
        velocity, spin = launch_vectors(
            *(np.array([one]) for one in (speed, ELEVATION, 0.0, SPIN * speed / model.radius))
        )
        found = fly_to_plane(model, START, velocity, spin, target.centre, (0, 0, 1))
        far = found.crossed[0] and found.position[0, 0] > target.centre[0]
        low, high = (low, speed) if far else (speed, high)
    return (low + high) / 2


def over_kernel(case: Case, rounds: int) -> dict:
    """Time both ways to count, and the bare flights of as many such launches."""
    model, ball = case.model, case.model.ball
    target = Target("ring", (4.0, 0.0, 1.2), 0.0, math.pi / 2, radius=0.3)
    aim = Aim(np.array(START), speed_to(model, target), ELEVATION, 0.0, SPIN)
    scatter = Scatter(0.02, math.radians(1), math.radians(1))
    around = Surroundings(place_sd=0.02, spin_parameter_sd=0.04)
    normals = np.random.default_rng(SEED).standard_normal((THROWS, 8))
    launches = scattered_launches(model, aim, scatter, around, normals, ball=ball)
    normal = target.axes()[2]

    def bare() -> None:
        fly_to_plane(
            model,
            launches.point,
            launches.velocity,
            launches.spin,
            target.centre,
            normal,
            accuracy=COARSE,
            plain=False,
        )

    def counted() -> int:
        return counted_hits(model, target, aim, scatter, around, THROWS, SEED, ball=ball)

    def in_arrays() -> int:
        drawn = np.random.default_rng(SEED).standard_normal((THROWS, 8))
        return int(flown_hits(model, target, aim, scatter, around, drawn, ball=ball).sum())

    def cpu(work: Callable[[], object]) -> float:
        started = time.process_time()
        work()
        return time.process_time() - started

    bare()
    hits = {"counted": counted(), "in arrays": in_arrays()}
    tracemalloc.start()
    counted()
    kept = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    times = [(cpu(bare), cpu(counted), cpu(in_arrays)) for _ in range(rounds)]
    return {
        "bare ns a throw": statistics.median(1e9 * one[0] / THROWS for one in times),
        "counted over bare": statistics.median(one[1] / one[0] for one in times),
        "in arrays over bare": statistics.median(one[2] / one[0] for one in times),
        "share of hits, counted": hits["counted"] / THROWS,
        "share of hits, in arrays": hits["in arrays"] / THROWS,
        "bytes at work": kept,
    }


def words(found: dict) -> list[str]:
    """Write the figures as sentences."""
    times = f"counted as they are drawn {found['counted over bare']:.2f} x"
    times += f", with arrays in between {found['in arrays over bare']:.2f} x"
    hits = f"{found['share of hits, counted']:.4f} and {found['share of hits, in arrays']:.4f} (other draws)"
    return [
        f"Monte Carlo, {THROWS:,} throws, over the bare flights: {times}.",
        f"Hits {hits}; {found['bytes at work'] / 1e6:.1f} MB at work, however many are thrown.",
    ]
