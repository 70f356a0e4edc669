"""Means and standard deviations of normal readings, with exact intervals."""

from __future__ import annotations

import math

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, Estimated, NotEstimated

FloatArray = NDArray[np.float64]


def as_values(values: ArrayLike, field: str = "values") -> FloatArray:
    """Return readings as an array of shape (n,), refusing what is not a finite number.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings. [any]
    field : str
        Name for the message.

    Returns
    -------
    ndarray, shape (n,)
        The readings. [any]

    Raises
    ------
    BadInput
        A reading that is not a finite number.
    """
    found = np.asarray(values, dtype=float).ravel()
    if not np.isfinite(found).all():
        place = int(np.flatnonzero(~np.isfinite(found))[0]) + 1
        raise BadInput(f"reading {place} is not a finite number; leave it out or set it aside", field=field)
    return found


def too_few(n: int, needed: int, what: str = "shot") -> NotEstimated:
    """Say that `n` are too few: ``"1 shot, at least 2 needed"``.

    Parameters
    ----------
    n : int
        How many there are.
    needed : int
        How many it takes.
    what : str
        What is counted, in the singular.

    Returns
    -------
    NotEstimated
        With that reason.
    """
    return NotEstimated(f"{n} {what}{'' if n == 1 else 's'}, at least {needed} needed")


def c4(n: int | float) -> float:
    """Mean of the sample standard deviation of `n` normal readings, sigma being 1.

    c4 = sqrt(2/(n-1)) Gamma(n/2) / Gamma((n-1)/2).

    Parameters
    ----------
    n : int or float
        Number of readings, more than 1; degrees of freedom plus one. [-]

    Returns
    -------
    float
        The factor. [-]

    Examples
    --------
    >>> round(c4(13), 6)
    0.979406
    """
    nu = n - 1
    return math.sqrt(2 / nu) * math.exp(scipy.special.gammaln((nu + 1) / 2) - scipy.special.gammaln(nu / 2))


def mean_interval(values: ArrayLike, confidence: float = 0.95) -> Estimated:
    """Mean of normal readings with Student's t interval, exact for any n from 2.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings. [any]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    Estimate or NotEstimated
        The mean, unit of the readings.

    Examples
    --------
    >>> e = mean_interval([2.31, 2.36, 2.28, 2.34, 2.30])
    >>> round(e.value, 3), round(e.low, 3), round(e.high, 3)
    (2.318, 2.278, 2.358)

    References
    ----------
    Student (1908), The probable error of a mean, Biometrika 6.
    """
    x = as_values(values)
    n = len(x)
    if n < 2:
        return too_few(n, 2)
    if no_spread(x):
        return NotEstimated(f"all {n} readings are the same: nothing to judge their mean by")
    half = float(scipy.stats.t.ppf((1 + confidence) / 2, n - 1) * x.std(ddof=1) / math.sqrt(n))
    mean = float(x.mean())
    return Estimate(mean, mean - half, mean + half, confidence, "Student t, exact for normal scatter")


def sd_interval(values: ArrayLike, confidence: float = 0.95) -> Estimated:
    """Standard deviation (divisor n - 1) of normal readings with the chi-square interval, exact from n = 2.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings. [any]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    Estimate or NotEstimated
        The standard deviation, unit of the readings.

    Examples
    --------
    >>> e = sd_interval([3.12, 3.10, 3.11, 3.06, 3.07, 3.03, 3.01])
    >>> round(e.value, 4), round(e.low, 4), round(e.high, 4)
    (0.0414, 0.0267, 0.0912)
    """
    x = as_values(values)
    n = len(x)
    if n < 2:
        return too_few(n, 2)
    s = float(x.std(ddof=1))
    if no_spread(x):
        return NotEstimated(f"all {n} readings are the same: nothing to estimate a spread from")
    low, high = sd_factors(n - 1, confidence)
    return Estimate(s, s * low, s * high, confidence, f"chi-square, {n - 1} degrees of freedom, exact")


def no_spread(values: FloatArray) -> bool:
    """Whether readings, or marks of shape (n, 2), differ by no more than the rounding of their size.

    Parameters
    ----------
    values : ndarray, shape (n,) or (n, 2)
        Readings or marks. [any]

    Returns
    -------
    bool
        True also for differences whose squares are too small for a number (below 1e-100).
    """
    return bool(np.ptp(values, axis=0).max() <= max(8 * np.finfo(float).eps * np.abs(values).max(), 1e-100))


def sd_factors(degrees_of_freedom: float, confidence: float = 0.95) -> tuple[float, float]:
    """Multiply a standard deviation by these for its chi-square interval.

    Parameters
    ----------
    degrees_of_freedom : float
        nu. [-]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    tuple of float
        Lower and upper factor. [-]

    Examples
    --------
    >>> [round(f, 4) for f in sd_factors(12)]
    [0.7171, 1.6507]
    """
    tail = (1 - confidence) / 2
    nu = degrees_of_freedom
    return (
        math.sqrt(nu / float(scipy.stats.chi2.ppf(1 - tail, nu))),
        math.sqrt(nu / float(scipy.stats.chi2.ppf(tail, nu))),
    )


def mean_difference(first: ArrayLike, second: ArrayLike, confidence: float = 0.95) -> Estimated:
    """Mean of the second readings less that of the first, with Welch's t interval.

    Parameters
    ----------
    first, second : array_like, shape (n,)
        Readings. [any]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    Estimate or NotEstimated
        Difference, unit of the readings.

    References
    ----------
    B. L. Welch (1947), The generalization of Student's problem, Biometrika 34, 28.
    """
    a, b = as_values(first), as_values(second)
    if min(len(a), len(b)) < 2:
        return too_few(min(len(a), len(b)), 2)
    va, vb = a.var(ddof=1) / len(a), b.var(ddof=1) / len(b)
    if no_spread(a) and no_spread(b):
        return NotEstimated("all readings of both are the same: nothing to judge their means by")
    freedom = (va + vb) ** 2 / (va**2 / (len(a) - 1) + vb**2 / (len(b) - 1))
    half = float(scipy.stats.t.ppf((1 + confidence) / 2, freedom)) * math.sqrt(va + vb)
    gap = float(b.mean() - a.mean())
    return Estimate(gap, gap - half, gap + half, confidence, f"Welch's t, {freedom:.3g} degrees of freedom")
