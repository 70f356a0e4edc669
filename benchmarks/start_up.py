"""How long does a command take from a cold start, measured in starts of bare Python?

    python benchmarks/start_up.py [--rounds 9] [--cold]

All commands are started in turn, round after round; printed are medians of wall time, and of its ratio to
bare Python in the same round. Compiled code is loaded from the cache of this installation, which is filled
first. `--cold` also measures one start with an empty cache: what set-up pays once.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time

BALL = ["--diameter", "178 mm", "--mass", "140 g"]
FLIGHTS = """
import numpy as np
from shotwright.flight.crossing import fly_to_floor
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
ball = Ball("ball", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
velocity = np.column_stack([np.linspace(4, 6, 300), np.zeros(300), np.full(300, 5.0)])
fly_to_floor(flight_model(ball, Weather()), (0, 0, 1), velocity, (0, -9, 0), plain={plain})
"""
VERB = ["-m", "shotwright.cli.main"]
COMMANDS = {
    "bare Python": ["-c", "pass"],
    "import numpy": ["-c", "import numpy"],
    "shotwright --help": [*VERB, "--help"],
    "shotwright flight": [*VERB, "flight", "--speed", "9 m/s", "--elevation", "55 deg", *BALL],
    "300 flights, plain": ["-c", FLIGHTS.format(plain=True)],
    "300 flights, compiled, cached": ["-c", FLIGHTS.format(plain=False)],
}


def seconds(arguments: list[str], **variables: str) -> float:
    """Start Python with these arguments; return the wall time until it has ended."""
    started = time.perf_counter()
    environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", **variables}
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL, env=environment)
    return time.perf_counter() - started


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--cold", action="store_true")
    options = parser.parse_args()
    for arguments in COMMANDS.values():  # writes bytecode, fills the cache
        seconds(arguments)
    rounds = [
        {name: seconds(arguments) for name, arguments in COMMANDS.items()} for _ in range(options.rounds)
    ]
    print("| command | wall, median | least | x bare Python |\n| --- | --- | --- | --- |")
    for name in COMMANDS:
        times = [one[name] for one in rounds]
        ratio = statistics.median(one[name] / one["bare Python"] for one in rounds)
        print(f"| {name} | {statistics.median(times):.3f} s | {min(times):.3f} s | {ratio:.1f} |")
    if options.cold:
        with tempfile.TemporaryDirectory() as folder:
            took = seconds([*VERB, "warm-up"], NUMBA_CACHE_DIR=folder)
        print(f"| shotwright warm-up, empty cache | {took:.1f} s | | |")


if __name__ == "__main__":
    main()
