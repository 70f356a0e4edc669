"""What does a million-cell grid of shots cost through series, against flying every cell?

    python benchmarks/window_surrogate.py [--rounds 7] [--cells 1000]

Speed 6 to 14 m/s by elevation 20 to 70 degrees, 1,000 by 1,000 cells, the edge of the region that gets to the
plane inside, for a level, an upright and a tilted opening. In each round the fit, the grid and the flights of
100,000 of its cells are timed in turn, in processor time; medians over the rounds are printed. Then all cells
are flown, and the status and the crossing point of every cell are compared with its flight.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import time

import numpy as np

from shotwright.flight.crossing import Status
from shotwright.flight.line_of_fire import line_of_fire
from shotwright.flight.model import flight_model
from shotwright.flight.surrogate import shot_surrogate
from shotwright.flight.surrogate_grid import quantities
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Target, Weather

BALL = Ball("ball", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
SPOT = FiringPosition("spot", 0.0, 3.0, 0.01, 0.005)
CORNERS = ((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
TARGETS = (
    Target("level", (4.191, 3.0, 3.048), 0.0, math.pi / 2, radius=0.2286),
    Target("upright", (5.0, 3.0, 1.8), math.pi, 0.0, corners=CORNERS),
    Target("tilted", (5.0, 3.0, 1.8), math.pi, 0.6, corners=CORNERS),
)
SPEEDS = (6.0, 14.0)
SPAN = (math.radians(20), math.radians(70))
SPIN = 30.0  # rad/s
AT_ONCE = 100_000


def worst(line, grid, azimuth):
    """Largest error of a crossing point, and wrong statuses, over all cells."""
    error, wrong = 0.0, 0
    row, column = (x.ravel() for x in np.indices(grid.status.shape))
    for begin in range(0, len(row), AT_ONCE):
        i, j = row[begin : begin + AT_ONCE], column[begin : begin + AT_ONCE]
        flown = line.fly(grid.speeds[j], grid.elevations[i], np.full(len(i), azimuth))
        wrong += int(np.sum(flown.status != grid.status[i, j]))
        off = np.abs(quantities(line, flown)[1:3] - grid.values[1:3, i, j])
        error = max(error, float(np.nanmax(off, initial=0.0)))
    return error, wrong


def main() -> None:
    """Print one row for each opening."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--cells", type=int, default=1000)
    options = parser.parse_args()
    model = flight_model(BALL, Weather())
    speeds, elevations = np.linspace(*SPEEDS, options.cells), np.linspace(*SPAN, options.cells)
    cells = options.cells**2
    rng = np.random.default_rng(1)
    some = rng.integers(0, options.cells, (2, min(AT_ONCE, cells)))
    print(f"{os.cpu_count()} cores; {cells} cells; processor time")
    print(
        f"{'opening':8s} {'ns a cell':>9s} {'with fit':>9s} {'flight':>8s} {'ratio':>7s} {'fitted to':>9s} "
        f"{'flown':>6s} {'cross':>6s} {'error':>9s} {'wrong status':>12s}"
    )
    for target in TARGETS:
        line = line_of_fire(model, target, SPOT, 1.0, spin=SPIN)
        series = shot_surrogate(line, SPEEDS, SPAN)  # compiles
        series.on_grid(speeds, elevations)
        fit, each, kernel, ratio = [], [], [], []
        for _ in range(options.rounds):
            a = time.process_time()
            series = shot_surrogate(line, SPEEDS, SPAN)
            b = time.process_time()
            grid = series.on_grid(speeds, elevations)
            c = time.process_time()
            line.fly(speeds[some[0]], elevations[some[1]], np.full(some.shape[1], series.azimuth))
            d = time.process_time()
            fit.append((b - a) / cells)
            each.append((c - b) / cells)
            kernel.append((d - c) / some.shape[1])
            ratio.append(kernel[-1] / each[-1])
        error, wrong = worst(line, grid, series.azimuth)
        middle = statistics.median
        print(
            f"{target.name:8s} {1e9 * middle(each):9.1f} {1e9 * (middle(each) + middle(fit)):9.1f} "
            f"{1e9 * middle(kernel):8.0f} {middle(ratio):6.0f}x {series.flights:9d} {grid.flown:6d} "
            f"{np.mean(grid.status == Status.CROSSED):6.2f} {error:7.1e} m {wrong:12d}"
        )


if __name__ == "__main__":
    main()
