"""Pressure of the standard atmosphere: what a crew that knows only its altitude can go by."""

from __future__ import annotations

from shotwright.base.constants import STANDARD_GRAVITY, STANDARD_PRESSURE, STANDARD_TEMPERATURE
from shotwright.base.errors import BadInput

_EARTH_RADIUS = 6356766.0  # m, nominal: ISO 2533:1975, 2.3
_LAPSE_RATE = 0.0065  # K/m, 0 to 11 km: ISO 2533:1975, table 4
_GAS_CONSTANT = 287.05287  # J/(kg K), dry air: ISO 2533:1975, table 1
LOWEST, HIGHEST = -500.0, 9000.0  # m, kept inside the layer that the formula is for


def standard_pressure(altitude: float) -> float:
    r"""Pressure of the standard atmosphere at an altitude above sea level.

    .. math:: p = p_0 (1 - L H / T_0)^{g / (L R)}, \quad H = r h / (r + h)

    Parameters
    ----------
    altitude : float
        Geometric altitude h, -500 to 9000. [m]

    Returns
    -------
    float
        Pressure. [Pa]

    Raises
    ------
    BadInput
        An altitude outside the range.

    Notes
    -----
    Weather moves the real pressure by some 2 % about this value; a barometer is better.

    Examples
    --------
    >>> round(standard_pressure(1000.0))
    89876

    References
    ----------
    ISO 2533:1975, Standard Atmosphere.
    """
    if not LOWEST <= altitude <= HIGHEST:
        raise BadInput(
            f"{altitude:g} m is outside {LOWEST:g} to {HIGHEST:g} m; state the pressure instead",
            field="altitude",
        )
    height = _EARTH_RADIUS * altitude / (_EARTH_RADIUS + altitude)
    exponent = STANDARD_GRAVITY / (_LAPSE_RATE * _GAS_CONSTANT)
    return float(STANDARD_PRESSURE * (1 - _LAPSE_RATE * height / STANDARD_TEMPERATURE) ** exponent)
