"""How often the 95 % intervals of dispersion figures cover the truth; prints the table of docs/statistics.md.

Run: python benchmarks/dispersion_coverage.py [crews]     (2 000 crews a cell by default, about ten minutes)
"""

from __future__ import annotations

import sys

import numpy as np

from shotwright.base.estimate import Estimate
from shotwright.statistics.circular import rayleigh_sigma
from shotwright.statistics.dispersion import dispersion_figures
from shotwright.statistics.elliptical import elliptical_radius, mean_radius
from shotwright.statistics.extreme_spread import simulated_groups

SHOTS = (5, 7, 10, 20)
SHORT_OVER_LONG = (1.0, 0.5, 1 / 3, 0.1)
FIGURES = ("sigma_m", "cep_m", "r95_m", "mean_radius_m", "extreme_spread_m")
DRAWS = 600


def truth(n: int, short: float) -> tuple[float, ...]:
    """True values of FIGURES with the longer standard deviation 1."""
    spread = simulated_groups(n, short, np.random.default_rng(1), 200_000)[0].mean()
    return (
        float(np.sqrt((1 + short**2) / 2)),
        float(elliptical_radius(0.5, 1.0, short)),
        float(elliptical_radius(0.95, 1.0, short)),
        float(mean_radius(1.0, short)),
        float(spread),
    )


def cell(n: int, short: float, crews: int, seed: int) -> dict[str, tuple[float, float, float]]:
    """For each figure: coverage, geometric mean of upper over lower limit, mean value."""
    rng = np.random.default_rng(seed)
    true = truth(n, short)
    covered, width, value = np.zeros(6), np.zeros(6), np.zeros(6)
    for _ in range(crews):
        points = rng.standard_normal((n, 2)) * (1.0, short)
        figures = dispersion_figures(points, rng, draws=DRAWS)
        found = [getattr(figures, name) for name in FIGURES] + [rayleigh_sigma(points)]
        for i, (estimate, right) in enumerate(zip(found, (*true, true[0]), strict=True)):
            assert isinstance(estimate, Estimate)
            covered[i] += estimate.low <= right <= estimate.high
            width[i] += np.log(estimate.high / estimate.low)
            value[i] += estimate.value / right
    return {
        name: (covered[i] / crews, float(np.exp(width[i] / crews)), value[i] / crews)
        for i, name in enumerate((*FIGURES, "round_sigma_m"))
    }


def main() -> None:
    crews = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print(f"{crews} crews a cell; standard error {np.sqrt(0.05 * 0.95 / crews):.4f}")
    print("each entry: coverage of the 95 % interval / upper over lower limit / mean value over truth\n")
    print("| n | short : long | sigma | CEP | R95 | mean radius | extreme spread | sigma as if round |")
    print("|---|---|---|---|---|---|---|---|")
    for n in SHOTS:
        for short in SHORT_OVER_LONG:
            found = cell(n, short, crews, seed=1000 * n + int(100 * short))
            shown = " | ".join(f"{c:.3f} / {w:.2f} / {v:.2f}" for c, w, v in found.values())
            print(f"| {n} | {short:.2g} | {shown} |", flush=True)


if __name__ == "__main__":
    main()
