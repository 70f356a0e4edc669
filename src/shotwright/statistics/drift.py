"""Drift with shot order."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.base.estimate import NotEstimated
from shotwright.base.plain import Result
from shotwright.statistics.intervals import as_values, no_spread, too_few

FloatArray = NDArray[np.float64]

# All pairwise slopes are taken up to this many shots, 1.1 million pairs; above, those of means of k in a row.
_ALL_PAIRS_UP_TO = 1500
# Exact tails are tabled up to this many shots.
_EXACT_UP_TO = 60


@dataclass(frozen=True, slots=True)
class Drift(Result):
    """A trend of readings with their order.

    Parameters
    ----------
    s : int
        Mann-Kendall's S, rises minus falls over all pairs. [-]
    p : float
        Two-sided. [-]
    slope_per_shot : float
        Sen's slope, the median of all pairwise slopes. [unit of the readings]
    slope_low, slope_high : float
        Its 95 % interval. [unit of the readings]
    von_neumann : float
        Mean squared successive difference over the mean square, about 2 without drift, less with steps. [-]
    detectable_sds : float
        Total linear drift, in standard deviations, that this many shots show with 80 % power. [-]
    exact : bool
        Whether p was counted, not approximated.
    """

    s: int
    p: float
    slope_per_shot: float
    slope_low: float
    slope_high: float
    von_neumann: float
    detectable_sds: float
    exact: bool


def mann_kendall(values: ArrayLike) -> Drift | NotEstimated:
    """Test readings for a trend with their order, and estimate its slope.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings in order, 4 or more. [any]

    Returns
    -------
    Drift or NotEstimated
        S, its p, Sen's slope.

    Notes
    -----
    p is exact up to 60 readings without ties, else normal with continuity and tie corrections. Above 1 500
    readings the slope is taken from means of k readings in a row. With 4 readings p can't fall below 8 %.

    Examples
    --------
    >>> d = mann_kendall([3.12, 3.10, 3.11, 3.06, 3.07, 3.03, 3.01])
    >>> d.s, round(d.p, 7), round(d.slope_per_shot, 7)
    (-17, 0.0107143, -0.0183333)

    References
    ----------
    H. B. Mann (1945), Econometrica 13; P. K. Sen (1968), J. Amer. Statist. Assoc. 63 (from memory).
    """
    x = as_values(values)
    n = len(x)
    if n < 4:
        return too_few(n, 4, "reading")
    if no_spread(x):
        return NotEstimated(f"all {n} readings are the same")
    s = kendall_s(x)
    ties = np.unique(x, return_counts=True)[1].astype(float)
    exact = n <= _EXACT_UP_TO and bool(ties.max() == 1)
    if exact:
        p = min(1.0, 2 * float(upper_tails(n)[abs(s)]))
    else:
        variance = (n * (n - 1) * (2 * n + 5) - float(np.sum(ties * (ties - 1) * (2 * ties + 5)))) / 18
        p = min(1.0, 2 * float(scipy.stats.norm.sf(max(abs(s) - 1, 0) / math.sqrt(variance))))
    run = math.ceil(n / _ALL_PAIRS_UP_TO)
    blocks = x[: n - n % run].reshape(-1, run).mean(axis=1)
    sen = scipy.stats.theilslopes(blocks, run * np.arange(len(blocks)), alpha=0.95)
    squares = float(np.sum((x - x.mean()) ** 2))
    return Drift(
        s=s,
        p=p,
        slope_per_shot=float(sen.slope),
        slope_low=float(sen.low_slope),
        slope_high=float(sen.high_slope),
        von_neumann=float(np.sum(np.diff(x) ** 2)) / squares,
        detectable_sds=detectable_drift(n),
        exact=exact,
    )


def kendall_s(values: FloatArray) -> int:
    """Rises minus falls over all pairs in order, in n log n."""
    n = len(values)
    result = scipy.stats.kendalltau(np.arange(n), values, variant="b")
    ties = np.unique(values, return_counts=True)[1].astype(float)
    pairs = n * (n - 1) / 2
    return round(float(result.statistic) * math.sqrt(pairs * (pairs - float(np.sum(ties * (ties - 1))) / 2)))


def upper_tails(n: int) -> FloatArray:
    """P(S >= s) for s = 0, 1, ..., n (n - 1)/2, without ties: counted by the number of inversions.

    Parameters
    ----------
    n : int
        Readings. [-]

    Returns
    -------
    ndarray, shape (n (n - 1)/2 + 1,)
        Tail probabilities, by s. [-]

    Examples
    --------
    >>> round(float(upper_tails(7)[15]), 5)
    0.01508
    """
    chances = np.ones(1)
    for k in range(2, n + 1):
        chances = np.convolve(chances, np.full(k, 1 / k))
    pairs = n * (n - 1) // 2
    # S = pairs - 2 inversions, so S >= s means at most (pairs - s)/2 inversions.
    cumulative = np.cumsum(chances)
    return np.asarray(cumulative[(pairs - np.arange(pairs + 1)) // 2])


@functools.lru_cache(maxsize=256)
def detectable_drift(n: int, power: float = 0.8, alpha: float = 0.05) -> float:
    """Total linear drift, in standard deviations, that n shots show with the wanted power.

    From the exact power of the slope's t test (noncentral t), the best that any test can do.

    Parameters
    ----------
    n : int
        Shots, 3 or more. [-]
    power, alpha : float
        Wanted power, and two-sided level. [-]

    Returns
    -------
    float
        Drift from first to last shot over the scatter's standard deviation. [-]

    Notes
    -----
    The Mann-Kendall test itself needs a little more: at n = 7 about 4.9, at n = 10 about 3.5 (interpolated
    from simulated powers).

    Examples
    --------
    >>> round(detectable_drift(7), 1)
    4.0
    """
    # With positions evenly spaced over a drift d, sum (x - mean)^2 = d^2 n (n + 1)/(12 (n - 1)).
    per_sd = math.sqrt(n * (n + 1) / (12 * (n - 1)))
    critical = float(scipy.stats.t.isf(alpha / 2, n - 2))
    low, high = 0.0, 40.0 + 2 * critical
    for _ in range(60):
        middle = (low + high) / 2
        if float(scipy.stats.nct.sf(critical, n - 2, middle)) < power:
            low = middle
        else:
            high = middle
    return high / per_sd
