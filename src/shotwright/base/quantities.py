"""Numbers as people type them: ``4 in``, ``120 g``, ``3000 rpm``, ``12 ft``. The only door for units."""

from __future__ import annotations

import contextlib
import functools
import math
import re
from typing import Any

from shotwright.base.common_units import COMMON_UNITS
from shotwright.base.errors import BadInput

# name of a kind of quantity -> (SI unit that the number is turned into, examples for the error message)
KINDS: dict[str, tuple[str, str]] = {
    "length": ("meter", "1.2 m, 35 mm, 4 in or 12 ft"),
    "mass": ("kilogram", "120 g, 0.14 kg or 5 oz"),
    "speed": ("meter / second", "9.5 m/s or 31 ft/s"),
    "angle": ("radian", "52 deg or 0.9 rad"),
    "acceleration": ("meter / second ** 2", "2 m/s^2 or 6 ft/s^2"),
    "spin": ("radian / second", "12 rev/s, 720 rpm or 75 rad/s"),
    "temperature": ("kelvin", "20 degC, 68 degF or 293 K"),
    "pressure": ("pascal", "1013 hPa or 101325 Pa"),
    "volume": ("meter ** 3", "0.5 L or 30 in^3"),
    "energy": ("joule", "12 J"),
    "power": ("watt", "60 W"),
    "time": ("second", "1.5 s"),
    "fraction": ("dimensionless", "0.5 or 50 %"),
    "area": ("meter ** 2", "50 mm^2 or 0.08 in^2"),
    "force": ("newton", "12 N or 2.5 lbf"),
    "torque": ("newton * meter", "0.4 N m"),
    "stiffness": ("newton / meter", "900 N/m, 0.9 N/mm or 5 lbf/in"),
    "moment of inertia": ("kilogram * meter ** 2", "0.012 kg m^2 or 120 kg cm^2"),
    "voltage": ("volt", "12.4 V"),
    "current": ("ampere", "20 A"),
    "resistance": ("ohm", "0.08 ohm or 80 mohm"),
    "charge": ("coulomb", "3 Ah or 3000 mAh"),
    "thermal resistance": ("kelvin / watt", "4 K/W"),
    "heat capacity": ("joule / kelvin", "15 J/K"),
}

