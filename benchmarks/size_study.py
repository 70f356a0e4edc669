"""Size and power of the tests that compare prototypes, by simulation; prints the table of docs/statistics.md.

Run: python benchmarks/size_study.py [pairs]     (2 000 pairs a cell by default, about ten minutes)
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator

import numpy as np

from shotwright.base.estimate import NotEstimated
from shotwright.statistics.ellipse import covariance, effective_freedom, two_centre_test
from shotwright.statistics.permutation import centre_permutation_test, spread_test
from shotwright.statistics.spread_ratio import spread_ratio

SHOTS = (5, 7, 10, 20)
LEVEL = 0.05
RANDOM_SPLITS = 499

Draw = Callable[[np.random.Generator, int], np.ndarray]


def round_normal(rng: np.random.Generator, n: int) -> np.ndarray:
    return rng.standard_normal((n, 2))


def long_normal(rng: np.random.Generator, n: int) -> np.ndarray:
    return rng.standard_normal((n, 2)) * (3.0, 1.0)


def heavy_tails(rng: np.random.Generator, n: int) -> np.ndarray:
    return rng.standard_normal((n, 2)) / np.sqrt(rng.chisquare(4, (n, 1)) / 4)


def flyers(rng: np.random.Generator, n: int) -> np.ndarray:
    return rng.standard_normal((n, 2)) * np.where(rng.random((n, 1)) < 0.1, 3.0, 1.0)


SHAPES: dict[str, Draw] = {
    "round normal": round_normal,
    "normal, 3 times as long as wide": long_normal,
    "t with 4 degrees of freedom": heavy_tails,
    "every tenth shot 3 times as wide": flyers,
}


def spread_cell(draw: Draw, n: int, ratio: float, pairs: int, seed: int) -> dict[str, float]:
    """Share of pairs in which each test rejects, and the coverage of the ratio's interval."""
    rng = np.random.default_rng(seed)
    rejected = dict.fromkeys(("permutation", "F", "F, Satterthwaite", "interval covers"), 0)
    for _ in range(pairs):
        a, b = draw(rng, n), ratio * draw(rng, n)
        test = spread_test([a, b], rng, random_splits=RANDOM_SPLITS)
        assert not isinstance(test, NotEstimated)
        ca, cb = covariance(a), covariance(b)
        va, vb = np.trace(ca) / 2, np.trace(cb) / 2
        plain = spread_ratio(va, vb, 2 * (n - 1), 2 * (n - 1))
        shaped = spread_ratio(va, vb, effective_freedom(ca, n - 1), effective_freedom(cb, n - 1))
        rejected["permutation"] += test.p <= LEVEL
        rejected["F"] += plain.f_p <= LEVEL
        rejected["F, Satterthwaite"] += shaped.f_p <= LEVEL
        rejected["interval covers"] += shaped.ratio.low <= ratio <= shaped.ratio.high
    return {name: count / pairs for name, count in rejected.items()}


def centre_cell(draw: Draw, n: int, shift: float, pairs: int, seed: int) -> dict[str, float]:
    """Share of pairs in which each test of mean points rejects; `shift` in standard deviations."""
    rng = np.random.default_rng(seed)
    rejected = dict.fromkeys(("permutation", "Hotelling"), 0)
    for _ in range(pairs):
        a, b = draw(rng, n), draw(rng, n) + np.array([shift, 0.0])
        test = centre_permutation_test([a, b], rng, random_splits=RANDOM_SPLITS)
        exact = two_centre_test(a, b)
        assert not isinstance(test, NotEstimated)
        assert not isinstance(exact, NotEstimated)
        rejected["permutation"] += test.p <= LEVEL
        rejected["Hotelling"] += exact.p <= LEVEL
    return {name: count / pairs for name, count in rejected.items()}


def rows(pairs: int) -> Iterator[str]:
    spreads = [(shape, 1.0) for shape in SHAPES] + [("round normal", r) for r in (1.5, 2.0, 3.0)]
    for place, (shape, ratio) in enumerate(spreads):
        for n in SHOTS:
            cell = spread_cell(SHAPES[shape], n, ratio, pairs, seed=100 * place + n)
            shown = " | ".join(f"{cell[name]:.3f}" for name in cell)
            yield f"| {shape} | {ratio:g} | {n} | {shown} |"
    yield ""
    yield "| shape | shift (sd) | n | permutation | Hotelling |"
    yield "|---|---|---|---|---|"
    centres = [(shape, 0.0) for shape in SHAPES] + [("round normal", s) for s in (1.0, 2.0)]
    for place, (shape, shift) in enumerate(centres):
        for n in SHOTS:
            cell = centre_cell(SHAPES[shape], n, shift, pairs, seed=5000 + 100 * place + n)
            shown = " | ".join(f"{cell[name]:.3f}" for name in cell)
            yield f"| {shape} | {shift:g} | {n} | {shown} |"


def main() -> None:
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print(f"{pairs} pairs a cell; standard error {np.sqrt(0.05 * 0.95 / pairs):.4f} at 0.05\n")
    print("| shape | true ratio | n | permutation | F | F, Satterthwaite | its interval covers |")
    print("|---|---|---|---|---|---|---|")
    for row in rows(pairs):
        print(row, flush=True)


if __name__ == "__main__":
    main()
