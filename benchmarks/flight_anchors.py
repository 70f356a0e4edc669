"""The flight kernel against general integrators, C of its own text, and the processor's limit.

    python benchmarks/flight_anchors.py [--rounds 9] [--cases Az Ax Bz Bx] [--json FILE] [--markdown FILE]

All fly the same launches to the same plane, in turn, in one process and on one thread, at the same accuracy.
In the same run errors and statuses of all 20,000 flights are checked against the kernel's own equations flown
one by one with tiny steps, and these against `heyoka` at 1e-15 and `solve_ivp` at 3e-13. Ratios are of CPU
time, each to a measurement of the kernel just before; medians over the rounds. `flight_status.py` checks the
ends of a million other flights.

Cases: A a constant drag coefficient in still air with lasting spin, B a drag crisis, wind and fading spin; z
to a level plane at 1.2 m or the floor below, x to an upright plane at 4 m. The C text is that of the kernel's
own loops, translated and compiled here (`c_text.py`); without a C compiler its rows are left out, as are the
arithmetic limit's. `heyoka` must be installed (dependency group `benchmark`).
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

import c_text
from anchors import heyoka_peer, limit, monte_carlo, scipy_peer
from anchors.workload import Case, Ends, Launches, cases, check, draw, one_thread

from shotwright.flight.crossing import COARSE, FINE
from shotwright.flight.lanes import fly as lanes
from shotwright.flight.lanes.kinds import lane_laws

CHECKED = 20_000
SAMPLE = {"heyoka": 4_000, "solve_ivp": 60}
STUDY = {"A": 4_020, "B": 9_780}  # operations a flight of the formula's first count, at this accuracy
STRICT = ("-O3", "-march=native", "-fno-math-errno", "-fno-trapping-math", "-std=gnu11", "-shared", "-fPIC")
LOOSE = ("-O3", "-march=native", "-ffast-math", "-std=gnu11", "-shared", "-fPIC")
Work = Callable[[Launches], Ends | None]


def cpu(work: Work, launches: Launches, times: int = 1) -> float:
    """CPU time a flight. [s]"""
    started = time.process_time()
    for _ in range(times):
        work(launches)
    return (time.process_time() - started) / (times * len(launches.velocity))


def kernel(case: Case, accuracy: float) -> Work:
    def fly(launches: Launches) -> Ends:
        found = case.fly(launches, accuracy)
        return Ends(found.status, found.time, found.position)

    return fly


def in_c(case: Case, compiler: str, options: tuple[str, ...]) -> Work:
    """The kernel with its loops in C: the same wrapper, and the same care for what the lanes leave."""
    laws = lane_laws(case.model.drag, case.model.lift)
    decay = laws.drag != "steady" or case.model.ball.spin_decay > 0
    text = c_text.compile_c(laws.drag, decay=decay, compiler=compiler, options=options)
    fly = kernel(case, COARSE)

    def fly_in_c(launches: Launches) -> Ends:
        kept = lanes.compiled_lanes
        lanes.compiled_lanes = lambda *_arguments, **_options: text
        try:
            return fly(launches)
        finally:
            lanes.compiled_lanes = kept

    return fly_in_c


def contestants(case: Case, mean_time: float) -> dict[str, tuple[Work, int, bool]]:
    """What flies, on how many flights in a round, and whether its answers are checked."""
    scalar = heyoka_peer.Flights(case, 1, events=True)
    batch = heyoka_peer.Flights(case, 4, events=True)
    raw = heyoka_peer.Flights(case, 4, events=False)
    some = SAMPLE["heyoka"]
    rows: dict[str, tuple[Work, int, bool]] = {"this kernel, 1e-9 m": (kernel(case, FINE), CHECKED, True)}
    for compiler in ("gcc", "clang"):
        if shutil.which(compiler):
            rows[f"C, {compiler} -fno-math-errno"] = (in_c(case, compiler, STRICT), CHECKED, True)
            rows[f"C, {compiler} -ffast-math"] = (in_c(case, compiler, LOOSE), CHECKED, True)
    return rows | {
        "heyoka batch 4, no event": (lambda launches: raw.fly_for(launches, mean_time), some, False),
        "heyoka batch 4, terminal event": (batch.fly, some, True),
        "heyoka scalar, terminal event": (scalar.fly, some, True),
        "solve_ivp RK45": (
            lambda launches: scipy_peer.fly(case, launches),
            SAMPLE["solve_ivp"],
            True,
        ),
    }


def run_case(case: Case, launches: Launches, rounds: int) -> dict:
    """Check all contestants of a case, then time them; return the table's rows and what stands below it."""
    exact = case.fly(launches, FINE, 1e-13)
    notes = {"statuses": {str(k): int((exact.status == k).sum()) for k in (1, 2, 4)}}
    tight = heyoka_peer.Flights(case, 1, events=True, tolerance=1e-15).fly(launches.first(1000))
    notes["reference against heyoka at 1e-15"] = asdict(check(case, tight, exact))
    tight = scipy_peer.fly(case, launches.first(30), 3e-13, "DOP853")
    notes["reference against solve_ivp at 3e-13"] = asdict(check(case, tight, exact))
    ours = kernel(case, COARSE)
    rows = {"this kernel": {**asdict(check(case, ours(launches), exact)), "ns": [], "ratio": [1.0]}}
    everyone = contestants(case, float(exact.time.mean()))
    for name, (work, count, checked) in everyone.items():
        # the compiled ones are checked on all flights, the general one on those that it is timed with
        found = work(launches if checked and count > 100 else launches.first(count))
        rows[name] = {**(asdict(check(case, found, exact)) if checked else {}), "ns": [], "ratio": []}
    for _ in range(rounds):
        for name, (work, count, _checked) in everyone.items():
            before = cpu(ours, launches, 2)
            theirs = cpu(work, launches.first(count), 2 if count == CHECKED else 1)
            rows["this kernel"]["ns"].append(1e9 * before)
            rows[name]["ns"].append(1e9 * theirs)
            rows[name]["ratio"].append(theirs / before)
    return {"rows": rows, "notes": notes}


