"""Hits counted out of shots: intervals for the chance behind them."""

from __future__ import annotations

import math

import scipy  # its parts load when they are first used

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, Estimated, NotEstimated


def _check(hits: float, shots: int) -> None:
    if shots < 0 or not 0 <= hits <= shots:
        raise BadInput(f"{hits} hits of {shots} shots; hits must be 0 to the number of shots", field="hits")


_NO_SHOTS = NotEstimated("0 shots: no hits to count")


def wilson(hits: int, shots: int, confidence: float = 0.95) -> Estimated:
    """Chance of a hit with Wilson's score interval.

    Parameters
    ----------
    hits, shots : int
        Counts. [-]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    Estimate or NotEstimated
        Chance. [-]

    Examples
    --------
    >>> e = wilson(6, 7, 0.9)
    >>> round(e.low, 5), round(e.high, 5)
    (0.54771, 0.96746)

    References
    ----------
    E. B. Wilson (1927), J. Amer. Statist. Assoc. 22, 209; recommended for small n by L. D. Brown, T. T. Cai,
    A. DasGupta (2001), Statist. Sci. 16, 101.
    """
    _check(hits, shots)
    if shots == 0:
        return _NO_SHOTS
    z = float(scipy.stats.norm.ppf((1 + confidence) / 2))
    p, z2 = hits / shots, z * z
    centre = (p + z2 / (2 * shots)) / (1 + z2 / shots)
    half = z / (1 + z2 / shots) * math.sqrt(p * (1 - p) / shots + z2 / (4 * shots**2))
    low = 0.0 if hits == 0 else centre - half
    high = 1.0 if hits == shots else centre + half
    return Estimate(p, low, high, confidence, "Wilson score")


def clopper_pearson(hits: int, shots: int, confidence: float = 0.95) -> Estimated:
    """Chance of a hit with the Clopper-Pearson interval, which never covers less than it says.

    Parameters
    ----------
    hits, shots : int
        Counts. [-]
    confidence : float
        What the interval covers at least. [-]

    Returns
    -------
    Estimate or NotEstimated
        Chance. [-]

    Examples
    --------
    >>> round(clopper_pearson(7, 7).low, 5)
    0.59038

    References
    ----------
    C. J. Clopper, E. S. Pearson (1934), Biometrika 26, 404.
    """
    _check(hits, shots)
    if shots == 0:
        return _NO_SHOTS
    tail = (1 - confidence) / 2
    low = float(scipy.stats.beta.ppf(tail, hits, shots - hits + 1)) if hits else 0.0
    high = float(scipy.stats.beta.ppf(1 - tail, hits + 1, shots - hits)) if hits < shots else 1.0
    return Estimate(hits / shots, low, high, confidence, "Clopper-Pearson, at least what it says")


def jeffreys(hits: float, shots: int, confidence: float = 0.95, *, closed_ends: bool = False) -> Estimated:
    """Chance of a hit with the equal-tailed Jeffreys interval: Beta(k + 1/2, n - k + 1/2).

    Parameters
    ----------
    hits : float
        Count; a fraction where a shot is only likely to have hit. [-]
    shots : int
        Count. [-]
    confidence : float
        What the interval covers. [-]
    closed_ends : bool
        Let the outer limit be 0 at no hits and 1 at no misses, as Brown, Cai and DasGupta modify it. [-]

    Returns
    -------
    Estimate or NotEstimated
        Chance. [-]

    Examples
    --------
    >>> e = jeffreys(7, 7, 0.9)
    >>> round(e.low, 5), round(e.high, 5)
    (0.76754, 0.99973)

    References
    ----------
    L. D. Brown, T. T. Cai, A. DasGupta (2001), Statist. Sci. 16, 101.
    """
    _check(hits, shots)
    if shots == 0:
        return _NO_SHOTS
    posterior = scipy.stats.beta(hits + 0.5, shots - hits + 0.5)
    low, high = (float(posterior.ppf(q)) for q in ((1 - confidence) / 2, (1 + confidence) / 2))
    if closed_ends:
        low, high = (0.0 if hits == 0 else low), (1.0 if hits == shots else high)
    return Estimate(hits / shots, low, high, confidence, "Jeffreys, Beta(1/2, 1/2) prior")
