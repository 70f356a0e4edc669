"""How much of a spread is from ball to ball, and how much comes back with the same ball."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike

from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.intervals import as_values, sd_factors


@dataclass(frozen=True, slots=True)
class VarianceComponents(Result):
    """One-way random-effects analysis of variance.

    Parameters
    ----------
    groups, readings : int
        Balls that were fired, and shots. [-]
    repeat_sd : Estimate or NotEstimated
        Standard deviation with one and the same ball. [unit of the readings]
    between_variance_raw : float
        (MSB - MSW) / n0, as it comes: negative when balls differ less than chance makes them. [unit^2]
    between_sd : Estimate
        Root of the variance between balls, negative values clipped to 0. [unit of the readings]
    total_sd : float
        Root of repeat plus between variance, what a match with many balls sees. [unit of the readings]
    mean_square_between, mean_square_within : float
        MSB and MSW. [unit^2]
    f, p : float
        MSB / MSW, and its p: is there any effect of the ball. [-]
    degrees_of_freedom : tuple of int
        Between, within. [-]
    shots_per_group : float
        n0 = (N - sum n_i^2 / N) / (a - 1), the common number when balanced. [-]
    """

    groups: int
    readings: int
    repeat_sd: Estimated
    between_variance_raw: float
    between_sd: Estimate
    total_sd: float
    mean_square_between: float
    mean_square_within: float
    f: float
    p: float
    degrees_of_freedom: tuple[int, int]
    shots_per_group: float


def one_way(
    values: ArrayLike, labels: Sequence[str], confidence: float = 0.95
) -> VarianceComponents | NotEstimated:
    """Split a spread into that between groups (balls) and that within them (repeat).

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings of one axis. [any]
    labels : sequence of str
        Group of each reading.
    confidence : float
        What the intervals cover. [-]

    Returns
    -------
    VarianceComponents or NotEstimated
        Balanced or not.

    Notes
    -----
    The interval for the variance between groups is the modified-large-sample one, whose coverage holds at
    5 groups of 3; for unequal groups n0 stands for their number, which makes it approximate.

    References
    ----------
    F. A. Graybill, C.-M. Wang (1980), J. Amer. Statist. Assoc. 75, 869; R. K. Burdick, F. A. Graybill (1992),
    Confidence Intervals on Variance Components (from memory).
    """
    x = as_values(values)
    names, member = np.unique(np.asarray(labels, dtype=str), return_inverse=True)
    a, n = len(names), len(x)
    if a < 2:
        return NotEstimated(f"{a} ball{'' if a == 1 else 's'}, at least 2 needed")
    if n == a:
        return NotEstimated("every ball was fired once: fire some of them twice or more")
    counts = np.bincount(member).astype(float)
    means = np.bincount(member, weights=x) / counts
    between = float(np.sum(counts * (means - x.mean()) ** 2)) / (a - 1)
    within = float(np.sum((x - means[member]) ** 2)) / (n - a)
    if within <= 0:
        return NotEstimated(
            "shots with the same ball are all alike: there is no repeat spread to compare with"
        )
    per_group = (n - float(np.sum(counts**2)) / n) / (a - 1)
    raw = (between - within) / per_group
    low, high = mls_interval(between, within, a - 1, n - a, per_group, confidence)
    factors = sd_factors(n - a, confidence)
    repeat = math.sqrt(within)
    return VarianceComponents(
        groups=a,
        readings=n,
        repeat_sd=Estimate(repeat, repeat * factors[0], repeat * factors[1], confidence, "chi-square, exact"),
        between_variance_raw=raw,
        between_sd=Estimate(
            math.sqrt(max(raw, 0.0)),
            math.sqrt(max(low, 0.0)),
            math.sqrt(max(high, 0.0)),
            confidence,
            "modified large sample" + ("" if np.ptp(counts) == 0 else ", approximate for unequal groups"),
        ),
        total_sd=math.sqrt(within + max(raw, 0.0)),
        mean_square_between=between,
        mean_square_within=within,
        f=between / within,
        p=float(scipy.stats.f.sf(between / within, a - 1, n - a)),
        degrees_of_freedom=(a - 1, n - a),
        shots_per_group=per_group,
    )


def mls_interval(
    mean_square_between: float,
    mean_square_within: float,
    df_between: int,
    df_within: int,
    per_group: float,
    confidence: float = 0.95,
) -> tuple[float, float]:
    """Modified-large-sample interval for the variance between groups; not clipped at 0.

    Parameters
    ----------
    mean_square_between, mean_square_within : float
        MSB and MSW. [any]
    df_between, df_within : int
        Their degrees of freedom. [-]
    per_group : float
        Readings per group. [-]
    confidence : float
        What it covers. [-]

    Returns
    -------
    tuple of float
        Lower and upper limit of (MSB - MSW) / per_group.

    References
    ----------
    F. A. Graybill, C.-M. Wang (1980), J. Amer. Statist. Assoc. 75, 869 (from memory).
    """
    tail = (1 - confidence) / 2
    g1, g2 = (1 - df / float(scipy.stats.chi2.isf(tail, df)) for df in (df_between, df_within))
    h1, h2 = (df / float(scipy.stats.chi2.ppf(tail, df)) - 1 for df in (df_between, df_within))
    f_up = float(scipy.stats.f.isf(tail, df_between, df_within))
    f_low = float(scipy.stats.f.ppf(tail, df_between, df_within))
    g12 = ((f_up - 1) ** 2 - g1**2 * f_up**2 - h2**2) / f_up
    h12 = ((1 - f_low) ** 2 - h1**2 * f_low**2 - g2**2) / f_low
    b, w = mean_square_between, mean_square_within
    middle = (b - w) / per_group
    below = math.sqrt(max(g1**2 * b**2 + h2**2 * w**2 + g12 * b * w, 0.0)) / per_group
    above = math.sqrt(max(h1**2 * b**2 + g2**2 * w**2 + h12 * b * w, 0.0)) / per_group
    return middle - below, middle + above
