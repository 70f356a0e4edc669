"""Exact factors of the units that people type most, so that reading them loads no unit library.

All are exact by definition: SI Brochure, 9th ed. (2019), and NIST SP 811 (2008), appendix B.8, for inch,
foot, yard, mile, pound and ounce. The tests compare each with the unit library.
"""

from __future__ import annotations

import math

_FOOT, _POUND, _TURN = 0.3048, 0.45359237, 2 * math.pi
_POUND_FORCE = 4.4482216152605  # standard gravity on a pound

# kind -> unit -> SI value of one, where zero lies at zero
_FACTORS: dict[str, dict[str, float]] = {
    "length": {
        **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), 1.0),
        "cm": 0.01,
        "mm": 0.001,
        "km": 1000.0,
        **dict.fromkeys(("in", "inch"), 0.0254),
        **dict.fromkeys(("ft", "foot", "feet"), _FOOT),
        "yd": 0.9144,
    },
    "mass": {"kg": 1.0, **dict.fromkeys(("g", "gram", "grams"), 0.001), "lb": _POUND, "oz": _POUND / 16},
    "speed": {
        "m/s": 1.0,
        **dict.fromkeys(("km/h", "km/hour"), 1 / 3.6),
        "cm/s": 0.01,
        "ft/s": _FOOT,
        "in/s": 0.0254,
        "mph": 0.44704,
    },
    "angle": {
        **dict.fromkeys(("rad", "radian", "radians"), 1.0),
        **dict.fromkeys(("deg", "degree", "degrees"), math.pi / 180),
    },
    "spin": {
        **dict.fromkeys(("revolution/s", "revolution/second"), _TURN),
        **dict.fromkeys(("revolution/min", "revolution/minute"), _TURN / 60),
        "rad/s": 1.0,
        "deg/s": math.pi / 180,
    },
    "pressure": {"Pa": 1.0, "hPa": 100.0, "mbar": 100.0, "kPa": 1000.0, "bar": 1e5, "atm": 101325.0},
    "volume": {"L": 0.001, "m^3": 1.0},
    "energy": {"J": 1.0},
    "power": {"W": 1.0},
    "force": {"N": 1.0, "kN": 1000.0, "lbf": _POUND_FORCE},
    "stiffness": {
        "N/m": 1.0,
        "N/mm": 1000.0,
        "N/cm": 100.0,
        "kN/m": 1000.0,
        **dict.fromkeys(("lbf/in", "lbf/inch"), _POUND_FORCE / 0.0254),
    },
    "torque": {**dict.fromkeys(("N m", "N*m"), 1.0), "mN m": 0.001},
    "time": {"ms": 0.001, **dict.fromkeys(("s", "second", "seconds"), 1.0), "min": 60.0},
    "voltage": {"V": 1.0},
    "current": {"A": 1.0, "mA": 0.001},
    "resistance": {"ohm": 1.0, "Ω": 1.0, "mohm": 0.001, "mΩ": 0.001},
    "charge": {"ampere*hour": 3600.0, "milliampere*hour": 3.6},
    "thermal resistance": {"K/W": 1.0},
    "heat capacity": {"J/K": 1.0},
    "fraction": {"dimensionless": 1.0, "percent": 0.01},
}
COMMON_UNITS: dict[str, dict[str, tuple[float, float]]] = {
    **{kind: {unit: (factor, 0.0) for unit, factor in units.items()} for kind, units in _FACTORS.items()},
    "temperature": {
        **dict.fromkeys(("K", "kelvin"), (1.0, 0.0)),
        "degC": (1.0, 273.15),
        "degF": (5 / 9, 459.67 * 5 / 9),
    },
}