# Spellings that people use and the unit library does not know, or reads as something else.
_SPELLINGS = (
    (re.compile(r"\brevs?\b\.?", re.I), "revolution"),
    (re.compile(r"\brpm\b|\br/min\b", re.I), "revolution/minute"),
    (re.compile(r"\brps\b|\bHz\b", re.I), "revolution/second"),  # a spin of 3 Hz is three turns a second
    (re.compile(r"°\s*C\b|\bdeg\s*C\b|\bcelsius\b", re.I), "degC"),
    (re.compile(r"°\s*F\b|\bdeg\s*F\b|\bfahrenheit\b", re.I), "degF"),
    (re.compile(r"°|º"), "deg"),
    (re.compile(r"[\"”″]"), "inch"),
    (re.compile(r"['’′]"), "foot"),
    (re.compile(r"\bkph\b|\bkmh\b", re.I), "km/hour"),
    (re.compile(r"\blbs\b|\blbs?\.", re.I), "lb"),
    (re.compile(r"\bin\.|\binches\b", re.I), "inch"),
    (re.compile(r"%"), "percent"),
    (re.compile(r"\bAh\b"), "ampere*hour"),
    (re.compile(r"\bmAh\b"), "milliampere*hour"),
    (re.compile(r"−"), "-"),
)
# A tower of powers in a cell would keep the unit library busy for ever; no unit that people write has one.
_NO_UNIT = re.compile(r"[\d⁰¹²³⁴⁵⁶⁷⁸⁹]{2}|(?:\*\*|\^).*(?:\*\*|\^)")
_AROUND_SLASH = re.compile(r"\s*/\s*")
_BARE_DEGREES = {"C": "degC", "F": "degF"}  # in a temperature these are no coulomb and no farad
_NUMBER = re.compile(r"^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
_FEET_INCHES = re.compile(
    r"^\s*(\d+(?:\.\d+)?)\s*(?:ft|foot|feet|')\s*(\d+(?:\.\d+)?)\s*(?:in|inch|inches|\")\s*$", re.I
)


@functools.cache
def _registry() -> Any:
    # Loading the unit library takes a good part of a second: only those who type a rare unit pay for it.
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


@functools.lru_cache(maxsize=4096)
def _factor_and_offset(unit: str, kind: str) -> tuple[float, float]:
    """SI value of 0 and 1 `unit`, as (scale, offset); raises KeyError when `unit` is not of this kind."""
    common = COMMON_UNITS.get(kind, {}).get(_AROUND_SLASH.sub("/", unit))
    return common or _ask_library(unit, kind)


def _ask_library(unit: str, kind: str) -> tuple[float, float]:
    registry = _registry()
    target = KINDS[kind][0]
    try:
        zero = registry.Quantity(0.0, unit).to(target).magnitude
        one = registry.Quantity(1.0, unit).to(target).magnitude
    except Exception as reason:
        raise KeyError(unit) from reason
    return float(one - zero), float(zero)


def parse_quantity(text: object, kind: str, field: str = "value", *, unit: str | None = None) -> float:
    r"""Read a quantity as typed and return it in SI.

    Parameters
    ----------
    text : object
        What was typed: ``"4 in"``, ``"1,2 m"``, ``"5 ft 3 in"``. A decimal comma is read, a fraction is not.
    kind : str
        One of `KINDS`: ``"length"``, ``"mass"``, ``"speed"``, ``"angle"``, ``"spin"``, ...
    field : str
        Name of the field, for the message.
    unit : str, optional
        Unit of a bare number (from a column's header). Without it a bare number is an error,
        unless the kind is a fraction.

    Returns
    -------
    float
        Value in the SI unit of the kind (kelvin for a temperature, radian for an angle). [SI]

    Raises
    ------
    BadInput
        No number, no unit, a unit of another kind, or a number that is not finite.

    Examples
    --------
    >>> parse_quantity("4 in", "length")
    0.1016
    >>> round(parse_quantity("3000 rpm", "spin"), 3)
    314.159
    >>> parse_quantity("4", "mass", "ball.mass")
    Traceback (most recent call last):
    ...
    shotwright.base.errors.BadInput: ball.mass: '4' has no unit; type it with one, e.g. 120 g, 0.14 kg or 5 oz
    """
    example = KINDS[kind][1]
    shown = str(text).strip()
    if isinstance(text, bool) or text is None or not shown:
        raise BadInput(f"{shown!r} is not a {kind}; type e.g. {example}", field=field)
    feet = _FEET_INCHES.match(shown)
    if feet and kind == "length":
        return (float(feet[1]) * 12 + float(feet[2])) * 0.0254
    match = _NUMBER.match(shown.replace("−", "-").replace("\u00a0", " "))
    if not match:
        raise BadInput(f"{shown!r} does not start with a number; type e.g. {example}", field=field)
    number = float(match[1].replace(",", "."))
    typed = match[2] or unit or ("dimensionless" if kind == "fraction" else "")
    if not typed:
        raise BadInput(f"{shown!r} has no unit; type it with one, e.g. {example}", field=field)
    scale, offset = unit_scale(typed, kind, field, shown)
    value = number * scale + offset
    if not math.isfinite(value):
        raise BadInput(f"{shown!r} is not a finite {kind}; type e.g. {example}", field=field)
    return value


def unit_scale(unit: str, kind: str, field: str = "unit", shown: str | None = None) -> tuple[float, float]:
    """Return (scale, offset) with SI value = number * scale + offset, for a unit as people write it.

    Parameters
    ----------
    unit : str
        ``"in"``, ``"m/s"``, ``"rev/s"``, ``"degC"``, ...
    kind : str
        One of `KINDS`.
    field : str
        Name of the field, for the message.
    shown : str, optional
        The whole text as typed, for the message.

    Returns
    -------
    tuple of float
        Scale [SI per unit] and offset. [SI]

    Raises
    ------
    BadInput
        Not a unit, or a unit of another kind.
    """
    spelled = _BARE_DEGREES.get(unit.strip(), unit) if kind == "temperature" else unit
    for pattern, known in _SPELLINGS:
        spelled = pattern.sub(f" {known} ", spelled)
    for spelling in (spelled.strip(), spelled.strip().lower()):
        if _NO_UNIT.search(spelling):
            break
        with contextlib.suppress(KeyError):
            return _factor_and_offset(spelling, kind)
    text = f"{shown!r}: {unit!r}" if shown and shown != unit else f"{unit!r}"
    raise BadInput(f"{text} is not a unit of {kind}; type e.g. {KINDS[kind][1]}", field=field)


def check_positive(value: float, field: str, typed: object, what: str) -> float:
    """Return `value` if it is greater than zero, else raise BadInput naming the field.

    Parameters
    ----------
    value : float
        What was read, in SI.
    field : str
        Where it stands, for the message.
    typed : object
        What the person wrote, for the message.
    what : str
        What the number is called in the message.

    Returns
    -------
    float
        `value`.

    Raises
    ------
    BadInput
        Zero, negative or not a number.
    """
    if not value > 0:
        raise BadInput(f"{typed!s} is not a {what}; it must be greater than zero", field=field)
    return value