def run_limit(case: Case, launches: Launches, rounds: int) -> dict:
    """Share of the arithmetic limit, by the operations of the kernel's own text and by the study's count."""
    steps, flops = limit.operations(case, launches.first(2048), COARSE)
    measure, ours, shares, peaks = limit.peak("gcc"), kernel(case, COARSE), [], []
    for _ in range(rounds):
        seconds = cpu(ours, launches, 2)
        peaks.append(measure())
        shares.append(1.0 / (peaks[-1] * seconds))
    share = statistics.median(shares)
    return {
        "Gflop/s": statistics.median(peaks) / 1e9,
        "steps a flight": steps,
        "operations a flight": flops,
        "share of the limit": flops * share,
        f"share by {STUDY[case.name[0]]:,} operations": STUDY[case.name[0]] * share,
    }


def run_threads(case: Case, launches: Launches, rounds: int) -> float:
    """Wall time on one thread over that on all cores."""
    fly, ratios = kernel(case, COARSE), []

    def wall() -> float:
        started = time.perf_counter()
        fly(launches)
        return time.perf_counter() - started

    for _ in range(rounds):
        with one_thread():
            alone = wall()
        ratios.append(alone / wall())
    return statistics.median(ratios)


def run_growth(case: Case, rounds: int) -> list[dict]:
    """CPU time and memory a flight, from a thousand flights to a million; inputs are not counted."""
    fly, rows = kernel(case, COARSE), []
    for n in (1_000, 10_000, 100_000, 1_000_000):
        launches = draw(n)
        fly(launches)
        tracemalloc.start()
        kept = fly(launches)
        size = tracemalloc.get_traced_memory()[1] / len(kept.status)
        tracemalloc.stop()
        ns = [1e9 * cpu(fly, launches, max(1, 20_000 // n)) for _ in range(rounds)]
        rows.append({"flights": n, "ns": statistics.median(ns), "bytes": size})
    return rows


def table(name: str, result: dict) -> list[str]:
    """Write a case as a table."""
    lines = [
        f"### {name}",
        "",
        "| | error, steep (m) | error x v_n/v (m) | wrong status | ns a flight | x this kernel |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for method, row in result["rows"].items():
        checked = (
            f"{row['steep_error']:.1e} | {row['scaled_error']:.1e} | {row['wrong']} of {row['flights']:,}"
            if "wrong" in row
            else "- | - | -"
        )
        ns, ratio = statistics.median(row["ns"]), statistics.median(row["ratio"])
        lines.append(f"| {method} | {checked} | {ns:,.0f} | {ratio:,.3g} |")
    for note, value in result["notes"].items():
        shown = ", ".join(
            f"{k.replace('_', ' ')} {v:.3g}" if isinstance(v, float) else f"{k} {v}" for k, v in value.items()
        )
        lines.append(f"\n{note}: {shown}" if note == "statuses" else f"{note}: {shown}")
    return [*lines, ""]


def main() -> None:
    """Run everything, print the tables, write them where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--cases", nargs="+", default=["Az", "Ax", "Bz", "Bx"])
    parser.add_argument("--json", type=Path)
    parser.add_argument("--markdown", type=Path)
    options = parser.parse_args()
    launches, chosen = draw().first(CHECKED), cases(options.cases)
    lines: list[str] = []
    results: dict = {"cases": {}}

    def tell(*new: str) -> None:
        print("\n".join(new), flush=True)
        lines.extend(new)

    for case in chosen:
        with one_thread():
            result = run_case(case, launches, options.rounds)
            if shutil.which("gcc"):
                result["notes"]["arithmetic limit"] = run_limit(case, launches, options.rounds)
        tell(*table(case.name, result))
        results["cases"][case.name] = result
    first = chosen[0]
    results["threads"] = run_threads(first, draw(), options.rounds)
    tell(f"Two threads over one, wall, {first.name}, 100,000 flights: {results['threads']:.2f} x")
    with one_thread():
        results["monte carlo"] = monte_carlo.over_kernel(first, options.rounds)
        tell(*monte_carlo.words(results["monte carlo"]), "")
        results["growth"] = run_growth(first, min(options.rounds, 7))
    tell(f"| flights, {first.name} | ns a flight | bytes a flight |", "| --- | --- | --- |")
    tell(*(f"| {row['flights']:,} | {row['ns']:.0f} | {row['bytes']:.0f} |" for row in results["growth"]))
    if options.json:
        options.json.write_text(json.dumps(results, indent=1), encoding="utf-8")
    if options.markdown:
        options.markdown.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
