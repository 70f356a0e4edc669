"""Tolerance intervals: where a share of all shots to come will land, with confidence."""

from __future__ import annotations

import math

import numpy as np
import scipy  # its parts load when they are first used

from shotwright.base.errors import BadInput


def _check(n: int, share: float, confidence: float) -> None:
    if n < 2:
        raise BadInput(f"{n} readings, at least 2 needed", field="n")
    if not (0 < share < 1 and 0 < confidence < 1):
        raise BadInput("share and confidence must lie between 0 and 1", field="share")


def one_sided_factor(n: int, share: float, confidence: float = 0.95) -> float:
    """Factor k: with confidence, at least `share` of normal readings lie below mean + k s. Exact.

    k = t'(confidence; n - 1, z_share sqrt(n)) / sqrt(n), noncentral t.

    Parameters
    ----------
    n : int
        Readings, 2 or more. [-]
    share, confidence : float
        Share to cover, and confidence. [-]

    Returns
    -------
    float
        Factor. [-]

    Examples
    --------
    >>> round(one_sided_factor(7, 0.95), 4)
    3.3995
    """
    _check(n, share, confidence)
    shift = float(scipy.special.ndtri(share)) * math.sqrt(n)
    return float(scipy.stats.nct.ppf(confidence, n - 1, shift)) / math.sqrt(n)


def two_sided_factor(n: int, share: float, confidence: float = 0.95) -> float:
    """Factor k: with confidence, at least `share` of normal readings lie within mean -+ k s. Exact.

    Parameters
    ----------
    n : int
        Readings, 2 or more. [-]
    share, confidence : float
        Share to cover, and confidence. [-]

    Returns
    -------
    float
        Factor. [-]

    Examples
    --------
    >>> round(two_sided_factor(7, 0.95), 3)
    4.02

    References
    ----------
    The integral over the mean's error that Odeh and Owen (1980) table (from memory).
    """
    _check(n, share, confidence)
    points, weights = np.polynomial.legendre.leggauss(80)
    reach = 9 / math.sqrt(n)
    error = reach * (points + 1) / 2
    weight = reach * weights / 2 * 2 * math.sqrt(n / (2 * math.pi)) * np.exp(-n * error**2 / 2)
    half = np.array([_half_width(float(e), share) for e in error])

    def shortfall(k: float) -> float:
        return float(weight @ scipy.stats.chi2.sf((n - 1) * (half / k) ** 2, n - 1)) - confidence

    high = 2.0
    while shortfall(high) < 0:
        high *= 2
    return float(scipy.optimize.brentq(shortfall, 1e-3, high, xtol=1e-12))


def _half_width(error: float, share: float) -> float:
    """Find r with Phi(error + r) - Phi(error - r) = share."""

    def missing(r: float) -> float:
        return float(scipy.special.ndtr(error + r) - scipy.special.ndtr(error - r)) - share

    return float(scipy.optimize.brentq(missing, 0.0, error + 10.0, xtol=1e-13))
