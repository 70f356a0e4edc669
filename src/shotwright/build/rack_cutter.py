"""The imaginary rack cutter of a gear and its mate, and how finely the teeth that it leaves are drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from shotwright.build.basic_rack import BasicRack


@dataclass(frozen=True, slots=True)
class Cutter:
    """The imaginary rack cutter for one body, in metres.

    Parameters
    ----------
    pressure_angle : float
        a. [rad]
    addendum : float
        Height of the body's teeth over the pitch curve. [m]
    dedendum : float
        Depth of their root below it. [m]
    fillet : float
        f, radius of the cutter's corner. [m]
    most : float
        Largest eta of a flank: what the mate's straight flank meets. Where the body is hollow its tips would
        reach beyond it and are cut down. [m]
    """

    pressure_angle: float
    addendum: float
    dedendum: float
    fillet: float
    most: float = math.inf

    @property
    def reach(self) -> float:
        """|eta| per metre of height. [-]"""
        return 1 / (math.sin(self.pressure_angle) * math.cos(self.pressure_angle))

    @property
    def lowest(self) -> float:
        """Eta where the straight flank of the cutter ends. [m]"""
        straight = self.dedendum - self.fillet * (1 - math.sin(self.pressure_angle))
        return -straight * self.reach

    @property
    def corner_offset(self) -> float:
        """Distance along the pitch line from s_j to the centre of the corner. [m]"""
        a, f = self.pressure_angle, self.fillet
        return (self.dedendum - f) * math.tan(a) + f / math.cos(a)


def cutters(rack: BasicRack, module: float, shift: float = 0.0) -> tuple[Cutter, Cutter]:
    """Cutter of the gear and of its mate.

    Parameters
    ----------
    rack : BasicRack
        ISO 53 profile.
    module : float
        m. [m]
    shift : float
        Profile shift of the gear outwards, taken from its mate. [modules]

    Returns
    -------
    tuple of (Cutter, Cutter)
        Gear, rack.
    """
    made = [
        Cutter(
            rack.pressure_angle,
            (rack.addendum + x) * module,
            (rack.dedendum - x) * module,
            rack.fillet * module,
        )
        for x in (shift, -shift)
    ]
    return replace(made[0], most=-made[1].lowest), replace(made[1], most=-made[0].lowest)


@dataclass(frozen=True, slots=True)
class Fineness:
    """How many points stand for each piece of a tooth; its tip is straight from corner to corner."""

    flank: int = 64
    fillet: int = 28
    root: int = 6


FINE = Fineness()
_FINE_MODULE = 1.5e-3  # m; up to which the usual fineness holds the torque's last half percent


def fineness_for(module: float) -> Fineness:
    """Fineness of a part to be cut: sides of flanks as long for large modules as for small.

    Parameters
    ----------
    module : float
        [m]

    Returns
    -------
    Fineness
        How many points.
    """
    return replace(FINE, flank=math.ceil(FINE.flank * max(1.0, module / _FINE_MODULE)))


COARSE = Fineness(9, 4, 2)
