"""Elastic tube (surgical tube, shock cord) as a spring: by the law of ideal rubber, until it is measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.build.force_curve import ForceCurve, curve_through
from shotwright.launcher.spring import rubber_energy, rubber_force

_POINTS = 401
SOFT_RUBBER = 0.4e6  # Pa; shear modulus of soft natural rubber or latex: typical, no source
MOST_STRETCH = 4.0  # length over free length; further it stiffens and tears: typical, no source


@dataclass(frozen=True, slots=True)
class Tube:
    """Lengths of elastic tube side by side.

    Parameters
    ----------
    outside, inside : float
        Diameters, unstretched; inside 0 for a cord. [m]
    free_length : float
        Between the knots or clamps, unstretched. [m]
    shear_modulus : float
        G. [Pa]
    strands : int
        How many pull side by side.
    """

    outside: float
    inside: float
    free_length: float
    shear_modulus: float = SOFT_RUBBER
    strands: int = 1

    def __post_init__(self) -> None:
        """Refuse what is no tube."""
        if not 0 <= self.inside < self.outside:
            raise BadInput(
                f"inside {1e3 * self.inside:.4g} mm must be less than outside {1e3 * self.outside:.4g} mm",
                field="inside",
            )
        if not (self.free_length > 0 and self.shear_modulus > 0 and self.strands >= 1):
            raise BadInput("length, shear modulus and number of strands must be above zero")

    @property
    def area(self) -> float:
        """Cross-section of all strands, unstretched. [m^2]."""
        return self.strands * math.pi / 4 * (self.outside**2 - self.inside**2)

    def force(self, stretch: float) -> float:
        """Pull at a stretched length over free length. [N]."""
        length = stretch * self.free_length
        return float(rubber_force(length, self.free_length, self.area, self.shear_modulus))

    def energy(self, stretch: float) -> float:
        """Energy at a stretched length over free length. [J]."""
        length = stretch * self.free_length
        return float(rubber_energy(length, self.free_length, self.area, self.shear_modulus))

    @property
    def start_rate(self) -> float:
        """Stiffness of the first millimetres, 3 G A/L. [N/m]."""
        return 3 * self.shear_modulus * self.area / self.free_length

    def curve(self, preload: float, stroke: float) -> ForceCurve:
        """Force against travel from a pre-stretch.

        Parameters
        ----------
        preload : float
            How much longer than free it is at the front stop. [m]
        stroke : float
            [m]

        Returns
        -------
        ForceCurve
            Of loading; what comes back is less.

        Raises
        ------
        BadInput
            Stretched beyond four times its length.
        """
        most = (self.free_length + preload + stroke) / self.free_length
        if not (preload >= 0 and stroke > 0):
            raise BadInput(f"preload {preload:g} m must be at least 0 and stroke {stroke:g} m above 0")
        if most > MOST_STRETCH:
            raise BadInput(
                f"the tube would be stretched to {most:.3g} times its length; more than {MOST_STRETCH:g} "
                "tears it: take a longer tube",
                field="stroke",
            )
        travel = np.linspace(0.0, stroke, _POINTS)
        length = self.free_length + preload + travel
        force = rubber_force(length, self.free_length, self.area, self.shear_modulus)
        return curve_through(travel, force, "elastic tube, law of ideal rubber (typical, not measured)")
