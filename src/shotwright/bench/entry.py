"""What a typed quantity was understood as, before anything is done with it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.constants import CELSIUS_ZERO
from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.base.quantities import parse_quantity

LIST_OF = "list of "  # in front of a kind: several, with commas between them
_SMALL = 0.1  # m; below, a length is shown in mm
# Kind of quantity: unit to show it in, its size in SI, decimals.
_SHOWN: dict[str, tuple[str, float, int]] = {
    "length": ("m", 1.0, 3),
    "mass": ("g", 1e-3, 1),
    "speed": ("m/s", 1.0, 2),
    "angle": ("°", math.pi / 180.0, 2),
    "spin": ("rev/s", 2.0 * math.pi, 2),
    "acceleration": ("m/s²", 1.0, 2),
    "pressure": ("bar", 1e5, 2),
    "volume": ("L", 1e-3, 3),
    "power": ("W", 1.0, 1),
    "energy": ("J", 1.0, 2),
    "time": ("s", 1.0, 2),
    "fraction": ("%", 1e-2, 1),
    "temperature": ("°C", 1.0, 1),
    "force": ("N", 1.0, 2),
    "torque": ("N m", 1.0, 4),
    "stiffness": ("N/m", 1.0, 1),
    "moment of inertia": ("kg cm²", 1e-4, 3),
    "voltage": ("V", 1.0, 2),
    "current": ("A", 1.0, 2),
    "resistance": ("mΩ", 1e-3, 1),
    "charge": ("Ah", 3600.0, 2),
    "thermal resistance": ("K/W", 1.0, 2),
    "heat capacity": ("J/K", 1.0, 1),
}


@dataclass(frozen=True, slots=True)
class Understood(Result):
    """A quantity as it was read.

    Parameters
    ----------
    value : float
        In SI units, angles in radians; of several the first.
    words : str
        The same for a person: ``"= 0.102 m"``.
    """

    value: float
    words: str


def understood(text: str, kind: str, field: str = "value") -> Understood:
    """Read a typed quantity.

    Parameters
    ----------
    text : str
        As typed: ``"4 in"``.
    kind : str
        What it must be: ``"length"``, ``"speed"``, ``"angle"``, ..., or ``"list of angle"``.
    field : str
        Name for the error.

    Returns
    -------
    Understood
        The value, and what to show beside the field.

    Raises
    ------
    BadInput
        It can't be read as a quantity of that kind.
    """
    if kind.startswith(LIST_OF):
        each = [understood(one, kind.removeprefix(LIST_OF), field) for one in text.split(",") if one.strip()]
        if not each:
            raise BadInput("nothing is typed", field=field)
        return Understood(each[0].value, "= " + ", ".join(one.words.removeprefix("= ") for one in each))
    value = parse_quantity(text, kind, field)
    unit, scale, decimals = _SHOWN.get(kind, ("", 1.0, 4))
    if kind == "length" and abs(value) < _SMALL:
        unit, scale, decimals = "mm", 1e-3, 2
    shown = value - CELSIUS_ZERO if kind == "temperature" else value / scale
    return Understood(value, f"= {shown:.{decimals}f} {unit}".rstrip())
