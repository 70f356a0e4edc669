"""The tooth form that gears and racks are cut from: the ISO 53 basic rack, and the modules of ISO 54."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shotwright.base.errors import BadInput

# ISO 54:1996, modules in mm; series I is preferred; 6.5 of series II stands in brackets, to be avoided.
SERIES_I = (1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50)
SERIES_II = (1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 6.5, 7, 9, 11, 14, 18, 22, 28, 36, 45)


@dataclass(frozen=True, slots=True)
class BasicRack:
    """Shape of a basic rack tooth, lengths in modules. The tooth is half a pitch thick at the pitch line.

    Parameters
    ----------
    name : str
        Letter of the profile in ISO 53.
    pressure_angle : float
        Of the straight flanks. [rad]
    addendum : float
        h_a, from the pitch line to the tip. [modules]
    clearance : float
        c, between a tip and the root of its mate. [modules]
    fillet : float
        Radius between flank and root. [modules]
    """

    name: str
    pressure_angle: float
    addendum: float
    clearance: float
    fillet: float

    def __post_init__(self) -> None:
        """Refuse a fillet that does not fit above the root."""
        # The standard rounds its fillets to two digits, profile A from 0.37995 up to 0.38.
        if self.fillet > self.largest_fillet + 5e-4:
            raise BadInput(
                f"a fillet of {self.fillet:g} modules does not fit a clearance of {self.clearance:g}; "
                f"at most {self.largest_fillet:.4g}",
                field="profile",
            )

    @property
    def dedendum(self) -> float:
        """h_f, from the pitch line to the root. [modules]"""
        return self.addendum + self.clearance

    @property
    def largest_fillet(self) -> float:
        """Largest fillet: it ends where the mate's tip ends, and two fit into a space. [modules]

        The smaller of c/(1 - sin a) and (pi/4 - h_f tan a)/tan(45 deg - a/2).
        """
        a = self.pressure_angle
        half_space = math.pi / 4 - self.dedendum * math.tan(a)
        return min(self.clearance / (1 - math.sin(a)), half_space / math.tan(math.pi / 4 - a / 2))

    @property
    def straight(self) -> float:
        """Depth below the pitch line to which the flank is straight. [modules]"""
        return self.dedendum - self.fillet * (1 - math.sin(self.pressure_angle))


_TWENTY = math.radians(20)
# ISO 53:1998, section 5. Profile A is the usual one; B and C have smaller fillets; D a deeper, rounder root.
PROFILES = {
    "A": BasicRack("A", _TWENTY, 1.0, 0.25, 0.38),
    "B": BasicRack("B", _TWENTY, 1.0, 0.25, 0.30),
    "C": BasicRack("C", _TWENTY, 1.0, 0.25, 0.25),
    "D": BasicRack("D", _TWENTY, 1.0, 0.40, 0.39),
}


def profile(name: str) -> BasicRack:
    """Basic rack of ISO 53 by its letter.

    Parameters
    ----------
    name : str
        A, B, C or D.

    Returns
    -------
    BasicRack
        Its shape.

    Raises
    ------
    BadInput
        No such letter.

    Examples
    --------
    >>> profile("A").dedendum
    1.25
    """
    found = PROFILES.get(name.strip().upper())
    if found is None:
        raise BadInput(f"{name!r} is no profile; ISO 53 has {', '.join(PROFILES)}", field="profile")
    return found


def module_words(module: float) -> str:
    """Say which series of ISO 54 a module belongs to.

    Parameters
    ----------
    module : float
        [m]

    Returns
    -------
    str
        In words.

    Examples
    --------
    >>> module_words(0.0015)
    'module 1.5 mm (ISO 54, series I)'
    """
    mm = 1e3 * module
    for name, series in (("I", SERIES_I), ("II", SERIES_II)):
        if any(abs(mm - one) < 1e-9 * one for one in series):
            return f"module {mm:g} mm (ISO 54, series {name})"
    near = min(SERIES_I + SERIES_II, key=lambda one: abs(one - mm))
    return f"module {mm:g} mm, which ISO 54 does not list; the nearest is {near:g} mm"


def tangent_height(pressure_angle: float, teeth: float) -> float:
    """Depth below the pitch line that a rack may cut with a straight flank before it undercuts, z sin^2(a)/2.

    Parameters
    ----------
    pressure_angle : float
        a. [rad]
    teeth : float
        z, or 2 rho/m where the pitch curve has the radius rho. [-]

    Returns
    -------
    float
        [modules]

    Examples
    --------
    17.1 teeth just stand a flank of one module:

    >>> round(tangent_height(math.radians(20), 17.09726434083), 10)
    1.0
    """
    return 0.5 * teeth * math.sin(pressure_angle) ** 2
