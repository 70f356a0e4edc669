"""Logarithm, exponential, sine and cosine written out: a library's would stop the vector instructions."""

from __future__ import annotations

import math

import numpy as np

_LN2 = 0.6931471805599453
_ROOT2 = 1.4142135623730951


def logarithm(x: float) -> float:
    """Natural logarithm of a positive number, to 1e-14.

    Parameters
    ----------
    x : float
        Positive, not subnormal. [-]

    Returns
    -------
    float
        ln x.
    """
    bits = np.float64(x).view(np.int64)
    mantissa = np.int64((bits & 0xFFFFFFFFFFFFF) | 0x3FF0000000000000).view(np.float64)
    power = np.float64((bits >> 52) - 1023)
    large = mantissa > _ROOT2
    m = 0.5 * mantissa if large else mantissa
    e = power + 1.0 if large else power
    f = (m - 1.0) / (m + 1.0)
    g = f * f
    series = 1.0 / 11.0 + g * (1.0 / 13.0 + g * (1.0 / 15.0 + g / 17.0))
    series = 1.0 / 3.0 + g * (0.2 + g * (1.0 / 7.0 + g * (1.0 / 9.0 + g * series)))
    return e * _LN2 + 2.0 * f * (1.0 + g * series)


def sine_cosine(quarters: float) -> tuple[float, float]:
    """Sine and cosine of an angle in quarter turns, to 1e-14.

    Parameters
    ----------
    quarters : float
        2/pi times the angle. [quarter turn]

    Returns
    -------
    tuple of float
        Sine, cosine.
    """
    k = np.floor(quarters + 0.5)
    x = (quarters - k) * (0.5 * math.pi)
    y = x * x
    s = -1.0 / 5040.0 + y * (
        1.0 / 362880.0 + y * (-1.0 / 39916800.0 + y * (1.0 / 6227020800.0 - y / 1307674368000.0))
    )
    s = x * (1.0 + y * (-1.0 / 6.0 + y * (1.0 / 120.0 + y * s)))
    c = 1.0 / 40320.0 + y * (-1.0 / 3628800.0 + y * (1.0 / 479001600.0 - y * (1.0 / 87178291200.0)))
    c = 1.0 + y * (-0.5 + y * (1.0 / 24.0 + y * (-1.0 / 720.0 + y * c)))
    turned = k - 4.0 * np.floor(0.25 * k)  # 0, 1, 2 or 3
    odd = (turned == 1.0) | (turned == 3.0)
    sine, cosine = (c if odd else s), (s if odd else c)
    return (-sine if turned >= 2.0 else sine), (-cosine if (turned == 1.0) | (turned == 2.0) else cosine)


def exponential(x: float) -> float:
    """Exponential, to 1e-14 of its size.

    Parameters
    ----------
    x : float
        Between -700 and 700. [-]

    Returns
    -------
    float
        e^x.
    """
    k = np.floor(x * (1.0 / _LN2) + 0.5)
    r = (x - k * 0.693145751953125) - k * 1.4286068203094172e-06
    upper = 1.0 / 40320.0 + r * (1.0 / 362880.0 + r * (1.0 / 3628800.0 + r / 39916800.0))
    upper = 1.0 / 120.0 + r * (1.0 / 720.0 + r * (1.0 / 5040.0 + r * upper))
    value = 1.0 + r * (1.0 + r * (0.5 + r * (1.0 / 6.0 + r * (1.0 / 24.0 + r * upper))))
    power = np.int64((np.int64(k) + 1023) << 52).view(np.float64)
    return float(value * power)
