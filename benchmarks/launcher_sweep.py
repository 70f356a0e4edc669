"""A sweep of launcher settings to hit probability: flights per second beside the kernel's own figure.

    python benchmarks/launcher_sweep.py            # 200 x 200 settings, 1,000 draws each: 40 million flights
    python benchmarks/launcher_sweep.py --cells 40 # a short one

The kernel's own figure comes from the same run: after each chunk some of its launches are flown by
`fly_to_plane` alone, in the same process. Times are processor seconds, so that busy neighbours count little.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time
from importlib import resources

import numpy as np

from shotwright.bench.launcher_sweep import CountChunk
from shotwright.bench.sweeps.chunks import Chunk, seeded
from shotwright.bench.sweeps.run import run_chunks
from shotwright.choice.predicted import Situation
from shotwright.choice.sweeping import Grid, HitCounts
from shotwright.flight.crossing import COARSE, fly_to_plane
from shotwright.flight.model import flight_model
from shotwright.game.reading import game_from_text
from shotwright.launcher.reaching import bearing
from shotwright.launcher.reading import launchers_from_text
from shotwright.launcher.shots import drawn_inputs


class Timed:
    """One chunk of the sweep, then some of its launches by the kernel alone; processor seconds of each."""

    def __init__(self, counts: HitCounts) -> None:
        self.counts = counts

    def __call__(self, chunk: Chunk[tuple[int, int]]) -> tuple[np.ndarray, float, float, int]:
        if chunk.index < 2 * (os.cpu_count() or 1):  # load what is compiled before the clock starts
            self.counts.count(chunk.item[0], chunk.item[0] + 1)
        begin = time.process_time()
        hits = CountChunk(self.counts)(chunk)
        swept = time.process_time() - begin
        launches = self.launches(*chunk.item)
        begin = time.process_time()
        fly_to_plane(*launches, accuracy=COARSE)
        return hits, swept, time.process_time() - begin, len(launches[1])

    def launches(self, first: int, last: int) -> tuple[object, ...]:
        one = self.counts.situation
        rng = np.random.default_rng([self.counts.seed, 3])
        normals = rng.standard_normal((self.counts.draws, one.columns))
        last = min(last, first + max(1, 32_000 // self.counts.draws))
        settings = {k: v[:, None] for k, v in self.counts.grid.settings(first, last).items()}
        inputs = drawn_inputs(one.described, one.model.ball, settings, normals)
        releases = one.described.release({k: v.ravel() for k, v in inputs.items()})
        aim = bearing(one.position, one.target)
        point, velocity, spin = releases.in_field(one.position.x, one.position.y, aim)
        return one.model, point, velocity, spin, np.asarray(one.target.centre), one.target.axes()[2]


def yard(position: str, target: str) -> Situation:
    folder = resources.files("shotwright.bench") / "yard"
    game = game_from_text((folder / "game.toml").read_text(encoding="utf-8"))
    launchers = launchers_from_text((folder / "launchers.toml").read_text(encoding="utf-8"))
    piston = {one.prototype: one for one in launchers}["piston"]
    model = flight_model(game.ball, game.weather)
    return Situation(model, piston, game.position(position), game.target(target), game.obstacles)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cells", type=int, default=200)
    parser.add_argument("--draws", type=int, default=1000)
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    asked = parser.parse_args()
    situation = yard("rail", "lantern")
    ranges = [(one.name, one.low, one.high) for one in situation.described.settings]
    lines = [tuple(np.linspace(low, high, asked.cells).tolist()) for _, low, high in ranges]
    grid = Grid(ranges[0][0], ranges[1][0], *lines)
    counts = HitCounts(situation, grid, asked.draws, 1)
    size = max(1, 160_000 // asked.draws)
    edges = [(k, min(k + size, grid.cells)) for k in range(0, grid.cells, size)]

    def told(fraction: float, what: str = "") -> None:
        print(f"\r{100 * fraction:3.0f} % {what}   ", end="", flush=True)

    begin = time.perf_counter()
    found = run_chunks(seeded(edges, 1), Timed(counts), workers=asked.workers, progress=told)
    wall = time.perf_counter() - begin
    flights = grid.cells * asked.draws
    swept, alone = sum(one[1] for one in found), sum(one[2] for one in found)
    chunks = list(zip(found, edges, strict=True))
    ratios = [one[1] / ((b - a) * asked.draws) / (one[2] / one[3]) for one, (a, b) in chunks]
    print(f"\n{flights:,} flights to hit probability, {asked.workers} processes")
    print(f"  wall time {wall:.0f} s, neighbours and start of the processes included")
    each, flown = swept / flights, alone / sum(one[3] for one in found)
    print(f"  processor time {swept:.0f} s: {1e9 * each:.0f} ns a flight, {1 / each:,.0f} flights/s a core")
    print(f"  kernel alone, launches of the same cells: {1e9 * flown:.0f} ns a flight")
    print(f"  the sweep takes {statistics.median(ratios):.2f} x its flights alone (median of chunks)")
    print(f"  hits {sum(int(one[0].sum()) for one in found):,}, seed 1")


if __name__ == "__main__":
    main()
