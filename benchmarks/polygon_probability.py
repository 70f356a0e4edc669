"""How fast, and how exact, is the probability inside a polygon against the general ways to find it?

    python benchmarks/polygon_probability.py [--rounds 9] [--positions 10000] [--sample 200]

Each position has its own mean, covariance and hexagon. In turn, in one process: the compiled edge integral
(normal, and Student t with 5 degrees of freedom), the plain one, and Monte Carlo with 10,000 draws a position
on a sample; scipy's ``multivariate_normal.cdf`` knows rectangles only and gets them. CPU times; ratios are
medians of those of each round. Errors are checked in the same run: against 8,000 nodes an edge, and scipy's
rectangles against ours.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy import stats

from shotwright.statistics import polygon
from shotwright.statistics.polygon import normal_in_polygon, student_t_in_polygon

NU = 5.0
DRAWS = 10_000
LOW, HIGH = np.array([-0.3, -0.2]), np.array([0.25, 0.3])
BOX = np.array([(-0.3, -0.2), (0.25, -0.2), (0.25, 0.3), (-0.3, 0.3)])


def positions(n: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Means, covariances and foreshortened hexagons."""
    rng = np.random.default_rng(7)
    sd, correlation = rng.uniform(0.05, 0.5, (n, 2)), rng.uniform(-0.7, 0.7, n)
    covariance = np.zeros((n, 2, 2))
    covariance[:, 0, 0], covariance[:, 1, 1] = sd.T**2
    covariance[:, 0, 1] = covariance[:, 1, 0] = correlation * sd.prod(axis=1)
    angle = np.arange(6) * np.pi / 3
    hexagon = 0.3 * np.column_stack([np.cos(angle), np.sin(angle)])
    squeezed = np.column_stack([rng.uniform(0.5, 1.0, n), np.ones(n)])
    return rng.normal(0, 0.25, (n, 2)), covariance, hexagon * squeezed[:, None, :]


def reference(mean, covariance, corners, nu: float | None) -> np.ndarray:
    """Green's integral by its definition: 400 panels of 20 nodes on each edge."""
    white = np.linalg.inv(np.linalg.cholesky(covariance))
    seen = np.einsum("nij,nkj->nki", white, corners - mean[:, None, :])
    points, weights = np.polynomial.legendre.leggauss(20)
    panels = (np.arange(400)[:, None] + (points + 1) / 2).ravel() / 400
    shares = np.tile(weights / 800, 400)
    found = np.zeros(len(mean))
    for k in range(corners.shape[1]):
        a, b = seen[:, k - 1], seen[:, k]
        cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        for i in range(len(mean)):
            r2 = ((a[i] + np.outer(panels, b[i] - a[i])) ** 2).sum(axis=1)
            inside = -np.expm1(-r2 / 2 if nu is None else -nu / 2 * np.log1p(r2 / nu))
            found[i] += cross[i] * np.sum(shares * inside / r2) / (2 * np.pi)
    return found


def in_hexagon(points: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """Whether points lie inside a convex polygon, anticlockwise."""
    inside = np.ones(len(points), bool)
    for k in range(len(corners)):
        a, side = corners[k - 1], corners[k] - corners[k - 1]
        inside &= side[0] * (points[:, 1] - a[1]) - side[1] * (points[:, 0] - a[0]) >= 0
    return inside


def monte_carlo(rng: np.random.Generator, mean, covariance, corners) -> np.ndarray:
    """Share of draws inside, position by position."""
    roots = np.linalg.cholesky(covariance)
    return np.array(
        [
            in_hexagon(rng.standard_normal((DRAWS, 2)) @ root.T + m, polygon).mean()
            for m, root, polygon in zip(mean, roots, corners, strict=True)
        ]
    )


def plainly(mean, covariance, corners) -> np.ndarray:
    """The same as the first row, without the compiled kernel."""
    kept, polygon._MANY = polygon._MANY, 10**9
    try:
        return normal_in_polygon(mean, covariance, corners)
    finally:
        polygon._MANY = kept


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--positions", type=int, default=10_000)
    parser.add_argument("--sample", type=int, default=200)
    options = parser.parse_args()
    mean, covariance, corners = positions(options.positions)
    some = slice(options.sample)
    few = mean[some], covariance[some], corners[some]
    rng = np.random.default_rng(1)
    normals = [stats.multivariate_normal(m, c) for m, c in zip(mean[some], covariance[some], strict=True)]

    def rectangles() -> np.ndarray:
        return np.array([one.cdf(HIGH, lower_limit=LOW) for one in normals])

    n, k = options.positions, options.sample
    rows: dict[str, tuple[Callable[[], np.ndarray], int]] = {
        "edge integral, normal": (lambda: normal_in_polygon(mean, covariance, corners), n),
        "edge integral, one hexagon for all": (lambda: normal_in_polygon(mean, covariance, corners[0]), n),
        f"edge integral, Student t, nu = {NU:g}": (
            lambda: student_t_in_polygon(mean, covariance, corners, NU),
            n,
        ),
        "edge integral, normal, plain": (lambda: plainly(mean, covariance, corners), n),
        "scipy multivariate_normal.cdf, rectangle": (rectangles, k),
        f"Monte Carlo, {DRAWS:,} draws": (lambda: monte_carlo(rng, *few), k),
    }
    found = {name: work() for name, (work, _) in rows.items()}  # compiles, and is checked below
    exact = reference(mean[: 10 * k], covariance[: 10 * k], corners[: 10 * k], None)
    exact_t = reference(mean[: 10 * k], covariance[: 10 * k], corners[: 10 * k], NU)
    names = list(rows)
    wanted = {
        names[0]: exact,
        names[1]: plainly(mean, covariance, corners[0]),
        names[2]: exact_t,
        names[3]: exact,
        names[4]: normal_in_polygon(mean, covariance, BOX),
        names[5]: exact,
    }
    rounds = []
    for _ in range(options.rounds):
        times = {}
        for name, (work, count) in rows.items():
            started = time.process_time()
            work()
            times[name] = (time.process_time() - started) / count
        rounds.append(times)
    print("| method | largest error | us a position | x the first |\n| --- | --- | --- | --- |")
    for name in names:
        both = min(len(found[name]), len(wanted[name]))
        error = np.abs(found[name][:both] - wanted[name][:both]).max()
        us = 1e6 * statistics.median(one[name] for one in rounds)
        ratio = statistics.median(one[name] / one[names[0]] for one in rounds)
        print(f"| {name} | {error:.1e} | {us:.3g} | {ratio:.3g} |")
    print(f"\nTargets: error at most 1e-9, at most 1 us a position, over {n:,} positions.")


if __name__ == "__main__":
    main()
