"""Scatter longer than wide: circles about the mean point that hold a share of it, and the mean radius."""

from __future__ import annotations

import math

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput

FloatArray = NDArray[np.float64]

# Gauss-Legendre over a quarter turn, crowded by a cube at the short axis, where a thin scatter's integrand
# turns within an angle of the order of R: error below 1e-10 for radii from 0.005 sigma and any shape.
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(96)
_SPOTS = (_POINTS + 1) / 2
_ANGLES = np.pi / 2 * (1 - _SPOTS**3)
_SHARES = _WEIGHTS / 2 * 3 * _SPOTS**2
_COS2, _SIN2 = np.cos(_ANGLES) ** 2, np.sin(_ANGLES) ** 2


def chance_in_circle(radius: ArrayLike, sd_long: ArrayLike, sd_short: ArrayLike) -> FloatArray:
    r"""Chance that a centred bivariate normal falls inside a circle about its mean.

    In whitened polar coordinates each direction's reach is known, which leaves one smooth integral:

    .. math:: P = 1 - \frac{2}{\pi}\int_0^{\pi/2}
              \exp\Bigl(-\frac{R^2}{2(\sigma_1^2\cos^2 t + \sigma_2^2\sin^2 t)}\Bigr)\,dt

    Parameters
    ----------
    radius : array_like, shape (m,)
        Circle's radius. [m]
    sd_long, sd_short : array_like, shape (m,)
        Standard deviations along the principal axes. [m]

    Returns
    -------
    ndarray, shape (m,)
        Probability. [-]

    Examples
    --------
    >>> round(float(chance_in_circle(1.0, 1.0, 0.5)), 8)
    0.59009533

    References
    ----------
    H. L. Harter (1960), Circular error probabilities, J. Amer. Statist. Assoc. 55, 723 (same integral,
    other variable).
    """
    return 1 - _outside(np.asarray(radius, float), np.asarray(sd_long, float), np.asarray(sd_short, float))[0]


def _outside(radius: FloatArray, sd_long: FloatArray, sd_short: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Chance to be outside, and minus its derivative by the radius."""
    variance = sd_long[..., None] ** 2 * _COS2 + sd_short[..., None] ** 2 * _SIN2
    inverse = 1 / np.maximum(variance, 1e-300)
    beyond = np.exp(-np.minimum(0.5 * radius[..., None] ** 2 * inverse, 745.0))
    return beyond @ _SHARES, radius * ((inverse * beyond) @ _SHARES)


def elliptical_radius(share: float, sd_long: ArrayLike, sd_short: ArrayLike) -> FloatArray:
    """Radius about the mean point that holds a share of normal scatter of any shape.

    share = 0.5 gives the circular error probable, exactly; Newton's method on `chance_in_circle`.

    Parameters
    ----------
    share : float
        Share inside, above 0 and below 1. [-]
    sd_long, sd_short : array_like, shape (m,)
        Standard deviations along the principal axes. [m]

    Returns
    -------
    ndarray, shape (m,)
        Radius. [m]

    Raises
    ------
    BadInput
        A share that is not between 0 and 1.

    Examples
    --------
    >>> round(float(elliptical_radius(0.5, 1.0, 0.5)), 5)
    0.87042

    References
    ----------
    H. L. Harter (1960), Circular error probabilities, J. Amer. Statist. Assoc. 55, 723.
    """
    if not 0 < share < 1:
        raise BadInput(f"{share:g} is not a share of shots; must be above 0 and below 1", field="share")
    first, second = np.broadcast_arrays(np.asarray(sd_long, float), np.asarray(sd_short, float))
    longer = np.maximum(first, second)
    scale = np.where(longer > 0, longer, 1.0)
    one, ratio = np.ones_like(scale), np.minimum(first, second) / scale
    # The answer lies between that of a line and that of a circle.
    low = np.full_like(scale, math.sqrt(2) * float(scipy.special.erfinv(share)))
    high = np.full_like(scale, math.sqrt(-2 * math.log1p(-share)))
    radius = low + ratio * (high - low)
    for _ in range(60):
        beyond, slope = _outside(radius, one, ratio)
        excess = beyond - (1 - share)
        low, high = np.where(excess > 0, radius, low), np.where(excess > 0, high, radius)
        newton = radius + excess / np.maximum(slope, 1e-300)
        better = np.where((newton >= low) & (newton <= high), newton, (low + high) / 2)
        done = bool(np.all(np.abs(better - radius) <= 1e-13 * high))
        radius = better
        if done:
            break
    return np.asarray(radius * longer)


def mean_radius(sd_long: ArrayLike, sd_short: ArrayLike) -> FloatArray:
    """Mean distance of normal scatter from its mean point.

    E r = sqrt(2/pi) sigma_1 E(1 - (sigma_2/sigma_1)^2), E the complete elliptic integral of the second kind.

    Parameters
    ----------
    sd_long, sd_short : array_like, shape (m,)
        Standard deviations along the principal axes, the longer first. [m]

    Returns
    -------
    ndarray, shape (m,)
        Mean radius. [m]

    Examples
    --------
    >>> round(float(mean_radius(1.0, 1.0)), 6)
    1.253314
    """
    longer, shorter = np.asarray(sd_long, float), np.asarray(sd_short, float)
    ratio = shorter / np.where(longer > 0, longer, 1.0)
    return np.asarray(math.sqrt(2 / math.pi) * longer * scipy.special.ellipe(1 - ratio**2))
