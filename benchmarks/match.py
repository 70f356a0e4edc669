"""Matches of a plan: 10,000 of them, in the kernel and with SimPy's processes, on one process and on two.

Run from the checkout's environment: python benchmarks/match.py. It compiles first, and times a warm cache.
"""

from __future__ import annotations

import argparse
import statistics
import time
from importlib import resources

import numpy as np

from shotwright.bench.sweeps.run import run_chunks
from shotwright.match.case import Chances, MatchCase, match_case
from shotwright.match.processes import tell_match
from shotwright.match.reading import match_from_text
from shotwright.match.sweep import MatchSweep

LIMIT = 10.0  # s for 10,000 matches on two cores
MATCHES = 10_000
PLACES = {"rail": (4.5, 0.4), "open yard": (4.0, 3.0), "start corner": (2.2, 5.6)}


def yard_case() -> MatchCase:
    """First plan of the demonstration, with a hit probability of 80 % everywhere."""
    import dataclasses

    text = (resources.files("shotwright.bench") / "yard" / "match.toml").read_text(encoding="utf-8")
    read = match_from_text(text)
    positions = tuple(
        dataclasses.replace(one, x=PLACES[one.name][0], y=PLACES[one.name][1], hit=0.8, points=3.0)
        for one in read.positions
    )
    file = dataclasses.replace(read, positions=positions)
    return match_case(file, file.plans[0])


def timed(sweep: MatchSweep, workers: int) -> float:
    """Wall time of all matches. [s]."""
    begin = time.perf_counter()
    run_chunks(MatchSweep.chunks(MATCHES), sweep, workers=workers)
    return time.perf_counter() - begin


def with_simpy(case: MatchCase, some: int) -> tuple[float, float]:
    """CPU time of all matches with SimPy on one core, from `some` of them [s]; events of a match."""
    chances = Chances(np.random.SeedSequence(1), some, len(case.stay), len(case.depots)).drawn(4)
    begin, events = time.process_time(), 0
    for draws in chances:
        events += len(tell_match(case, draws)[0])
    return (time.process_time() - begin) * MATCHES / some, events / some


def main() -> None:
    """Print the table."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--rounds", type=int, default=5)
    rounds = arguments.parse_args().rounds
    case = yard_case()
    sweep = MatchSweep((case,), 1)
    sweep((0, 10))
    rows: dict[str, list[float]] = {"kernel, one process": [], "kernel, two processes": [], "SimPy, one": []}
    events = 0.0
    for _ in range(rounds):
        rows["kernel, one process"].append(timed(sweep, 1))
        rows["kernel, two processes"].append(timed(sweep, 2))
        simpy, events = with_simpy(case, 300)
        rows["SimPy, one"].append(simpy)
    print(f"{MATCHES} matches of {events:.0f} events, medians of {rounds} rounds\n")
    print("| 10,000 matches | time | share of the limit of 10 s |\n| --- | --- | --- |")
    for name, values in rows.items():
        middle = statistics.median(values)
        print(f"| {name} | {middle:.2f} s | {middle / LIMIT:.3f} |")
    ratio = statistics.median(
        a / b for a, b in zip(rows["SimPy, one"], rows["kernel, one process"], strict=True)
    )
    print(f"\nSimPy over the kernel, one process: {ratio:.0f}")


if __name__ == "__main__":
    main()
