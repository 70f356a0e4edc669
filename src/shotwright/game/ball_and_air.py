"""Sections [ball] and [air] of a game file."""

from __future__ import annotations

import itertools
import math
from typing import Any

from shotwright.base.atmosphere import HIGHEST, LOWEST, standard_pressure
from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity
from shotwright.base.toml_tables import Section, as_number
from shotwright.game.records import Ball, CoefficientLaw, Weather

SOLID = 2 / 5  # I/(m r^2), solid sphere: closed form
THIN_SHELL = 2 / 3  # I/(m r^2), thin spherical shell: closed form
_ORIGINS = ("measured", "published", "assumed")


def hollow_inertia_factor(diameter: float, wall: float) -> float:
    r"""Inertia factor of a hollow ball of even wall.

    .. math:: \alpha = \frac{I}{m R^2} = \frac{2}{5}\,\frac{1 - q^5}{1 - q^3}, \quad q = 1 - w/R

    Parameters
    ----------
    diameter : float
        Outer diameter 2 R. [m]
    wall : float
        Wall thickness w, more than 0 and at most R. [m]

    Returns
    -------
    float
        Factor, 2/5 for a solid ball and 2/3 for a thin shell. [-]

    Examples
    --------
    >>> round(hollow_inertia_factor(0.067, 0.0065), 6)
    0.55402

    References
    ----------
    Closed form: two solid spheres subtracted.
    """
    q = 1 - 2 * wall / diameter
    # The ratio with (1 - q) divided out, so that a thin wall loses no digits.
    return 2 / 5 * (1 + q + q**2 + q**3 + q**4) / (1 + q + q**2)


def read_ball(section: Section) -> Ball:
    """Read [ball]: size and mass with their spread, drag, lift, hollowness.

    Parameters
    ----------
    section : Section
        The table; problems are added to it.

    Returns
    -------
    Ball
        Of use only if no problem was added.
    """
    name = section.name("foam ball")
    diameter = section.quantity("diameter", "length", "150 mm", above=0.0, allowed="greater than zero")
    mass = section.quantity("mass", "mass", "130 g", above=0.0, allowed="greater than zero")
    ball = Ball(
        name=name,
        diameter=diameter,
        mass=mass,
        drag=_read_law(section, "drag", "Reynolds number, C_D", least=0.0),
        lift=_read_law(section, "lift", "spin parameter, C_L", least=-3.0),
        diameter_sd=_spread(section, "diameter", "length", "1.5 mm", diameter),
        mass_sd=_spread(section, "mass", "mass", "3 g", mass),
        inertia_factor=_read_hollow(section, diameter),
        spin_decay=section.number("spin_decay", 0.0, least=0.0, most=1.0),
    )
    section.finish()
    return ball


def _spread(section: Section, of: str, kind: str, example: str, mean: float) -> float:
    key = f"{of}_sd"
    spread = section.quantity(key, kind, example, 0.0, least=0.0, allowed="zero or more")
    if spread > mean / 4:  # four standard deviations would reach zero
        typed = section.values[key]
        section.problem(f"{typed} is more than a quarter of the {of}; it is a standard deviation", key)
    return spread


def _read_hollow(section: Section, diameter: float) -> float:
    value = section.raw("hollow")
    words = {"solid": SOLID, "thin shell": THIN_SHELL}
    factor = as_number(value)
    advice = '"solid", "thin shell", a wall such as "6 mm", or the factor I/(m r^2) such as 0.55'
    if value is None:
        section.problem(f"is missing; {advice}", "hollow")
    elif isinstance(value, str) and value.strip().lower() in words:
        return words[value.strip().lower()]
    elif factor is not None:
        allowed = "0.4 (solid) to 0.6667 (thin shell)"
        return section.check(
            "hollow", factor, value, least=SOLID - 1e-4, most=THIN_SHELL + 1e-4, allowed=allowed
        )
    else:
        try:
            wall = parse_quantity(value, "length", "hollow")
        except BadInput:
            section.problem(f"{value!r} is not understood; {advice}", "hollow")
            return math.nan
        if wall <= 0 or wall > diameter / 2:
            section.problem(
                f"a wall of {value} does not fit the ball; more than 0, at most its radius", "hollow"
            )
            return math.nan
        return hollow_inertia_factor(diameter, wall)
    return math.nan


