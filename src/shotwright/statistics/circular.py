"""Round scatter: both axes normal with one standard deviation. All closed forms."""

from __future__ import annotations

import math

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.statistics.intervals import c4, no_spread, sd_factors, too_few

FloatArray = NDArray[np.float64]


def as_points(points: ArrayLike) -> FloatArray:
    """Return marks as an array of shape (n, 2), refusing what is not a finite number.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks. [m]

    Returns
    -------
    ndarray, shape (n, 2)
        The marks. [m]

    Raises
    ------
    BadInput
        A coordinate that is not a finite number.
    """
    found = np.asarray(points, dtype=float)
    found = found.reshape(-1, 2)
    bad = ~np.isfinite(found).all(axis=1)
    if bad.any():
        raise BadInput(
            f"shot {int(np.flatnonzero(bad)[0]) + 1} has a coordinate that is not a finite number; "
            "leave it out or set it aside",
            field="points",
        )
    return found


def radial_variance(points: FloatArray) -> float:
    """Mean of both axes' variances, sum of squared distances from the centre over 2 (n - 1). [m^2]."""
    return float(np.sum((points - points.mean(axis=0)) ** 2) / (2 * (len(points) - 1)))


def rayleigh_sigma(points: ArrayLike, confidence: float = 0.95) -> Estimated:
    """Standard deviation per axis of round scatter, unbiased, with the chi-square interval on 2 (n - 1).

    s^2 = sum r_i^2 / (2 (n - 1)), r_i from the mean point; sigma = s / c4(2 n - 1).

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Marks. [m]
    confidence : float
        What the interval covers. [-]

    Returns
    -------
    Estimate or NotEstimated
        sigma. [m]

    Notes
    -----
    Exact if the scatter is round and normal. On scatter three times as long as wide a 95 % interval from
    5 to 10 shots covers 87 to 90 %: `shotwright.statistics.dispersion.dispersion_figures` allows for that.

    Examples
    --------
    >>> e = rayleigh_sigma([(0.02, 0.11), (-0.07, 0.04), (0.05, -0.06)])
    >>> round(e.value, 3), round(e.low, 3), round(e.high, 3)
    (0.08, 0.045, 0.215)
    """
    found = as_points(points)
    n = len(found)
    if n < 2:
        return too_few(n, 2)
    if no_spread(found):
        return NotEstimated(f"all {n} shots on one mark: nothing to estimate a spread from")
    s = math.sqrt(radial_variance(found))
    low, high = sd_factors(2 * (n - 1), confidence)
    method = f"chi-square, {2 * (n - 1)} degrees of freedom, exact for round scatter"
    return Estimate(s / c4(2 * n - 1), s * low, s * high, confidence, method)


def radius_containing(share: float, sigma: float = 1.0) -> float:
    """Radius about the mean point that holds a share of round scatter: sigma sqrt(-2 ln(1 - share)).

    Parameters
    ----------
    share : float
        0.5 gives the circular error probable. [-]
    sigma : float
        Standard deviation per axis. [m]

    Returns
    -------
    float
        Radius. [m]

    Examples
    --------
    >>> round(radius_containing(0.5), 4), round(radius_containing(0.95), 4)
    (1.1774, 2.4477)
    """
    if not 0 <= share < 1:
        raise BadInput(f"{share:g} is not a share of shots; must be 0 or more and below 1", field="share")
    return sigma * math.sqrt(-2 * math.log1p(-share))


def chance_in_offset_circle(radius: ArrayLike, offset: ArrayLike, sigma: ArrayLike = 1.0) -> FloatArray:
    """Chance that round scatter, its mean off the circle's centre, falls inside a circle.

    The squared distance is noncentral chi-square with 2 degrees of freedom: P = F(R^2; 2, r^2), sigma = 1.

    Parameters
    ----------
    radius, offset : array_like
        Circle's radius, and distance of the mean point from its centre. [m]
    sigma : array_like
        Standard deviation per axis. [m]

    Returns
    -------
    ndarray
        Probability. [-]

    Examples
    --------
    >>> round(float(chance_in_offset_circle(2.0, 1.0)), 9)
    0.730987940

    References
    ----------
    S. O. Rice (1945), Mathematical analysis of random noise, Bell Syst. Tech. J. 24.
    """
    spread = np.asarray(sigma, dtype=float)
    radius2: FloatArray = (np.asarray(radius, dtype=float) / spread) ** 2
    offset2: FloatArray = (np.asarray(offset, dtype=float) / spread) ** 2
    return np.asarray(scipy.special.chndtr(radius2, np.float64(2.0), offset2), dtype=float)
