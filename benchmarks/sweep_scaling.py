"""How much faster is a sweep on two workers than on one, and what does a chunk cost beside its work?

    python benchmarks/sweep_scaling.py [--rounds 5] [--chunks 16] [--balls 800] [--scheduler ADDRESS]

The sweep is that of the verb ``settings``: hit counts of one launcher over a grid of speeds and elevations.
One and two workers take turns in one process, each a pool of processes with one thread each. Printed are wall
times with their ratio round by round, and CPU times, which a busy neighbour changes less: of a chunk, and of
the whole pool with its start. The counts must be the same bit for bit. At the end: the bytes that travel, and
the time of an empty chunk, with a scheduler's address also through the cluster.
"""

from __future__ import annotations

import argparse
import math
import os
import pickle
import resource
import statistics
import time
from dataclasses import dataclass

import numpy as np

from shotwright.base.cores import LIMIT
from shotwright.base.progress import silent
from shotwright.bench.setting_pieces import CountPiece
from shotwright.bench.sweeps.chunks import Chunk, seeded
from shotwright.bench.sweeps.pool import run_in_pool
from shotwright.bench.sweeps.run import run_chunks
from shotwright.choice.setting_grid import GridLauncher, GridPiece, GridTask
from shotwright.flight.chance import Scatter
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Target, Weather
from shotwright.trials.records import Prototype

SPEEDS = tuple(np.linspace(7.0, 10.0, 41).tolist())


@dataclass(frozen=True)
class Timed:
    """A chunk function that also says how much CPU time it took."""

    function: CountPiece

    def __call__(self, chunk):
        start = time.process_time()
        found = self.function(chunk)
        return found, time.process_time() - start


def nothing(chunk: Chunk[int]) -> int:
    """An empty chunk: what is left is the cost of sending it and its answer."""
    return chunk.item


def task() -> GridTask:
    rng = np.random.default_rng(3)
    scatter = Scatter(*rng.uniform(0.005, 0.02, (3, 2000)), *rng.normal(0, 0.002, (3, 2000)))
    grid = GridLauncher(
        Prototype("thrower", release_height=0.6, spin_parameter=0.2),
        scatter,
        SPEEDS,
        (0.85, 0.95, 1.05, 1.15),
    )
    ring = Target("ring", (4.0, 0.3, 2.0), math.pi, math.pi / 2, radius=0.4)
    ball = Ball(
        "foam", 0.178, 0.140, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"), mass_sd=0.002
    )
    return GridTask(
        flight_model(ball, Weather()), (grid,), ((FiringPosition("spot", 0, 0, 0.02, 0.01), ring),), ()
    )


def timed(chunks, function, workers: int):
    """Wall time, CPU time of all workers, results."""
    start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    found = run_in_pool(chunks, function, workers, silent)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - start, cpu, found


def main() -> None:
    """Print walls, ratios, CPU per chunk, and what travels."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--chunks", type=int, default=16)
    parser.add_argument("--balls", type=int, default=800)
    parser.add_argument("--scheduler")
    options = parser.parse_args()
    os.environ[LIMIT] = "1"
    function = Timed(CountPiece(task()))
    chunks = seeded([GridPiece(0, 0, 0, 4, options.balls) for _ in range(options.chunks)], 1)
    flights = len(SPEEDS) * 4 * options.balls
    function(chunks[0])  # compiles, once for all processes
    empty = seeded([1, 2], 1)
    walls, totals, starts, costs = ({1: [], 2: []} for _ in range(4))
    ratios = []
    sums = set()
    for _ in range(options.rounds):
        for workers in (1, 2):
            starts[workers].append(timed(empty, nothing, workers)[1])
            wall, cpu, found = timed(chunks, function, workers)
            walls[workers].append(wall)
            totals[workers].append(cpu)
            costs[workers] += [cpu for _, cpu in found]
            sums.add(np.sum([hits for hits, _ in found], axis=0).tobytes())
        ratios.append(walls[1][-1] / walls[2][-1])
        print(f"1 worker {walls[1][-1]:6.2f} s, 2 workers {walls[2][-1]:6.2f} s: {ratios[-1]:.2f} x")
    print(
        f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; "
        f"{options.chunks} chunks of {flights:,} flights"
    )
    print(f"median ratio of walls {statistics.median(ratios):.2f} x; same bits: {len(sums) == 1}")
    for workers in (1, 2):
        print(
            f"{workers} worker(s): medians: wall {statistics.median(walls[workers]):.2f} s, CPU "
            f"{statistics.median(totals[workers]):.2f} s, of it start of the pool "
            f"{statistics.median(starts[workers]):.2f} s; CPU per chunk "
            f"{statistics.median(costs[workers]):.3f} s, least {min(costs[workers]):.3f} s"
        )
    many = seeded(list(range(2000)), 1)
    each = (timed(many, nothing, 1)[1] - statistics.median(starts[1])) / len(many)
    answer = function(chunks[0])[0]
    print(
        f"an empty chunk {1e3 * each:.2f} ms of CPU in its worker; bytes: chunk "
        f"{len(pickle.dumps(chunks[0]))}, answer {len(pickle.dumps(answer))}, shared part "
        f"{len(pickle.dumps(function))} once a worker"
    )
    if options.scheduler:
        start = time.perf_counter()
        run_chunks(many, nothing, scheduler=options.scheduler)
        print(f"an empty chunk through the cluster {1e3 * (time.perf_counter() - start) / len(many):.2f} ms")


if __name__ == "__main__":
    main()
