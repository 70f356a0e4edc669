"""How long do the shot windows of one position take, for three spins: every 1 degree, edges to 1e-9 m/s?

    python benchmarks/shot_windows.py [--rounds 7] [--limit 0.1]

Four cases: a level ring and an upright gate, with nothing in the way and with a beam across the path. Each
is 81 elevations by three spins, with the slowest, the slowest centred and the most forgiving shot. Printed
are the median processor time over the rounds and the best wall time as shares of the limit (0.1 s), beside
the processor time that the same number of flights takes in one batch in the same round. Edges are checked in
the same run: the margin changes sign within 2e-9 m/s of each, or is below the 1e-9 m that a crossing is good
to. Beside it the draft that is drawn while something is dragged.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import time

import numpy as np

from shotwright.flight import crossing
from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.line_of_fire import line_of_fire
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.flight.windows import shot_window
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Prism, Target, Weather

BALL = Ball("ball", 0.24, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
SPOT = FiringPosition("spot", 0.0, 3.0, 0.01, 0.005)
RING = Target("ring", (4.191, 3.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
GATE = Target(
    "gate", (5.0, 3.0, 1.8), math.pi, 0.0, corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
)
BEAM = Prism("beam", ((2.35, 1.5), (2.65, 1.5), (2.65, 4.5), (2.35, 4.5)), 2.2, 2.5)
SPINS = (0.0, 0.1, 0.2)  # S = radius x spin / speed
HEIGHT = 1.0


def games():
    """Name, game and target of the four cases."""
    for solids, what in (((), "clear"), ((BEAM,), "beam")):
        game = Game("yard", 9.0, 6.0, BALL, (RING, GATE), (SPOT,), obstacles=solids)
        for target in (RING, GATE):
            yield f"{target.name}, {what}", game, target


def windows(model, game, target, **options):
    """Find the windows of three spins."""
    return [
        shot_window(model, game, SPOT, target, release_height=HEIGHT, spin_parameter=spin, **options)
        for spin in SPINS
    ]


def flights_of(model, game, target):
    """Count the flights behind the windows."""
    count = 0
    rules = crossing._Rules
    bare = {name: getattr(rules, name) for name in ("fly_together", "fly_alone")}
    depth = 0

    def counted(name):
        def counting(self, launches, *arguments, **options):
            nonlocal count, depth
            # what lanes leave is flown alone, and was counted with them
            count += launches.flights() if depth == 0 else 0
            depth += 1
            try:
                return bare[name](self, launches, *arguments, **options)
            finally:
                depth -= 1

        return counting

    for name in bare:
        setattr(rules, name, counted(name))
    try:
        windows(model, game, target)
    finally:
        for name, function in bare.items():
            setattr(rules, name, function)
    return count


def worst_edge(model, game, target):
    """Largest margin at an end whose margin keeps its sign within 2e-9 m/s of it. [m].

    Two flights of one shot may differ by 1e-9 m; where the margin hardly changes with speed, that moves an
    end by more than it was closed in upon.
    """
    worst = 0.0
    for spin, window in zip(SPINS, windows(model, game, target), strict=True):
        line = line_of_fire(model, target, SPOT, HEIGHT, spin_parameter=spin, solids=game.obstacles)
        rows = zip(window.elevations_deg, window.azimuths_deg, window.intervals_m_s, strict=True)
        ends = [(e, a, v, s) for e, a, row in rows for low, high in row for v, s in ((low, 1), (high, -1))]
        elevation, azimuth, speed, inward = np.array(ends).T
        within, here, without = (
            line.margin_among(speed + step * inward, np.radians(elevation), np.radians(azimuth), line.solids)
            for step in (2e-9, 0.0, -2e-9)
        )
        limit = (speed <= 0.5 + 1e-9) | (speed >= 20 - 1e-9)
        changes = (np.maximum(within, here) >= 0) & ((without < 0) | limit)
        worst = max(worst, float(np.max(np.where(changes, 0.0, np.abs(here)))))
    return worst


def main() -> None:
    """Print one row for each case."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--limit", type=float, default=0.1)
    options = parser.parse_args()
    model = flight_model(BALL, Weather())
    cases = list(games())
    counts = [flights_of(model, game, target) for _, game, target in cases]  # compiles as well
    times = {name: [] for name, _, _ in cases}
    walls = {name: [] for name, _, _ in cases}
    bare = {name: [] for name, _, _ in cases}
    drafts = {name: [] for name, _, _ in cases}
    for _ in range(options.rounds):
        for (name, game, target), count in zip(cases, counts, strict=True):
            start, wall = time.process_time(), time.perf_counter()
            windows(model, game, target)
            times[name].append(time.process_time() - start)
            walls[name].append(time.perf_counter() - wall)
            start = time.process_time()
            windows(model, game, target, draft=True)
            drafts[name].append(time.process_time() - start)
            velocity, spin = launch_vectors(
                np.linspace(6.0, 12.0, count), math.radians(55), 0.0, np.full(count, 5.0)
            )
            start = time.process_time()
            fly_to_plane(model, (0, 3, HEIGHT), velocity, spin, target.centre, target.axes()[2])
            bare[name].append(time.process_time() - start)
    print(f"{os.cpu_count()} cores; three windows of 81 elevations; limit {options.limit:g} s")
    heads = f"{'processor':>10s} {'wall':>7s} {'draft':>7s} {'bare flights':>13s} {'worst edge':>11s}"
    print(f"{'case':14s} {'flights':>8s} {heads}")
    for (name, game, target), count in zip(cases, counts, strict=True):
        share = statistics.median(times[name]) / options.limit
        wall = min(walls[name]) / options.limit
        alone = statistics.median(bare[name]) / options.limit
        draft = statistics.median(drafts[name]) / options.limit
        edge = worst_edge(model, game, target)
        numbers = f"{share:9.2f}x {wall:6.2f}x {draft:6.2f}x {alone:12.2f}x {edge:9.0e} m"
        print(f"{name:14s} {count:8d} {numbers}")


if __name__ == "__main__":
    main()
