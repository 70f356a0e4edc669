"""Density and viscosity of the air, from what a thermometer, a barometer and a hygrometer say."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.atmosphere import standard_pressure
from shotwright.base.constants import (
    CELSIUS_ZERO,
    STANDARD_GRAVITY,
    STANDARD_PRESSURE,
    STANDARD_TEMPERATURE,
)
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

# CIPM-2007, table of constants (Picard et al. 2008), CO2 at 400 ppm
_GAS_CONSTANT = 8.314472  # J/(mol K)
_MOLAR_MASS_AIR = 28.96546e-3  # kg/mol
_MOLAR_MASS_WATER = 18.01528e-3  # kg/mol

# ISO 2533:1975
_SPECIFIC_GAS_CONSTANT = 287.05287  # J/(kg K)
_LAPSE_RATE = 0.0065  # K/m


@dataclass(frozen=True, slots=True)
class StandardAir(Result):
    """The standard atmosphere at one altitude.

    Parameters
    ----------
    temperature : float
        [K]
    pressure : float
        [Pa]
    density : float
        [kg/m^3]
    viscosity : float
        Dynamic viscosity. [Pa s]
    """

    temperature: float
    pressure: float
    density: float
    viscosity: float


def moist_air_density(temperature: float, pressure: float, humidity: float) -> float:
    r"""Density of moist air by the CIPM-2007 formula, CO2 at 400 ppm.

    .. math:: \rho = \frac{p M_a}{Z R T}\left[1 - x_v\left(1 - \frac{M_v}{M_a}\right)\right]

    Parameters
    ----------
    temperature : float
        [K]
    pressure : float
        Pressure where the ball flies, not reduced to sea level. [Pa]
    humidity : float
        Relative humidity, 0 to 1. [-]

    Returns
    -------
    float
        Density. [kg/m^3]

    Raises
    ------
    BadInput
        A value that no weather has.

    Notes
    -----
    Stated for 15 to 27 degC and 600 to 1100 hPa; from there to 35 degC it stays within 5e-5 of an
    independent real-gas formulation. Humidity matters less than 1 %.

    Examples
    --------
    >>> round(moist_air_density(293.15, 101325.0, 0.5), 6)
    1.199314

    References
    ----------
    Picard, Davis, Glaeser, Fujii, "Revised formula for the density of moist air (CIPM-2007)",
    Metrologia 45, 149 (2008).
    """
    _check_weather(temperature, pressure, humidity)
    t = temperature - CELSIUS_ZERO
    x = _vapour_fraction(temperature, pressure, humidity)
    ratio = pressure / temperature
    compressibility = (
        1.0
        - ratio
        * (
            1.58123e-6
            - 2.9331e-8 * t
            + 1.1043e-10 * t**2
            + (5.707e-6 - 2.051e-8 * t) * x
            + (1.9898e-4 - 2.376e-6 * t) * x**2
        )
        + ratio**2 * (1.83e-11 - 0.765e-8 * x**2)
    )
    dry = pressure * _MOLAR_MASS_AIR / (compressibility * _GAS_CONSTANT * temperature)
    return dry * (1.0 - x * (1.0 - _MOLAR_MASS_WATER / _MOLAR_MASS_AIR))


def viscosity_of_air(temperature: float) -> float:
    r"""Dynamic viscosity of air by Sutherland's formula.

    .. math:: \mu = 1.458\cdot 10^{-6}\,\frac{T^{3/2}}{T + 110.4}

    Parameters
    ----------
    temperature : float
        [K]

    Returns
    -------
    float
        Dynamic viscosity. [Pa s]

    Notes
    -----
    The pressure and the humidity of the weather change it by less than 1 %.

    Examples
    --------
    >>> round(viscosity_of_air(288.15) * 1e5, 4)
    1.7894

    References
    ----------
    ISO 2533:1975, "Standard Atmosphere".
    """
    return 1.458e-6 * math.pow(temperature, 1.5) / (temperature + 110.4)


def standard_air(altitude: float) -> StandardAir:
    r"""Standard atmosphere below 9 km.

    .. math:: T = T_0 (p/p_0)^{L R/g}, \quad \rho = p/(R T)

    with p by :func:`shotwright.base.atmosphere.standard_pressure`, which gives T = 288.15 K - 0.0065 K/m H.

    Parameters
    ----------
    altitude : float
        Geometric altitude above sea level, -500 to 9000. [m]

    Returns
    -------
    StandardAir
        Temperature, pressure, density, viscosity.

    Raises
    ------
    BadInput
        An altitude outside the range.

    Examples
    --------
    >>> round(standard_air(1000.0).density, 4)
    1.1117

    References
    ----------
    ISO 2533:1975, "Standard Atmosphere"; ICAO Doc 7488.
    """
    pressure = standard_pressure(altitude)
    exponent = _LAPSE_RATE * _SPECIFIC_GAS_CONSTANT / STANDARD_GRAVITY
    temperature = STANDARD_TEMPERATURE * math.pow(pressure / STANDARD_PRESSURE, exponent)
    return StandardAir(
        temperature=temperature,
        pressure=pressure,
        density=pressure / (_SPECIFIC_GAS_CONSTANT * temperature),
        viscosity=viscosity_of_air(temperature),
    )


def _vapour_fraction(temperature: float, pressure: float, humidity: float) -> float:
    """Mole fraction of water vapour, CIPM-2007, equations for p_sv and f."""
    saturation = math.exp(
        1.2378847e-5 * temperature**2 - 1.9121316e-2 * temperature + 33.93711047 - 6343.1645 / temperature
    )
    enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * (temperature - CELSIUS_ZERO) ** 2
    return humidity * enhancement * saturation / pressure


def _check_weather(temperature: float, pressure: float, humidity: float) -> None:
    if not 230.0 <= temperature <= 330.0:
        raise BadInput(
            f"{temperature - CELSIUS_ZERO:.1f} degC is outside -43 degC to 57 degC; type the air temperature",
            field="weather.temperature",
        )
    if not 40_000.0 <= pressure <= 120_000.0:
        raise BadInput(
            f"{pressure / 100:.0f} hPa is outside 400 hPa to 1200 hPa; type the air's pressure at the field",
            field="weather.pressure",
        )
    if not 0.0 <= humidity <= 1.0:
        raise BadInput(
            f"{100 * humidity:g} % is outside 0 % to 100 % relative humidity", field="weather.humidity"
        )