def _read_law(section: Section, key: str, points: str, least: float) -> CoefficientLaw:
    """Read a law as a number, a name, a list of points, or a table with one of these in it."""
    value = section.raw(key)
    scale, origin = 1.0, None
    if isinstance(value, dict):
        inner = Section(value, f"{section.place}, {key}", section.file, section.problems)
        scale = inner.number("scale", 1.0, least=0.01, most=10.0)
        origin = inner.choice("origin", _ORIGINS, "") or None
        given = [inner.raw(name) for name in ("law", "constant", "table")]
        inner.finish()
        found = [item for item in given if item is not None]
        if len(found) != 1:
            inner.problem("needs exactly one of law, constant, table")
            return CoefficientLaw("constant", math.nan)
        value = found[0]
    number = as_number(value)
    if number is not None:
        number = section.check(key, number, value, least=least, most=3.0)
        return CoefficientLaw("constant", number, scale=scale, origin=origin or "assumed")
    if isinstance(value, str) and value.strip():
        return CoefficientLaw(value.strip(), scale=scale, origin=origin or "published")
    if isinstance(value, list):
        table = _read_points(section, key, value, points, least)
        return CoefficientLaw("table", table=table, scale=scale, origin=origin or "assumed")
    shown = "is missing" if value is None else f"{value!r} is not understood"
    section.problem(f"{shown}; a number, the name of a law in quotes, or points [[{points}], ...]", key)
    return CoefficientLaw("constant", math.nan)


def _read_points(
    section: Section, key: str, value: list[Any], points: str, least: float
) -> tuple[tuple[float, float], ...]:
    rows: list[tuple[float, float]] = []
    for number, item in enumerate(value, 1):
        pair = [as_number(part) for part in item] if isinstance(item, list) else []
        if len(pair) != 2 or pair[0] is None or pair[1] is None:
            section.problem(f"point {number}, {str(item)[:40]}, is not a pair [{points}]", key)
            return ()
        if not pair[0] >= 0 or not least <= pair[1] <= 3.0:
            section.problem(
                f"point {number}, {item}: [{points}] must be at least [0, {least:g}], C at most 3", key
            )
            return ()
        rows.append((pair[0], pair[1]))
    if len(rows) < 2:
        section.problem(f"{len(rows)} point is no table; give at least 2, [[{points}], ...]", key)
    for number, (before, after) in enumerate(itertools.pairwise(rows), 2):
        if after[0] <= before[0]:
            section.problem(
                f"point {number}: {after[0]:g} does not follow {before[0]:g}; sort the points", key
            )
            break
    return tuple(rows)


def read_air(section: Section) -> Weather:
    """Read [air]: temperature, pressure or altitude, humidity, wind. All have defaults.

    Parameters
    ----------
    section : Section
        The table; problems are added to it.

    Returns
    -------
    Weather
        Of use only if no problem was added.
    """
    usual = Weather()
    temperature = section.quantity(
        "temperature",
        "temperature",
        "20 degC",
        usual.temperature,
        least=223.15,
        most=333.15,
        allowed="between -50 and 60 degC",
    )
    pressure = section.quantity(
        "pressure",
        "pressure",
        "1013 hPa",
        usual.pressure,
        least=30e3,
        most=110e3,
        allowed="between 300 and 1100 hPa, as a barometer shows it where the balls fly",
    )
    altitude = section.optional(
        "altitude", "length", least=LOWEST, most=HIGHEST, allowed="between -500 and 9000 m"
    )
    if altitude is not None:
        if "pressure" in section:
            section.problem("pressure and altitude are both given; keep one", "altitude")
        pressure = math.nan if math.isnan(altitude) else standard_pressure(altitude)
    humidity = section.quantity(
        "humidity", "fraction", "50 %", usual.humidity, least=0.0, most=1.0, allowed="between 0 and 100 %"
    )
    wind = read_wind(section)
    section.finish()
    return Weather(temperature, pressure, humidity, wind)


def read_wind(section: Section) -> tuple[float, float, float]:
    """Read the key ``wind``: three speeds, or a speed with the direction it blows towards. [m/s]."""
    value = section.raw("wind")
    if value is None:
        return (0.0, 0.0, 0.0)
    if isinstance(value, dict):
        inner = Section(value, f"{section.place}, wind", section.file, section.problems)
        speed = inner.quantity("speed", "speed", "1.5 m/s", least=0.0, allowed="zero or more")
        azimuth = read_azimuth(inner, "towards")
        inner.finish({"direction": 'say "towards" and where the air moves to, e.g. towards = "+x"'})
        wind = (speed * math.cos(azimuth), speed * math.sin(azimuth), 0.0)
    else:
        example = '["1 m/s", "0 m/s", "0 m/s"], or { speed = "1 m/s", towards = "+x" }'
        x, y, z = section.vector("wind", value, "speed", 3, example)
        wind = (x, y, z)
    if math.hypot(*wind) > 30.0:
        section.problem("more than 30 m/s; nobody fires balls in a storm", "wind")
    return wind


AZIMUTHS = {"+x": 0.0, "+y": math.pi / 2, "-x": math.pi, "-y": -math.pi / 2}


def read_azimuth(section: Section, key: str) -> float:
    """Read a direction in the floor plane: ``"+x"``, ``"-y"`` or an angle from +x anticlockwise. [rad]."""
    value = section.raw(key)
    if isinstance(value, str) and value.strip().lower() in AZIMUTHS:
        return AZIMUTHS[value.strip().lower()]
    if value is None:
        section.problem(f'is missing; "+x", "-x", "+y", "-y" or an angle such as {key} = "30 deg"', key)
        return math.nan
    return section.parse(key, value, "angle")
